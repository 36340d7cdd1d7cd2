// A reading against a swept field; its points are the cells.
const LETTER_PX = 8.5;  // a letter of 15 px, at most, in the mean
const CHART = { width: 640, height: 420, left: 90, right: 60, top: 40, bottom: 80 };  // the least it measures, px

/** Round steps that cover a range. */
function ticks(low, high, most = 6) {
  const span = high - low || Math.abs(high) || 1;
  const power = 10 ** Math.floor(Math.log10(span / most));
  const step = [1, 2, 5, 10].map((one) => one * power).find((one) => span / one <= most) ?? 10 * power;
  const found = [];
  for (let k = Math.ceil(low / step - 1e-9); k * step <= high + 1e-9 * step; k += 1) found.push(k * step);
  return found;
}

/** Where along the axis a step of a field stands: by its number, else in the order of the sweep. */
function axisOf(field) {
  const values = [...new Set(cells.map((cell) => cell.steps[field]).filter((one) => one !== undefined))];
  const isNumber = values.length > 0 && values.every((one) => typeof one === "number");
  if (isNumber) {
    const low = Math.min(...values);
    const high = Math.max(...values);
    const span = high - low || 1;
    return { values, at: (value) => (value - low + 0.06 * span) / (1.12 * span), isNumber };
  }
  return { values, at: (value) => (values.indexOf(value) + 0.5) / values.length, isNumber };
}

