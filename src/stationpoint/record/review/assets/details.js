// What is read at a cell: values, the limits on them, where they come from, and what hides what.

const DEFINED = "definition";  // the source of a reading that is no finding of anybody's

/** Rows of a table: [head, cells...] each; heads: words over the columns. */
function table(caption, heads, rows) {
  if (!rows.length) return null;
  const head = make("tr", {}, ...heads.map((one) => make("th", { scope: "col" }, one)));
  const body = rows.map(([first, ...rest]) => make("tr", {},
    said(first, "th", { scope: "row" }), ...rest.map((one) => (one instanceof Node ? make("td", {}, one) : said(one, "td")))));
  return make("table", {}, said(caption, "caption"), make("thead", {}, head), make("tbody", {}, ...body));
}

/** What the brief asks at a cell: the finding, the limit, why, and the source of the reading. */
function briefList(cell) {
  if (!cell.brief.length) return make("p", {}, data.brief.length ? "Nothing of the brief applies here." : "The study has no brief.");
  return make("ul", { class: "brief" }, ...cell.brief.map((one) => {
    const limit = data.brief[one.limit];
    const kept = one.margin >= 0;
    const [group, name] = one.path;
    const hidden = /seen|hidden/.test(one.path.join(" ")) ? hiders(cell, group, name) : "";
    return make("li", { class: kept ? "kept" : "broken" },
      make("b", {}, `${kept ? "✓ Holds" : "× Fails"}${limit.must ? "" : " (a wish)"}: `), said(one.words),
      said(`Limit: ${limit.words}.`, "span", { class: "line" }),
      limit.why && !/\(assumed\)$/.test(limit.words) ? said(`Why: ${limit.why}.`, "span", { class: "line" }) : null,
      one.source && one.source !== DEFINED ? said(`Source of the reading: ${one.source}.`, "span", { class: "line" }) : null,
      hidden ? said(`Hidden by ${hidden}.`, "span", { class: "line" }) : null);
  }));
}

/** Every cue of every pair: letter, value, threshold and grade. */
function cueTables(cell) {
  return Object.keys(cell.cues).map((pair) => {
    const rows = data.cues.map((cue) => {
      const value = valueOf(cell, "cues", pair, cue.name, "value");
      const grade = cell.cues[pair][cue.name] ?? "not measured";
      return [`${cue.letter}  ${cue.words}`, value === null ? "none" : `${rounded(value)} ${cue.unit}`, `${rounded(cue.least)} ${cue.unit}`, grade];
    });
    return table(`Depth cues: ${pairName(pair)}`, ["Cue", "Value", "Told from", "Grade"], rows);
  });
}

/** The readings of one thing, by the first names of their path. */
function readingsOf(cell, ...start) {
  const found = [];
  data.paths.forEach((one, column) => {
    const value = cell.values[column];
    if (value !== null && start.every((name, k) => one.path[k] === name)) found.push([column, value]);
  });
  return found;
}

/** What a limit of the brief asks of a reading at a cell; "" where none does. */
function limitsOn(cell, column) {
  const path = data.paths[column].path.join(JOIN);
  return cell.brief.filter((one) => one.path.join(JOIN) === path).map((one) => data.brief[one.limit].words).join("; ");
}

/** A thing of the picture: name, where it lies there, the group of its readings. */
function thingsOf(cell) {
  const things = Object.entries(data.targets).map(([name, role]) => ({
    name, group: "targets", what: `${role} target`, at: valueOf(cell, "targets", name, "screen_xy"),
  }));
  for (const name of data.gaps) {
    const ends = [valueOf(cell, "gaps", name, "from_xy"), valueOf(cell, "gaps", name, "to_xy")];
    const at = ends[0] && ends[1] ? [(ends[0][0] + ends[1][0]) / 2, (ends[0][1] + ends[1][1]) / 2] : null;
    things.push({ name, group: "gaps", what: "gap", at });
  }
  const read = things.filter(({ name, group }) => !isCompared || readingsOf(cell, group, name).length);  // some are the other side's alone
  const subject = valueOf(cell, "subject", "screen_xy");
  if (subject) read.push({ name: "subject", group: "subject", what: "", at: subject });
  return read;
}

/** One sentence on a thing: what of the brief is about it, what of it is seen, and what hides it. */
function thingWords(cell, thing) {
  const start = thing.group === "subject" ? ["subject"] : [thing.group, thing.name];
  const about = cell.brief.filter((one) => start.every((name, k) => one.path[k] === name)).map((one) => one.words.replace(`${thing.name}: `, ""));
  const seen = valueOf(cell, ...start, thing.group === "gaps" ? "landing_seen" : "seen");
  if (seen !== null && !about.some((one) => one.includes("seen"))) about.push(`${thing.group === "gaps" ? "landing " : ""}seen ${words(seen, "share")}`);
  const verdict = valueOf(cell, ...start, "verdict");
  if (typeof verdict === "string") about.push(verdict);
  const hidden = hiders(cell, thing.group, thing.name);
  if (hidden) about.push(`hidden by ${hidden}`);
  return `${thing.name}${thing.what ? `, ${thing.what}` : ""}: ${about.join("; ") || "nothing read"}`;
}

/** All of a thing: each reading with its value, the limit on it and its source. */
function thingTable(cell, thing) {
  const start = thing.group === "subject" ? ["subject"] : [thing.group, thing.name];
  const rows = readingsOf(cell, ...start).map(([column, value]) => {
    const { unit, path, source, line } = data.paths[column];
    const label = nameOf(column).replace(`${data.paths[column].whose}: `, "");
    const title = make("span", { title: line }, words(value, path.includes("hidden_by") ? "share" : unit));
    return [label, title, limitsOn(cell, column), source];
  });
  return table(`${thing.name}${thing.what ? `, ${thing.what}` : ""}`, ["Reading", "Value", "Limit", "Source"], rows);
}

/** Every reading of a cell. */
function everyReading(cell) {
  const rows = data.paths.map((one, column) => [column, cell.values[column], one])
    .filter(([, value]) => value !== null)
    .map(([column, value, one]) => [one.path.join(" · ").replace(/_/g, " "), words(value, one.unit), limitsOn(cell, column), one.line]);
  return make("details", { class: "every" }, make("summary", {}, "Every reading"), table("Every reading", ["Reading", "Value", "Limit", "Meaning"], rows));
}

const MARGIN = "How far the worst must is from its limit, over the limit; below 0 it fails.";

/** Show what is read at a cell beside the list. */
function tellCell(cell) {
  if (state.told === cell) return;
  state.told = cell;
  byId("told").replaceChildren(
    make("h2", {}, said(cellName(cell)), make("span", { class: "words", dir: "auto" }, cell.words)),
    make("p", {}, flagOf(cell), said(cell.flag ? cell.flag.says : "")),
    ...changeTold(cell, MOST_ROWS),
    cell.margin === null ? "" : make("p", {}, `Margin ${rounded(cell.margin)}`, make("span", { class: "line" }, MARGIN)),
    make("h3", {}, "Brief"), briefList(cell),
    make("h3", {}, "What shows"),
    make("ul", {}, ...thingsOf(cell).map((thing) => said(thingWords(cell, thing), "li"))),
  );
}
