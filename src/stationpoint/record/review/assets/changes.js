// What changed: the list by reading, the changed cells before and after, and both on paper.
const CHANGES = ["changed", "gone", "new", "unchanged"];  // kinds of cells, in their order
const MOST_LINES = 4;  // told of one cell in the list
const MOST_ROWS = 6;  // and beside it
const changesOf = (cell) => (data.changes ?? []).filter((one) => one.cell === cell.number);

/** Whether a cell is changed, gone or new, as a word. */
function changeSign(cell) {
  return isCompared ? make("span", { class: `change ${cell.change}` }, cell.change) : null;
}

/** What changed of a cell, a line each, and how much of its picture differs. */
function changeLines(cell) {
  if (!isCompared) return [];
  const all = changesOf(cell);
  const told = all.slice(0, MOST_LINES).map((one) => said(one.by ? `${one.says} (${one.by})` : one.says, "p", { class: "told" }));
  const rest = all.length - told.length;
  return [...told, rest > 0 ? make("p", { class: "told" }, `and ${rest} more`) : null, cell.differs ? make("p", {}, cell.differs) : null].filter(Boolean);
}

/** The columns of changes: their heads, and what stands in them of one; those in which nothing would are left out. */
function amounts(all) {
  const columns = [["before", "Before"], ["after", "Now"], ["by", "By"], ["why", "Why"]].filter(([key]) => all.some((one) => one[key]));
  return [columns.map(([, head]) => head), (one) => columns.map(([key]) => one[key])];
}

/** What changed of one cell, reading by reading, and how much of its picture differs. most: rows of it. */
function changeTold(cell, most = Infinity) {
  const all = changesOf(cell);
  const [heads, told] = amounts(all);
  const rows = all.slice(0, most).map((one) => [one.aside ? `${one.reading}, ${one.aside}` : one.reading, ...told(one)]);
  const rest = all.length - rows.length;
  return [table("What changed", ["Reading", ...heads], rows), rest > 0 ? make("p", {}, `and ${rest} more: show the cell large`) : null,
    cell.differs ? make("p", {}, `Picture: ${cell.differs}`) : null].filter(Boolean);
}

/** The list of all changes, a table for each reading, the largest amount first. */
function drawChanges() {
  const readings = [...new Set(data.changes.map((one) => one.reading))];
  const tables = readings.map((reading) => {
    const all = data.changes.filter((one) => one.reading === reading);
    const [heads, told] = amounts(all);
    return table(reading, ["Cell", ...heads, "Picture"], all.map((one) => [one.where, ...told(one), shower(cells[one.cell])]));
  });
  const lone = ["gone", "new"].map((kind) => table(kind, ["Cell", "Picture"],
    cells.filter((cell) => cell.change === kind).map((cell) => [pictureWords(cell), shower(cell)])));
  byId("view-changes").replaceChildren(make("h2", {}, "Changes"), ...[...tables, ...lone].filter(Boolean));
}

/** A button that shows a cell large. */
function shower(cell) {
  return make("button", { type: "button", "data-cell": cell.number, "aria-label": `${cellName(cell)}. Show large` }, cell.id);
}

/** The whole list as it was before, or as it is now. */
function turnList() {
  state.before = !state.before;
  byId("before").setAttribute("aria-pressed", String(state.before));
  again();
  tell(state.before ? "Pictures as they were before." : "Pictures as they are now.");
}

/** On paper: the cells that are listed and not unchanged, before, now and where they differ; all if none is. */
function printChanges() {
  const changed = listedCells().filter((cell) => cell.change !== "unchanged");
  byId("print").replaceChildren(make("h1", { dir: "auto" }, data.title), make("p", { dir: "auto" }, data.answer),
    ...(changed.length ? changed : listedCells()).map((cell) => make("section", { class: "pair" },
      make("h2", { dir: "auto" }, `${pictureWords(cell)}: ${cell.change}`), ...changeLines(cell),
      make("div", { class: "three" }, ...printed(cell)))));
}

/** A cell's pictures for paper, each with its word. */
function printed(cell) {
  const { mode, before } = state;
  const usual = mode === "difference" ? data.mode : mode;
  const figure = (words, wanted, isBefore) => {
    Object.assign(state, { mode: wanted, before: isBefore });
    const svg = cellPicture(cell);
    svg.fill();
    return make("figure", {}, make("figcaption", {}, words), svg);
  };
  const found = [
    cell.change === "new" ? null : figure("before", usual, true),
    cell.change === "gone" ? null : figure("now", usual, false),
    "difference" in cell.pictures ? figure("where they differ", "difference", false) : null,
  ].filter(Boolean);
  Object.assign(state, { mode, before });
  return found;
}

function startChanges() {
  if (!isCompared) {
    byId("before").remove();
    document.querySelector("[data-view=changes]").remove();
    byId("change-label").hidden = true;
    return;
  }
  const kinds = CHANGES.filter((kind) => cells.some((cell) => cell.change === kind));
  fill(byId("by-change"), kinds.map((kind) => [kind, kind]));
  byId("flip-keys").textContent = "before and now at the same spot: hold it to compare, tap it to stay; large: with what is named at Flip with";
  const button = byId("before");
  let since = 0;
  button.addEventListener("pointerdown", (event) => {
    if (event.button) return;
    since = performance.now();
    turnList();
    const end = () => {
      removeEventListener("pointerup", end);
      removeEventListener("pointercancel", end);
      if (performance.now() - since >= HELD_MS) turnList();
    };
    addEventListener("pointerup", end);
    addEventListener("pointercancel", end);
  });
  button.addEventListener("click", (event) => {
    if (!event.detail) turnList();  // by keyboard
  });
}