function drawChart() {
  const column = Number(byId("chart-reading").value);
  const field = byId("chart-field").value;
  const reading = data.paths[column];
  const shown = listedCells().filter((cell) => typeof cell.values[column] === "number" && cell.steps[field] !== undefined);
  const host = byId("chart");
  if (!shown.length) {
    host.replaceChildren(make("p", {}, "No cell that is listed has this reading and this field; show all, or take another."));
    return;
  }
  const scale = reading.unit === "share" ? 100 : 1;
  const bounds = new Map();
  for (const cell of shown) {
    for (const one of cell.brief) {
      if (one.path.join(JOIN) === reading.path.join(JOIN)) one.bounds.forEach(([value, text]) => bounds.set(text, value * scale));
    }
  }
  const ys = [...shown.map((cell) => cell.values[column] * scale), ...bounds.values()];
  const marks = ticks(Math.min(...ys), Math.max(...ys));
  const low = Math.min(...ys, ...marks);
  const high = Math.max(...ys, ...marks);
  const room = (high - low || 1) * 0.06;
  const { left, top, bottom } = CHART;
  const width = Math.max(CHART.width, host.clientWidth);
  const height = Math.max(CHART.height, Math.min(0.56 * width, innerHeight - 260));
  const right = Math.max(CHART.right, ...[...bounds.keys()].map((text) => LETTER_PX * text.length + 20));
  const toY = (value) => height - bottom - ((value - low + room) / (high - low + 2 * room || 1)) * (height - top - bottom);
  const axis = axisOf(field);
  const toX = (value) => left + axis.at(value) * (width - left - right);
  const svg = drawn("svg", { viewBox: `0 0 ${width} ${height}`, class: "chart", role: "group", "aria-label": `${nameOf(column)} against ${fieldName(field)}` });
  const unit = reading.unit === "share" ? "%" : reading.unit;
  for (const mark of marks) {
    svg.append(drawn("line", { class: "rule", x1: left, x2: width - right, y1: toY(mark), y2: toY(mark) }),
      drawn("text", { x: left - 10, y: toY(mark) + 5, "text-anchor": "end" }, rounded(mark)));
  }
  for (const [text, value] of bounds) {
    svg.append(drawn("line", { class: "limit", x1: left, x2: width - right, y1: toY(value), y2: toY(value) }),
      drawn("text", { class: "limit-words", x: width - right + 8, y: toY(value) + 5 }, text));
  }
  let taken = -Infinity;  // up to where words stand along the axis
  for (const value of [...axis.values].sort((a, b) => axis.at(a) - axis.at(b))) {
    const text = shown.find((cell) => cell.steps[field] === value)?.said[field];
    const half = text ? text.length * LETTER_PX / 2 : 0;
    if (text && toX(value) - half > taken) {
      taken = toX(value) + half + LETTER_PX;
      svg.append(drawn("text", { x: toX(value), y: height - bottom + 26, "text-anchor": "middle" }, text));
    }
  }
  svg.append(drawn("text", { class: "axis", x: (left + width - right) / 2, y: height - 18, "text-anchor": "middle" }, fieldName(field)),
    drawn("text", { class: "axis", x: 12, y: 20 }, `${nameOf(column)}${unit ? `, ${unit}` : ""}`));
  const lines = new Map();
  for (const cell of shown) {
    const rest = Object.entries(cell.said).filter(([name]) => name !== field && isAlong(name, field)).map(([, text]) => text);
    if (isPlaced && !state.place) rest.push(cell.place);
    const key = rest.join(", ");
    lines.set(key, [...(lines.get(key) ?? []), cell]);
  }
  let number = 0;
  const keys = [];
  for (const [key, those] of lines) {
    those.sort((a, b) => axis.values.indexOf(a.steps[field]) - axis.values.indexOf(b.steps[field]));
    if (axis.isNumber) those.sort((a, b) => a.steps[field] - b.steps[field]);
    const dash = ["", "9 5", "2 5", "14 4 2 4"][number % 4];
    const path = those.map((cell, k) => `${k ? "L" : "M"}${toX(cell.steps[field])} ${toY(cell.values[column] * scale)}`).join("");
    svg.append(drawn("path", { class: "series", d: path, "stroke-dasharray": dash }));
    keys.push(make("li", {}, drawn("svg", { viewBox: "0 0 40 10", class: "dash", "aria-hidden": "true" },
      drawn("path", { class: "series", d: "M0 5H40", "stroke-dasharray": dash })), said(key || "all")));
    number += 1;
  }
  const spots = shown.map((cell) => [toX(cell.steps[field]), toY(cell.values[column] * scale), cell]);
  const labelled = [];
  for (const cell of shown) {
    const kind = cell.flag ? cell.flag.kind : "none";
    const value = cell.values[column];
    const text = `${cellName(cell)}, ${cell.words}: ${nameOf(column)} ${words(value, reading.unit)}. ${cell.flag ? cell.flag.word : ""}`;
    const about = { class: `point ${kind}`, tabindex: "-1", role: "button", "aria-label": text, "data-cell": cell.number };
    const [x, y] = [toX(cell.steps[field]), toY(value * scale)];
    const isFree = !labelled.some(([a, b]) => Math.abs(a - x) < 40 && Math.abs(b - y) < 15)
      && !spots.some(([a, b, other]) => other !== cell && Math.hypot(a - x, b - y) > 6 && a > x - 2 && a < x + 46 && b > y - 28 && b < y + 4);
    if (isFree) labelled.push([x, y]);
    svg.append(drawn("g", about, drawn("title", {}, text), drawn("circle", { cx: x, cy: y, r: 8 }),
      isFree ? drawn("text", { x: x + 12, y: y - 8, "aria-hidden": "true" }, cell.id) : null));
  }
  if (isJudged) {
    for (const [kind, text] of [["holds", "holds"], ["fails", "fails"]]) {
      keys.push(make("li", {}, drawn("svg", { viewBox: "0 0 20 20", class: "dot", "aria-hidden": "true" },
        drawn("g", { class: `point ${kind}` }, drawn("circle", { cx: 10, cy: 10, r: 7 }))), text));
    }
  }
  host.replaceChildren(svg, make("ul", { class: "keys", "aria-label": "Lines and points" }, ...keys));
  settleChart();
}

/** Whether a field makes a line of its own beside another: those that move with it on its axis do not. */
function isAlong(name, field) {
  const axis = (one) => data.fields.find((known) => known.field === one)?.axis;
  return axis(name) !== axis(field);
}

const fieldName = (field) => data.fields.find((one) => one.field === field)?.name ?? field;
let settleChart = () => {};

function startChart() {
  const groups = numeric.map((column) => [column, nameOf(column), data.paths[column].path[0]]);
  fill(byId("chart-reading"), groups);
  const first = cells.flatMap((cell) => cell.brief).map((one) => columnOf.get(one.path.join(JOIN))).find((one) => numeric.includes(one));
  if (first !== undefined) byId("chart-reading").value = String(first);
  fill(byId("chart-field"), data.fields.map((one) => [one.field, one.name]));
  const across = data.fields.find((one) => one.axis === "columns");
  if (across) byId("chart-field").value = across.field;
  for (const id of ["chart-reading", "chart-field"]) byId(id).addEventListener("change", drawChart);
  settleChart = roving(byId("chart"), ".point");
}
