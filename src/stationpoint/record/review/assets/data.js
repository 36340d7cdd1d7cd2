// What the page shows: the data and pictures that lie in it, and how numbers are put into words.
const data = JSON.parse(document.getElementById("data").textContent);
const pictures = JSON.parse(document.getElementById("pictures").textContent);
const cells = data.cells;
const MINUS = "\u2212";
const JOIN = "\u001f";

cells.forEach((cell, number) => {
  cell.number = number;
  if (cell.before) cell.before.number = number;
});
const isCompared = "changes" in data;  // each cell has what it was before

const columnOf = new Map(data.paths.map((one, k) => [one.path.join(JOIN), k]));
const places = [...new Set(cells.map((cell) => cell.place))];
const isPlaced = data.sheets.length > 1;

/** A reading of a cell by its path; null where it does not apply. */
function valueOf(cell, ...path) {
  const column = columnOf.get(path.join(JOIN));
  return column === undefined ? null : cell.values[column];
}

/** Where the file of a picture lies. */
function addressOf(number) {
  return `data:image/webp;base64,${pictures[number]}`;
}

function number(value, decimals) {
  const text = Math.abs(value).toFixed(decimals);
  const plain = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return value < 0 && Number(plain) !== 0 ? MINUS + plain : plain;
}

/** A number with as many decimals as it means. */
function rounded(value) {
  const size = Math.abs(value);
  return number(value, size >= 100 ? 0 : size >= 10 ? 1 : size >= 0.095 ? 2 : 3);
}

/** A value as people read it, with its unit. */
function words(value, unit) {
  if (value === null || value === undefined) return "does not apply";
  if (typeof value === "boolean") return value ? "yes" : "no";
  if (typeof value === "number") {
    if (unit === "share") return `${number(100 * value, 1)} %`;
    return unit === "°" ? `${rounded(value)}°` : `${rounded(value)} ${unit}`.trim();
  }
  if (Array.isArray(value)) {
    if (!value.length) return "none";
    if (value.every((one) => typeof one === "number") && unit && unit !== "share") return `${value.map((one) => words(one, "")).join(" × ")} ${unit}`;
    return value.map((one) => (typeof one === "object" && one !== null ? words(one, "") : words(one, unit))).join(" × ");
  }
  if (typeof value === "object") {
    return Object.entries(value).map(([name, one]) => `${name} ${words(one, typeof one === "number" ? unit || "share" : "")}`).join(", ") || "none";
  }
  return String(value);
}

/** What a reading is called: whose it is, and what. */
function nameOf(column) {
  const { path, whose, reading } = data.paths[column];
  const viewing = path[path.length - 1] !== reading.replace(/ /g, "_") && isViewing(path) ? `, ${path[path.length - 1]}` : "";
  return `${whose ? `${whose}: ` : ""}${reading}${viewing}`;
}

function isViewing(path) {
  return path[0] === "viewing" ? false : ["size_px", "size_arcmin", "piece_arcmin"].includes(path[path.length - 2]);
}

/** The readings that are numbers in some cell: their columns. */
const numeric = data.paths
  .map((_, column) => column)
  .filter((column) => cells.some((cell) => typeof cell.values[column] === "number"));

/** What hides a thing, in words; "" where nothing does. */
function hiders(cell, group, name) {
  const path = group === "subject" ? ["subject", "hidden_by"] : [group, name, "hidden_by"];
  const found = valueOf(cell, ...path);
  if (!found || typeof found !== "object" || Array.isArray(found)) return "";
  return Object.entries(found).map(([who, share]) => `${who} ${words(share, "share")}`).join(", ");
}

/** A cell's name: its variant, with the place where there are several. */
function cellName(cell) {
  return isPlaced ? `${cell.id}, ${cell.place}` : cell.id;
}

function verdictWords(cell) {
  return cell.flag ? `${cell.flag.word}${cell.flag.says ? `: ${cell.flag.says}` : ""}` : "";
}
