// The page begins: controls filled, keys heard, the first view shown.

function startHead() {
  byId("title").textContent = data.title;
  document.title = data.title;
  byId("answer").textContent = data.answer;
  const made = data.decision;
  if (!made) return;
  const cell = cells.find((one) => one.key === made.chosen);
  const by = [made.by ? `by ${made.by}` : "", made.on ? `on ${made.on}` : ""].filter(Boolean).join(" ");
  const parts = [`Chosen: ${cell ? `${cell.id}, ${cell.words}` : made.chosen}`, by, made.because ? `because ${made.because}` : ""];
  byId("decision").textContent = `${parts.filter(Boolean).join(", ")}.`;
}

function startBar() {
  const place = byId("place");
  fill(place, [...places.map((name) => [name, name]), ["", "every place"]]);
  place.value = state.place;
  if (!isPlaced) byId("place-label").remove();
  fillModes(byId("modes"));
  byId("mode-words").append(...MODES.flatMap(([, text, means]) => [make("dt", {}, text), make("dd", {}, means)]));
  byId("mode-keys").textContent = `1 to ${MODES.length}`;
  fillMarks(byId("marks"));
  const readings = numeric.map((column) => [column, nameOf(column), data.paths[column].path[0]]);
  fill(byId("order"), [...(isCompared ? [["change", "changed first"]] : []), ["", "the sheet"], ["margin", "margin, best first"], ...(isPlaced ? [["place", "place"]] : []), ...readings]);
  fill(byId("by-reading"), [["", "any"], ...readings]);
  place.addEventListener("change", (event) => {
    state.place = event.target.value;
    relist();
  });
  for (const id of ["order", "by-change", "by-verdict", "by-margin", "by-reading", "by-side", "by-value"]) byId(id).addEventListener("change", () => relist());
  byId("across").addEventListener("change", layOut);
  byId("turned").addEventListener("click", (event) => {
    const isOn = event.target.getAttribute("aria-pressed") !== "true";
    event.target.setAttribute("aria-pressed", String(isOn));
    relist();
  });
  byId("unfilter").addEventListener("click", () => {
    for (const id of ["by-change", "by-verdict", "by-margin", "by-reading", "by-value"]) byId(id).value = "";
    relist();
  });
}

const HINTS = {
  cells: "Click a picture to see it large, flip it with another, note on it or choose it.",
  changes: "Each reading that changed, the largest amount first.",
  chart: "Each point is a cell: click it to see it large.",
  plan: "Click a camera, or its name below, to see its picture large.",
  notes: "Your notes and your choice; nothing is sent: save them as a file for whoever keeps the study.",
};

function showView(name) {
  state.view = name;
  for (const button of document.querySelectorAll("[data-view]")) button.setAttribute("aria-pressed", String(button.dataset.view === name));
  for (const one of ["cells", "changes", "chart", "plan", "notes"]) byId(`view-${one}`).hidden = one !== name;
  byId("told").hidden = ["notes", "changes"].includes(name);
  for (const one of document.querySelectorAll("[data-for]")) one.hidden = !one.dataset.for.split(" ").includes(name);
  if (name === "changes") drawChanges();
  if (name === "chart") drawChart();
  if (name === "plan") drawPlan();
  if (name === "notes") drawNotes();
}

/** Whether a key is being typed into something. */
function isTyping(target) {
  return target.closest("input:not([type=checkbox]), textarea, select") !== null;
}

function startKeys() {
  const down = new Map();
  document.addEventListener("keydown", (event) => {
    if (event.altKey || event.ctrlKey || event.metaKey || isTyping(event.target)) return;
    const inLarge = byId("large").open;
    if (!inLarge && !event.target.closest("#main")) return;  // letters act where the cells are alone
    const mode = MODES[Number(event.key) - 1];
    if (mode) {
      if (!event.repeat) {
        down.set(event.code, performance.now());
        hold(mode[0]);
      }
    } else if (event.key === "m" || event.key === "M") {
      state.bare = !state.bare;
      again();
      tell(state.bare ? "Marks are off." : "Marks are on.");
    } else if (inLarge && (event.key === "f" || event.key === "F")) flip();
    else if (isCompared && (event.key === "f" || event.key === "F")) {
      if (!event.repeat) {
        down.set(event.code, performance.now());
        turnList();
      }
    }
    else if (inLarge && event.key === "ArrowRight") stepLarge(1);
    else if (inLarge && event.key === "ArrowLeft") stepLarge(-1);
    else if ((event.key === "Enter" || event.key === " ") && event.target.matches("g[data-cell]")) openLarge(cells[Number(event.target.dataset.cell)]);
    else return;
    event.preventDefault();
  });
  document.addEventListener("keyup", (event) => {
    if (!down.has(event.code)) return;
    const mode = MODES[Number(event.key) - 1];
    const ms = performance.now() - down.get(event.code);
    down.delete(event.code);
    if (mode) release(mode[0], ms);
    else if (ms >= HELD_MS) turnList();
  });
  addEventListener("blur", () => {
    if (!down.size) return;
    down.clear();
    state.held = null;
    again();
  });
}

