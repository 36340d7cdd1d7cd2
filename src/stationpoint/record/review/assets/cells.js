// A cell: its picture in any mode, its marks by kind, its flag, what changed of it, the strip of its depth cues.
const MODES = [
  ["clay", "Clay", "the level in plain clay, targets in the tints of their roles"],
  ["own", "Own colours", "the level's own colours, under the same light"],
  ["grey", "Grey", "the same in light and dark alone"],
  ["silhouette", "Silhouette", "subject and targets flat, striped where they are hidden"],
  ["glance", "First glance", "blurred by one degree at the seat: what is told before the eye moves"],
  ["three-values", "Three values", "light, middle and dark, a third each over all cells"],
  ["depth", "Depth", "bands of distance"],
  ["difference", "Difference", "what is there now as it is drawn, within a line, where it differs from before; the rest is pale"],
].filter(([name]) => name === "grey" || (name === "difference" && isCompared) || cells.some((cell) => name in cell.pictures));
const MARK_WORDS = {
  gaps: "Gaps", targets: "Targets", cues: "Depth cues", contacts: "False contacts", twins: "Twins",
  hidden: "What hides the subject", reserved: "Interface areas", outlines: "Outlines", axes: "Directions",
  size: "Sizes", drop: "Drops to the floor", vanishing: "Vanishing points", "safe-areas": "Safe areas",
  subject: "Subject", tags: "Letters and labels", horizon: "Horizon",
};
const FRAME_PX = 8;
const isJudged = cells.some((cell) => cell.flag);

const state = {
  mode: data.mode,
  held: null,
  off: new Set(),
  bare: false,
  before: false,  // whether the list shows what was before
  place: isPlaced ? places[0] : "",
  view: "cells",
  hand: cells[0],
};

/** The picture that stands for a cell in a mode. */
function pictureNumber(cell, mode) {
  if (mode === "grey") return cell.pictures.own ?? cell.pictures.clay;
  return cell.pictures[mode] ?? cell.pictures[data.mode] ?? cell.pictures.clay;
}

const modeNow = () => state.held ?? state.mode;

/** Put a cell's picture of the mode in hand into its image. */
function show(image, cell) {
  const mode = modeNow();
  image.setAttribute("href", addressOf(pictureNumber(cell, mode)));
  if (mode === "grey") image.setAttribute("filter", "url(#grey)");
  else image.removeAttribute("filter");
}

/** Which kind of mark a group is, "" if it is none. */
function kindOf(group) {
  return group.classList.contains("mark") ? group.classList[1] : "";
}

const hasOwn = MODES.some(([name]) => name === "own");

/** Show the marks that are on. Outlines of what no tint tells go with own colours alone. Where the subject is
 * laid over marks, it is as the picture shows it, or left out where that picture is of another kind. */
function sift(root) {
  const mode = modeNow();
  const isOwn = mode === "own" || (hasOwn && ["grey", "glance", "three-values"].includes(mode));
  for (const group of root.querySelectorAll("g.mark")) {
    const ofOwn = group.classList.contains("of-own");
    const hides = (ofOwn && !isOwn) || state.bare || mode === "difference" || state.off.has(kindOf(group));
    group.setAttribute("display", hides ? "none" : "inline");
    const fits = mode === (ofOwn ? "own" : "clay") || (mode === "grey" && hasOwn === ofOwn);
    for (const image of group.querySelectorAll("image")) {
      image.setAttribute("display", fits ? "inline" : "none");
      image.setAttribute("filter", mode === "grey" ? "url(#grey)" : "none");
    }
  }
}

/** The outlines that go with own colours, where a cell's picture lies at x and y. */
function ownOutlines(cell, x, y) {
  const those = cell.marks.filter(([, about]) => / of-own$/.test(about.class));
  return drawn("g", { transform: `translate(${x} ${y})` }, ...those.map((one) => built(one, addressOf)));
}

const drawnOnSheet = new Map();  // a cell's number -> its drawing on the sheet of its place
for (const sheet of data.sheets) {
  for (const page of sheet.pages) {
    const groups = page.tree.filter(([, about]) => about.class === "cell");
    page.cells.forEach((one, k) => drawnOnSheet.set(one, groups[k]));
  }
}

