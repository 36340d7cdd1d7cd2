// The list of cells: which are shown, in which order, and which is in hand.
const LEAST_CELL_PX = 300;
const items = new Map();  // a cell's number -> its item
let settleCells = () => {};
let listed = [];

const listedCells = () => listed;

/** Whether a cell passes the filter. */
function passes(cell) {
  if (state.place && cell.place !== state.place) return false;
  if (byId("by-change").value && cell.change !== byId("by-change").value) return false;
  const verdict = byId("by-verdict").value;
  const kind = cell.flag ? cell.flag.kind : "";
  if (verdict === "holds" && !["holds", "chosen"].includes(kind)) return false;
  if (verdict === "fails" && !["fails", "chosen-fails"].includes(kind)) return false;
  if (verdict === "chosen" && !kind.startsWith("chosen") && held.chosen !== cell.key) return false;
  if (verdict === "noted" && !(cell.key in held.notes) && !data.notes.some((note) => note.variant === cell.key)) return false;
  const margin = byId("by-margin").value;
  if (margin !== "" && !(cell.margin !== null && cell.margin >= Number(margin))) return false;
  const column = byId("by-reading").value;
  const bound = byId("by-value").value;
  if (column === "" || bound === "") return true;
  const value = cell.values[Number(column)];
  if (typeof value !== "number") return false;
  const shown = data.paths[Number(column)].unit === "share" ? 100 * value : value;
  return byId("by-side").value === "least" ? shown >= Number(bound) : shown <= Number(bound);
}

/** What a cell is ordered by; null goes last. */
function orderKey(cell) {
  const by = byId("order").value;
  if (by === "") return cell.number;
  if (by === "change") return CHANGES.indexOf(cell.change);
  if (by === "margin") return cell.margin === null ? null : -cell.margin;
  if (by === "place") return places.indexOf(cell.place);
  const value = cell.values[Number(by)];
  return typeof value === "number" ? value : null;
}

function relist(told = true) {
  const turn = byId("turned").getAttribute("aria-pressed") === "true" ? -1 : 1;
  const keyed = cells.filter(passes).map((cell) => [orderKey(cell), cell]);
  keyed.sort(([a, one], [b, other]) => {
    if (a === null || b === null) return (a === null) - (b === null) || one.number - other.number;
    return turn * (a - b) || one.number - other.number;
  });
  listed = keyed.map(([, cell]) => cell);
  const those = listed.map((cell) => itemOf(cell));
  const hadFocus = document.activeElement?.closest?.("#cells");
  layOut();
  byId("cells").classList.toggle("of-one-place", state.place !== "");
  byId("cells").replaceChildren(...those);
  those.forEach((item) => near.observe(item));
  settleCells();
  if (hadFocus) byId("cells").querySelector(".open")?.focus();
  if (state.view === "chart") drawChart();
  if (state.view === "plan") drawPlan();
  const of = state.place ? cells.filter((cell) => cell.place === state.place).length : cells.length;
  const order = byId("order").selectedOptions[0].textContent;
  if (told) tell(`${listed.length} of ${of} cells, by ${order}.`);
}

function itemOf(cell) {
  if (!items.has(cell.number)) items.set(cell.number, cellItem(cell));
  return items.get(cell.number);
}

/** As many in a line as the sheet has, where that is the order; else as many as are asked for. */
function layOut() {
  const asked = byId("across").value;
  const onSheet = Math.max(1, ...cells.map((cell) => cell.column + 1));
  const room = byId("main").clientWidth;
  let fitting = 0;  // a line of the sheet, or a whole share of it, so that its lines stay lines
  for (let count = 1; count <= onSheet; count += 1) {
    if (onSheet % count === 0 && room / count >= LEAST_CELL_PX) fitting = count;
  }
  const isSheet = byId("order").value === "" && listed.length > 1 && fitting > 1;
  const across = asked ? Number(asked) : isSheet ? fitting : 0;
  byId("cells").style.setProperty("--across", across || "auto-fill");
  byId("cells").classList.toggle("counted", across > 0);
}

/** How many cells stand in a line. */
function inLine() {
  const those = [...byId("cells").children];
  const top = those[0]?.offsetTop;
  const count = those.findIndex((item) => item.offsetTop !== top);
  return count < 1 ? Math.max(1, those.length) : count;
}

const near = new IntersectionObserver((entries) => {
  for (const entry of entries) {
    if (entry.isIntersecting) {
      entry.target.svg.fill();
      near.unobserve(entry.target);
    }
  }
}, { rootMargin: "800px" });
