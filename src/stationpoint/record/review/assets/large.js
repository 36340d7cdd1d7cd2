// One cell large: held against other pictures of it, flipped with another cell at the same spot.
const HELD_MS = 350;  // a key or button that is down for longer is held to compare, else it is tapped

const large = { cell: null, asked: null, before: null, flipped: false, parts: {} };

/** The cell to flip with: the one that was asked for, else the one that was large before, else the next. */
function otherCell() {
  const next = listedCells()[listedCells().indexOf(large.cell) + 1];
  return [large.asked, large.cell.before, large.before, next, ...listedCells()].find((one) => one && one !== large.cell) ?? null;
}

/** The cell that the large picture shows. */
const largeShown = () => (large.flipped ? otherCell() : large.cell);

/** The cell that a note and a choice are about: what a cell was before has none of its own. */
const largeNoted = () => (largeShown() === large.cell.before ? large.cell : largeShown());

function openLarge(cell) {
  if (large.cell && large.cell !== cell) large.before = large.cell;
  large.cell = cell;
  large.flipped = false;
  state.hand = cell;
  const dialog = byId("large");
  if (!dialog.open) {
    buildLarge(dialog);
    dialog.showModal();
  }
  refreshLarge();
  drawLadder(large.parts.ladder);
  tell(`${cellName(cell)}, ${cell.words}. ${verdictWords(cell)}`);
}

function buildLarge(dialog) {
  const parts = large.parts;
  parts.title = make("h2", { id: "large-title", tabindex: "-1" });
  parts.flag = make("p", { class: "says" });
  parts.picture = make("div", { class: "large-picture" });
  parts.spot = make("div", { class: "spot-told", "aria-live": "polite" });
  parts.facts = make("div", { class: "facts", tabindex: "0", role: "region", "aria-label": "What is read here" });
  parts.with = make("select", { id: "flip-with", on: { change: flipChosen } });
  parts.flip = make("button", { type: "button", class: "flip", "aria-pressed": "false", on: { click: flip } }, "Flip");
  parts.place = make("select", { on: { change: (event) => openLarge(cells[Number(event.target.value)]) } });
  parts.placeLabel = make("label", {}, "Place ", parts.place);
  parts.modes = make("div", { class: "modes", role: "group", "aria-label": "Picture" });
  fillModes(parts.modes);
  parts.marks = make("div", { id: "large-marks", class: "panel", role: "group", "aria-label": "Marks", hidden: true });
  fillMarks(parts.marks);
  parts.ladder = make("p", { class: "ladder", hidden: true });
  const step = (by, text) => make("button", { type: "button", on: { click: () => stepLarge(by) } }, text);
  parts.note = make("textarea", { id: "note", rows: "3", dir: "auto", on: { input: (event) => keepNote(largeNoted(), event.target.value) } });
  parts.noteLabel = make("label", { for: "note" }, "Note");
  parts.because = make("input", { id: "because", dir: "auto", on: { input: (event) => keepBecause(event.target.value) } });
  parts.choose = make("button", { type: "button", "aria-pressed": "false", on: { click: () => choose(largeNoted()) } }, "Choose this one");
  const close = make("button", { type: "button", class: "close", on: { click: () => dialog.close() } }, "Close");
  const top = make("div", { class: "bar" }, step(-1, "Previous"), step(1, "Next"), parts.placeLabel, parts.modes,
    opens(make("button", { type: "button", class: "opens", "aria-expanded": "false", "aria-controls": "large-marks" }, "Marks")),
    make("label", {}, "Flip with ", parts.with), parts.flip);
  const notes = make("div", { class: "note" }, parts.noteLabel, parts.note, parts.choose,
    make("label", { for: "because" }, "Because"), parts.because);
  const side = make("div", { class: "large-side" }, parts.flag, notes, parts.spot, parts.facts);
  dialog.replaceChildren(make("div", { class: "large-head" }, parts.title, close), top, parts.marks, parts.ladder,
    make("div", { class: "large-body" }, parts.picture, side));
}

/** All of the large view again, for the cell that it shows. */
function refreshLarge() {
  const { parts } = large;
  const cell = largeShown();
  parts.title.replaceChildren(said(cellName(cell)), make("span", { class: "words", dir: "auto" }, cell.words));
  parts.flag.replaceChildren(...[flagOf(cell), said(verdictWords(cell).replace(/^[^:]*: ?/, ""))].filter(Boolean));
  parts.flag.hidden = !isJudged;
  parts.flip.setAttribute("aria-pressed", String(large.flipped));
  const other = otherCell();
  parts.flip.disabled = !other;
  parts.with.replaceChildren();
  const { before } = large.cell;
  fill(parts.with, [...(before ? [["", "before"]] : []), ...cells.filter((one) => one !== large.cell).map((one) => [one.number, `${cellName(one)}: ${one.words}`])]);
  parts.with.value = other && other !== before ? String(other.number) : "";
  const alike = cells.filter((one) => one.id === large.cell.id);
  parts.placeLabel.hidden = alike.length < 2;
  parts.place.replaceChildren();
  fill(parts.place, alike.map((one) => [one.number, one.place]));
  parts.place.value = String(large.cell.number);
  parts.noteLabel.textContent = `Note on ${largeNoted().id}`;
  parts.note.value = noteOf(cell);
  parts.note.disabled = parts.choose.disabled = cell.change === "gone";
  refreshChoice();
  drawLarge(cell);
  parts.spot.replaceChildren(make("p", { class: "hint" }, "Point at a target or gap in the picture for what is read of it; Tab goes from one to the next."));
  parts.facts.replaceChildren(...[...changeTold(large.cell), make("h3", {}, "Brief"), briefList(cell), ...cueTables(cell),
    ...thingsOf(cell).map((thing) => thingTable(cell, thing)), everyReading(cell)].filter(Boolean));
}