function startPointing() {
  const cellAt = (event) => {
    const item = event.target.closest?.("li.cell");
    if (item) return item.cell;
    const one = event.target.closest?.("[data-cell]");
    return one ? cells[Number(one.dataset.cell)] : null;
  };
  for (const kind of ["pointerover", "focusin"]) {
    byId("main").addEventListener(kind, (event) => {
      const cell = cellAt(event);
      if (cell) tellCell(cell);
    });
  }
  byId("main").addEventListener("click", (event) => {
    const one = event.target.closest("[data-cell]");
    if (one) openLarge(cells[Number(one.dataset.cell)]);
  });
  byId("large").addEventListener("close", () => {
    const item = items.get(large.cell?.number);
    if (state.view === "cells") item?.querySelector(".open").focus();
    if (state.view === "changes") byId("view-changes").querySelector(`[data-cell="${large.cell.number}"]`)?.focus();
    if (state.view === "chart") byId("chart").querySelector(`[data-cell="${large.cell.number}"]`)?.focus();
    if (state.view === "plan") byId("plan").querySelector(`[data-cell="${large.cell.number}"]`)?.focus();
  });
  byId("help-open").addEventListener("click", () => {
    byId("help").showModal();
    drawLegend();
  });
  byId("help-close").addEventListener("click", () => byId("help").close());
  document.querySelectorAll(".bar > .opens").forEach(opens);
  for (const button of document.querySelectorAll("[data-view]")) button.addEventListener("click", () => {
    showView(button.dataset.view);
    tell(HINTS[button.dataset.view]);
  });
}

const sheetNow = () => data.sheets.find((one) => one.place === state.place) ?? data.sheets[0];
const LEGEND_SHARE = 540;  // how wide a cell would be on a sheet with letters as large as in the legend here

/** The sheet's legend, block by block. */
function drawLegend() {
  const [page] = sheetNow().pages;
  const blocks = page.tree.filter(([, about]) => about.class === "legend").flatMap(([, , inner]) => inner.filter(([name]) => name === "g"));
  const share = LEGEND_SHARE / cells[page.cells[0]].size[0];
  byId("legend").replaceChildren(...blocks.map((block) => drawn("svg", {}, built(block, addressOf))));
  for (const svg of byId("legend").children) {
    const { x, y, width, height } = svg.getBBox();
    const edge = 3 / share;
    svg.setAttribute("viewBox", [x - edge, y - edge, width + 2 * edge, height + 2 * edge].join(" "));
    svg.setAttribute("width", share * (width + 2 * edge));
    svg.setAttribute("height", share * (height + 2 * edge));
  }
}

/** The sheet of the place that is shown, for paper. */
function drawPrint() {
  if (isCompared) return printChanges();
  const sheet = sheetNow();
  return byId("print").replaceChildren(...sheet.pages.map((page) => {
    const [width, height] = page.size;
    const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, class: "sheet" });
    svg.append(drawn("rect", { class: "paper", width, height }), ...page.tree.map((one) => built(one, addressOf)));
    const groups = [...svg.querySelectorAll("g.cell")];
    page.cells.forEach((number, k) => {
      const image = groups[k].querySelector("image");
      if (!image) return;
      show(image, cells[number]);
      groups[k].append(ownOutlines(cells[number], image.getAttribute("x"), image.getAttribute("y")));
    });
    sift(svg);
    return svg;
  }));
}

addEventListener("resize", () => {
  layOut();
  if (state.view === "chart") drawChart();
});
addEventListener("beforeprint", drawPrint);
addEventListener("afterprint", () => byId("print").replaceChildren());
readKept();
startHead();
startBar();
settleCells = roving(byId("cells"), ".open", inLine);
startChart();
startChanges();
startPlan();
startKeys();
startPointing();
relist(false);
refreshNoted();
if (listed.length) tellCell(listed[0]);
tell(HINTS.cells);
