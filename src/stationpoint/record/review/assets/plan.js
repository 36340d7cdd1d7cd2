// The plan of the sheet, on which a camera can be picked.
const FEW_CAMERAS = 24;  // more of them are ringed only in hand, or rings hide the plan
let settlePlan = () => {};

function drawPlan() {
  const sheet = sheetNow();
  const { size: [width, height], tree, cameras } = sheet.plan;
  const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, class: "plan", role: "group", "aria-label": "Plan and side view: cameras can be picked" });
  svg.append(...tree.map((one) => built(one, addressOf)));
  const listed = new Map(listedCells().map((cell) => [cell.id, cell]));
  const stacked = new Map();
  const those = cameras.filter(([id]) => listed.has(id));
  const isCrowded = those.length > FEW_CAMERAS;
  for (const [id, x, y] of those) {
    const cell = listed.get(id);
    const text = `Camera ${id}, ${cell.words}. ${cell.flag ? cell.flag.word : ""}`;
    const spot = `${Math.round(x / 8)} ${Math.round(y / 8)}`;
    const k = stacked.get(spot) ?? 0;
    stacked.set(spot, k + 1);
    const kind = cell.flag ? cell.flag.kind : "none";
    svg.append(drawn("g", { class: `camera ${kind}${isCrowded ? " crowded" : ""}${k ? " around" : ""}`, tabindex: "-1", role: "button", "aria-label": text, "data-cell": cell.number },
      drawn("title", {}, text), drawn("circle", { cx: x, cy: y, r: isCrowded ? 8 + 4 * (k % 3) : 13 + 7 * k })));
  }
  const rest = [...listed.values()].filter((cell) => !those.some(([id]) => id === cell.id));
  byId("plan").replaceChildren(svg);
  byId("plan-cameras").replaceChildren(...[...those.map(([id]) => listed.get(id)), ...rest].map((cell) => make("li", {},
    make("button", { type: "button", "data-cell": cell.number }, said(cell.id, "b"), " ", said(cell.words)))));
  settlePlan();
}

function startPlan() {
  settlePlan = roving(byId("plan"), ".camera");
}