function firstOf(tree, test) {
  if (typeof tree[0] !== "string") return null;  // a leaf
  if (test(tree)) return tree;
  if (typeof tree[2] === "string") return null;
  for (const one of tree[2]) {
    const found = firstOf(one, test);
    if (found) return found;
  }
  return null;
}

/** A cell as the list shows it: as it is, or as it was. */
const sideOf = (cell) => (state.before && cell.before ? cell.before : cell);

/** A cell's picture with its marks as its sheet has them: filled once it comes near the window. */
function cellPicture(cell) {
  const svg = drawn("svg", { class: "picture", "aria-hidden": "true" });  // its button says what it is
  lay(svg, cell);
  svg.fill = () => {
    const one = sideOf(cell);
    const { parts, x, y } = lay(svg, one);
    const shown = parts.filter(([, about]) => !["flag", "strip", "caption"].includes(about.class));
    svg.replaceChildren(...shown.map((each) => built(each, addressOf)), ownOutlines(one, x, y));
    svg.shown = one;
    svg.image = svg.querySelector("image");
    svg.again();
  };
  svg.again = () => {
    if (!svg.image) return;
    if (svg.shown !== sideOf(cell)) svg.fill();
    show(svg.image, svg.shown);
    sift(svg);
  };
  return svg;
}

/** The part of a sheet that a cell's picture is: its window laid, its parts and where the picture lies. */
function lay(svg, cell) {
  const parts = (cell.drawing ?? drawnOnSheet.get(cell.number))[2];
  const image = firstOf(["g", {}, parts], ([name]) => name === "image")[1];
  const [x, y, width, height] = ["x", "y", "width", "height"].map((key) => Number(image[key]));
  const box = [x - FRAME_PX, y - FRAME_PX, width + 2 * FRAME_PX, height + 2 * FRAME_PX];
  svg.setAttribute("viewBox", box.join(" "));
  return { parts, x, y };
}

function pictureWords(cell) {
  return `${cellName(cell)}, ${cell.words}`;
}

/** The flag of a cell, as shape and word. */
function flagOf(cell) {
  if (!cell.flag) return null;
  const marks = { holds: "✓ ", chosen: "✓ ", fails: "× " };
  const sign = make("span", { "aria-hidden": "true" }, marks[cell.flag.kind] ?? "");
  return make("span", { class: `flag ${cell.flag.kind}` }, sign, cell.flag.word);
}

/** The letters of a cell's depth cues, by grade, of its first gap or target. */
function stripOf(cell) {
  const pair = Object.keys(cell.cues).find((name) => Object.keys(cell.cues[name]).length);
  if (!pair) return null;
  const letters = data.cues.map((cue) => {
    const grade = cell.cues[pair][cue.name];
    return make("span", { class: `cue ${grade}`, title: `${cue.words}: ${grade}` }, cue.letter);
  });
  const told = data.cues.map((cue) => `${cue.words} ${cell.cues[pair][cue.name]}`).join(", ");
  return make("div", { class: "strip", role: "img", "aria-label": `Depth cues, ${pairName(pair)}: ${told}` }, ...letters);
}

const pairName = (pair) => pair.replace(/^(gap|target):/, "");

/** A whole cell of the list. */
function cellItem(cell) {
  const svg = cellPicture(cell);
  const id = `says-${cell.number}`;
  const open = make("button", {
    type: "button", class: "open", tabindex: "-1", "data-cell": cell.number, "aria-label": `${pictureWords(cell)}. Show large`,
    "aria-describedby": id,
  });
  const flag = flagOf(cell);
  const label = said(cell.id, "b", { class: "label" });
  const place = isPlaced ? said(cell.place, "span", { class: "place" }) : null;
  const noted = make("span", { class: "noted", hidden: true }, "Noted");
  const head = make("div", { class: "cell-head" }, label, said(cell.words, "span", { class: "words" }), place, changeSign(cell), noted);
  const says = make("p", { class: "says", id, hidden: !isJudged }, flag, said(cell.flag ? cell.flag.says : "", "span"));
  const lines = cell.caption.map((line) => make("p", {}, ...line.map((piece) => said(piece, "span", { class: "piece" }))));
  const item = make("li", { class: "cell" }, head, says, make("div", { class: "shown" }, svg, open), stripOf(cell) ?? make("div"), make("div", { class: "caption" }, ...changeLines(cell), ...lines));
  item.cell = cell;
  item.svg = svg;
  item.noted = noted;
  return item;
}