/** The large picture: drawn anew for another cell. */
function drawLarge(cell) {
  const [width, height] = cell.size;
  const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, class: "picture", role: "group", "aria-label": pictureWords(cell) });
  const image = drawn("image", { width, height });
  svg.append(image, ...cell.marks.map((one) => built(one, addressOf)));
  for (const thing of thingsOf(cell)) {
    if (!thing.at || thing.at.some((share) => !(share >= 0 && share <= 1))) continue;
    const told = () => tellThing(cell, thing);
    const about = { class: "spot", tabindex: "0", role: "img", "aria-label": thingWords(cell, thing), on: { focus: told, pointerenter: told } };
    svg.append(drawn("circle", { cx: thing.at[0] * width, cy: thing.at[1] * height, r: width / 36, ...about }));
  }
  large.svg = svg;
  large.image = image;
  large.parts.picture.replaceChildren(svg);
  againLarge();
}

function againLarge() {
  if (!large.svg || !byId("large").open) return;
  show(large.image, largeShown());
  sift(large.svg);
}

/** What is read of a thing that is pointed at. */
function tellThing(cell, thing) {
  const all = thingTable(cell, thing);
  large.parts.spot.replaceChildren(...[said(thingWords(cell, thing), "p"), all].filter(Boolean));
}

function flip() {
  if (!otherCell()) return;
  large.flipped = !large.flipped;
  refreshLarge();
  tell(`${cellName(largeShown())}, ${largeShown().words}`);
}

function flipChosen(event) {
  large.asked = event.target.value === "" ? null : cells[Number(event.target.value)];
  large.flipped = false;
  refreshLarge();
}

/** The next cell of those that are listed. */
function stepLarge(by) {
  const listed = listedCells();
  const at = listed.indexOf(large.cell);
  const next = listed[(at + by + listed.length) % listed.length];
  if (!next) return;
  openLarge(next);
}

/** Buttons that show another picture: held to compare, tapped to stay. */
function fillModes(group) {
  for (const [name, text, means] of MODES) {
    let since = 0;
    const button = make("button", { type: "button", "data-mode": name, title: means, "aria-pressed": String(name === state.mode) }, text);
    button.addEventListener("pointerdown", (event) => {
      if (event.button) return;
      since = performance.now();
      hold(name);
      const end = () => {
        removeEventListener("pointerup", end);
        removeEventListener("pointercancel", end);
        release(name, performance.now() - since);
      };
      addEventListener("pointerup", end);
      addEventListener("pointercancel", end);
    });
    button.addEventListener("click", (event) => {
      if (!event.detail) setMode(name);  // by keyboard
    });
    group.append(button);
  }
}

function hold(name) {
  state.held = name;
  again();
}

function release(name, ms) {
  state.held = null;
  if (ms < HELD_MS) setMode(name);
  else again();
}

function setMode(name) {
  state.mode = name;
  for (const button of document.querySelectorAll("[data-mode]")) {
    button.setAttribute("aria-pressed", String(button.dataset.mode === name));
  }
  again();
  tell(`Picture: ${MODES.find(([one]) => one === name)[1]}.`);
}

const marksFound = (() => {
  const found = new Map();
  const add = (tree) => {
    if (typeof tree[0] !== "string") return;  // a leaf
    const [first, kind, ...rest] = (tree[1].class ?? "").split(" ");
    if (first === "mark" && kind) {
      if (!found.has(kind) && rest.includes("further")) state.off.add(kind);
      found.set(kind, true);
    }
    if (Array.isArray(tree[2])) tree[2].forEach(add);
  };
  for (const cell of cells) [...cell.marks, ...(cell.before?.marks ?? [])].forEach(add);
  return [...found.keys()].sort((a, b) => (MARK_WORDS[a] ?? a).localeCompare(MARK_WORDS[b] ?? b));
})();

function fillMarks(group) {
  for (const kind of marksFound) {
    const box = make("input", { type: "checkbox", "data-mark": kind, on: { change: (event) => setMark(kind, event.target.checked) } });
    box.checked = !state.off.has(kind);
    group.append(make("label", {}, box, ` ${MARK_WORDS[kind] ?? kind}`));
  }
}

function setMark(kind, isOn) {
  if (isOn) state.off.delete(kind);
  else state.off.add(kind);
  for (const box of document.querySelectorAll("[data-mark]")) {
    if (box.dataset.mark === kind) box.checked = isOn;
  }
  again();
  tell(`${MARK_WORDS[kind] ?? kind}: ${isOn ? "on" : "off"}.`);
}

/** The steps of the mode in hand, where it has any. */
function drawLadder(host) {
  const ladder = data.ladders[modeNow()];
  host.hidden = !ladder;
  if (!ladder) return host.replaceChildren();
  const step = ([tint, text]) => make("span", { class: "step" },
    drawn("svg", { viewBox: "0 0 18 14", class: "swatch", "aria-hidden": "true" }, drawn("rect", { width: 18, height: 14, fill: tint })), said(text));
  return host.replaceChildren(make("b", {}, `${ladder.head}: `), ...ladder.steps.map(step));
}

/** All pictures again, in the mode and with the marks in hand. */
function again() {
  for (const item of items.values()) item.svg.again();
  againLarge();
  for (const host of [byId("ladder"), large.parts.ladder]) if (host) drawLadder(host);
}
