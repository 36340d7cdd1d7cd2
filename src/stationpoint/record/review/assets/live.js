// The page follows its study: it is loaded again once that has been drawn again, and looks as it did.
const VIEW = "stationpoint view";
const SELECTS = ["place", "order", "by-verdict", "by-reading", "by-side", "across", "chart-reading", "chart-field"];
const INPUTS = ["by-margin", "by-value"];

/** What a list says, by a name that another drawing of the study has too: readings are numbered anew. */
const steady = (value) => (/^\d+$/.test(value) && data.paths[Number(value)] ? { path: data.paths[Number(value)].path } : value);

function unsteady(value) {
  if (typeof value !== "object") return value;
  return String(columnOf.get(value.path.join(JOIN)) ?? "");
}

const nameIn = (cell) => (cell ? { key: cell.key, id: cell.id, place: cell.place } : null);

/** The same variant at the same place, else what stands where it stood. */
function cellOf(name) {
  const by = (what) => cells.find((cell) => cell[what] === name[what] && cell.place === name.place);
  return name ? (by("key") ?? by("id")) : undefined;
}

function leaveView() {
  const chosen = {};
  for (const id of SELECTS) {
    const list = byId(id);
    if (list) chosen[id] = ["order", "by-reading", "chart-reading"].includes(id) ? steady(list.value) : list.value;
  }
  for (const id of INPUTS) chosen[id] = byId(id).value;
  const dialog = byId("large");
  const seen = {
    chosen, mode: state.mode, off: [...state.off], bare: state.bare, view: state.view, hand: nameIn(state.hand),
    turned: byId("turned").getAttribute("aria-pressed"), open: [...document.querySelectorAll("details")].map((one) => one.open),
    panels: [...document.querySelectorAll(".bar > .opens")].map((one) => one.getAttribute("aria-expanded")),
    large: dialog.open ? nameIn(large.cell) : null, other: nameIn(large.asked), flipped: large.flipped,
    scroll: [scrollX, scrollY], inner: [...document.querySelectorAll("#told, .large-side, .facts, .large-picture")].map((one) => one.scrollTop),
    focus: document.activeElement?.id ?? "", held,
  };
  try {
    sessionStorage.setItem(VIEW, JSON.stringify(seen));
  } catch {
    return;  // not allowed here: the page begins anew
  }
}

/** A list's choice, if the list still has it. */
function pick(list, value) {
  if (list && [...list.options].some((one) => one.value === value)) list.value = value;
}

function takeUpView() {
  let seen = null;
  try {
    seen = JSON.parse(sessionStorage.getItem(VIEW));
    sessionStorage.removeItem(VIEW);
  } catch {
    return;
  }
  if (!seen) return;
  if (!Object.keys(held.notes).length && !held.chosen) Object.assign(held, seen.held);  // of the study before
  keep();
  for (const id of SELECTS) if (id in seen.chosen) pick(byId(id), unsteady(seen.chosen[id]));
  for (const id of INPUTS) byId(id).value = seen.chosen[id];
  if (isPlaced && byId("place")) state.place = byId("place").value;
  byId("turned").setAttribute("aria-pressed", seen.turned);
  state.bare = seen.bare;
  state.off = new Set(seen.off);
  for (const box of document.querySelectorAll("[data-mark]")) box.checked = !state.off.has(box.dataset.mark);
  if (MODES.some(([name]) => name === seen.mode)) setMode(seen.mode);
  relist(false);
  refreshNoted();
  showView(seen.view);
  const hand = cellOf(seen.hand);
  if (hand) tellCell(hand);
  scrollTo(...seen.scroll);
  const cell = cellOf(seen.large);
  if (cell) {
    openLarge(cell);
    large.asked = cellOf(seen.other) ?? null;
    large.flipped = seen.flipped && otherCell() !== null;
    refreshLarge();
  }
  document.querySelectorAll(".bar > .opens").forEach((one, k) => { if (one.getAttribute("aria-expanded") !== (seen.panels?.[k] ?? "false")) one.click(); });
  document.querySelectorAll("details").forEach((one, k) => { one.open = seen.open[k] ?? one.open; });
  document.querySelectorAll("#told, .large-side, .facts, .large-picture").forEach((one, k) => { one.scrollTop = seen.inner[k] ?? 0; });
  if (seen.focus) byId(seen.focus)?.focus({ preventScroll: true });
}

