// Notes on cells, and which one is chosen: kept in the page, saved as a file for `stationpoint choose --from`.
const KEPT = `stationpoint review ${data.study}`;
const held = { by: "", notes: {}, chosen: "", because: "" };

function readKept() {
  try {
    const kept = JSON.parse(localStorage.getItem(KEPT) ?? "{}");
    for (const name of ["by", "chosen", "because"]) {
      if (typeof kept[name] === "string") held[name] = kept[name];
    }
    for (const [key, text] of Object.entries(kept.notes ?? {})) {
      if (typeof text === "string") held.notes[key] = text;
    }
  } catch {
    return;  // not allowed here, or not ours: kept while the page is open
  }
}

function keep() {
  try {
    localStorage.setItem(KEPT, JSON.stringify(held));
  } catch {
    return;
  }
}

const noteOf = (cell) => held.notes[cell.key] ?? "";

function keepNote(cell, text) {
  if (text.trim()) held.notes[cell.key] = text;
  else delete held.notes[cell.key];
  keep();
  refreshNoted();
}

function keepBecause(text) {
  held.because = text;
  keep();
}

function choose(cell) {
  held.chosen = held.chosen === cell.key ? "" : cell.key;
  keep();
  refreshChoice();
  refreshNoted();
  tell(held.chosen ? `${cell.id} is chosen.` : "None is chosen.");
}

function refreshChoice() {
  const { parts } = large;
  if (!large.cell || !parts.choose) return;
  const cell = largeNoted();
  const isChosen = held.chosen === cell.key;
  parts.choose.setAttribute("aria-pressed", String(isChosen));
  parts.choose.textContent = isChosen ? `${cell.id} is your choice` : `Choose ${cell.id}`;
  parts.because.disabled = !isChosen;
  parts.because.value = isChosen ? held.because : "";
}

function refreshNoted() {
  for (const item of items.values()) {
    const { key } = item.cell;
    const marks = [held.chosen === key ? "Your choice" : "", key in held.notes ? "Noted" : ""].filter(Boolean);
    item.noted.textContent = marks.join(", ");
    item.noted.hidden = !marks.length;
  }
}

/** Words as TOML writes them in quotes. */
function quoted(text) {
  const whole = text.isWellFormed?.() === false ? text.toWellFormed() : text;
  return JSON.stringify(whole).replace(/\u007f/g, "\\u007f").replace(/\\ud[89a-f]../gi, "\\ufffd");
}

/** The notes as a file. */
function notesText() {
  const lines = ["# Notes of a review. Put them into the study with: stationpoint choose STUDY --from FILE"];
  if (held.chosen) {
    lines.push("", "[decision]", `chosen = ${quoted(held.chosen)}`);
    if (held.by.trim()) lines.push(`by = ${quoted(held.by.trim())}`);
    if (held.because.trim()) lines.push(`because = ${quoted(held.because.trim())}`);
  }
  for (const key of Object.keys(held.notes).sort()) {
    lines.push("", "[[note]]", `variant = ${quoted(key)}`);
    if (held.by.trim()) lines.push(`by = ${quoted(held.by.trim())}`);
    lines.push(`text = ${quoted(held.notes[key].trim())}`);
  }
  return `${lines.join("\n")}\n`;
}

function saveNotes() {
  const address = URL.createObjectURL(new Blob([notesText()], { type: "application/toml" }));
  const link = make("a", { href: address, download: "notes.toml" });
  document.body.append(link);
  link.click();
  link.remove();
  setTimeout(() => URL.revokeObjectURL(address), 10000);
  tell("The notes are saved as notes.toml.");
}

/** The view of all notes. */
function drawNotes() {
  const label = (key) => cells.find((cell) => cell.key === key)?.id ?? key;
  const by = make("input", { id: "by", dir: "auto", on: { input: (event) => { held.by = event.target.value; keep(); text.value = notesText(); } } });
  by.value = held.by;
  const own = Object.keys(held.notes).sort((a, b) => label(a).localeCompare(label(b), undefined, { numeric: true }));
  const rows = own.map((key) => [label(key), said(held.notes[key])]);
  const before = data.notes.map((note) => [label(note.variant), said(note.by ? `${note.by}: ${note.text}` : note.text)]);
  const text = make("textarea", { id: "notes-text", rows: "12", readonly: true, spellcheck: "false" });
  text.value = notesText();
  const chosen = held.chosen ? `Your choice: ${label(held.chosen)}${held.because ? `, because ${held.because}` : ""}.` : "You have chosen none yet: open a cell to choose it.";
  byId("view-notes").replaceChildren(...[
    make("h2", {}, "Notes"),
    make("label", { for: "by" }, "Your name or initials "), by,
    said(chosen, "p"),
    table("Your notes", ["Cell", "Note"], rows) ?? make("p", {}, "You have noted nothing yet: open a cell to note something on it."),
    table("Notes that the study has already", ["Cell", "Note"], before),
    make("p", {}, make("button", { type: "button", class: "save", on: { click: saveNotes } }, "Save as notes.toml")),
    make("label", { for: "notes-text" }, "The same to copy, where saving is not allowed"), text,
  ].filter(Boolean));
}