const redrawn = { due: null, cells: new Map() };  // due: label -> whether its cell is another one than here

/** What lies over a cell's picture while its study is drawn again: its new picture, words, or nothing. */
function coverOf(cell) {
  if (!redrawn.due || redrawn.due[cell.id] === false) return null;
  if (!Object.hasOwn(redrawn.due, cell.id)) return { words: "No more in the study; this is how it was." };
  const found = redrawn.cells.get(cell.id + JOIN + cell.place);
  if (!found) return { words: "Being drawn again; this is how it was." };
  const asked = modeNow();
  const mode = [asked === "grey" ? "own" : asked, data.mode, "clay"].find((name) => name in found.pictures);
  const other = mode === asked || asked === "grey" ? "" : ` In ${MODES.find(([name]) => name === mode)?.[1].toLowerCase() ?? mode}.`;
  return {
    words: [said(found.words, "b"), ` New.${other} Marks and readings follow.`],
    picture: `data:image/webp;base64,${found.pictures[mode]}`, isGrey: asked === "grey",
  };
}

/** Cover a picture, or uncover it. host: what it lies in. whole: what else tells of the cell. */
function cover(host, whole, cell) {
  const over = coverOf(cell);
  const is = over ? `${over.picture ?? over.words}${over.isGrey ?? ""}` : "";
  if ((host.over ?? "") === is && (host.querySelector(".cover") !== null) === (over !== null)) return;
  host.over = is;
  host.querySelector(".cover")?.remove();
  whole.classList.toggle("due", over !== null && !over.picture);
  whole.classList.toggle("redrawn", Boolean(over?.picture));
  if (!over) return;
  const picture = over.picture ? make("img", { src: over.picture, alt: "", class: over.isGrey ? "grey" : "" }) : null;
  host.append(make("div", { class: "cover" }, picture, make("p", {}, ...[over.words].flat())));
}

function coverAll() {
  for (const item of items.values()) cover(item.querySelector(".shown"), item, item.cell);
  if (byId("large").open) cover(large.parts.picture, byId("large"), largeShown());
}

function startLive() {
  const told = make("p", { id: "live", role: "status", dir: "auto", hidden: true });
  document.body.prepend(told);
  const say = (text) => {
    const dialog = byId("large");
    (dialog.open ? dialog : document.body).prepend(told);  // what lies under an open dialog is not seen
    told.textContent = text;
    told.hidden = !text;
  };
  const events = new EventSource("events");
  events.addEventListener("message", (event) => {
    const { version, wrong, due } = JSON.parse(event.data);
    if (version !== data.version) {
      events.close();  // else its end would be told as that of watching
      leaveView();
      location.reload();
      return;
    }
    redrawn.due = due;
    redrawn.cells.clear();
    coverAll();
    told.classList.toggle("below", due !== null);
    if (wrong) say(`The study cannot be drawn as it is; this is how it was.\n${wrong}`);
    else say(due ? "The study is being drawn again. Pictures say where they are new; all else on this page is of the study before." : "");
  });
  events.addEventListener("cell", (event) => {
    const cell = JSON.parse(event.data);
    redrawn.cells.set(cell.label + JOIN + cell.place, cell);
    coverAll();
  });
  const anew = new MutationObserver(coverAll);  // cells come and go, and modes change
  for (const host of [byId("cells"), byId("large")]) anew.observe(host, { childList: true, subtree: true, attributes: true, attributeFilter: ["href", "open"] });
  events.addEventListener("error", () => say("Nothing is watching the study any more; start stationpoint watch again."));
}

history.scrollRestoration = "manual";
takeUpView();
startLive();
