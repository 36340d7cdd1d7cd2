// Elements made one by one: words reach them as text alone, never as markup.
const SVG = "http://www.w3.org/2000/svg";
const XML = "http://www.w3.org/XML/1998/namespace";
const DRAWN = new Set(["g", "path", "circle", "text", "image", "clipPath", "polygon", "rect"]);
const byId = (id) => document.getElementById(id);

/** An element. about: its attributes, and `on` its listeners. inner: words or elements. */
function make(name, about = {}, ...inner) {
  return filled(document.createElement(name), about, inner);
}

function drawn(name, about = {}, ...inner) {
  return filled(document.createElementNS(SVG, name), about, inner);
}

function filled(element, about, inner) {
  for (const [key, value] of Object.entries(about)) {
    if (key === "on") for (const [kind, action] of Object.entries(value)) element.addEventListener(kind, action);
    else if (value === true) element.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) element.setAttribute(key, String(value));
  }
  element.append(...inner.filter((one) => one !== null && one !== undefined && one !== "").map((one) => (one instanceof Node ? one : unbroken(one))));
  return element;
}

/** Words in which no number stands apart from its percent sign. */
function unbroken(text) {
  return String(text).replace(/(\d) %/g, "$1\u00a0%");
}

/** Words that a person wrote, in their own direction. */
function said(text, name = "span", about = {}) {
  return make(name, { dir: "auto", ...about }, String(text));
}

/** An element that came as data: [name, attributes, inner]. A leaf comes as [its look, what is its own ..., words]. */
function whole(one) {
  if (typeof one[0] === "string") return one;
  const [name, alike, own] = data.looks[one[0]];
  return [name, { ...alike, ...Object.fromEntries(own.map((key, k) => [key, String(one[k + 1])])) }, one[own.length + 1] ?? ""];
}

/** A drawing that came as data. pictureOf: where the picture of a number lies, null to leave it out. */
function built(one, pictureOf) {
  const [name, attributes, inner] = whole(one);
  if (!DRAWN.has(name)) return drawn("g");
  const element = document.createElementNS(SVG, name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key === "href") {
      const address = /^#\d+$/.test(value) ? pictureOf(Number(value.slice(1))) : null;
      if (address !== null) element.setAttribute("href", address);
    } else if (key === "xml:space") element.setAttributeNS(XML, key, value);
    else if (!/^on|^style$/i.test(key)) element.setAttribute(key, value);
  }
  if (typeof inner === "string") element.textContent = inner;
  else element.append(...inner.map((each) => built(each, pictureOf)));
  return element;
}

/** One stop for the tabulator in a group; arrows go on from there. across: how many stand in a line. */
function roving(group, selector, across = () => 1) {
  const all = () => [...group.querySelectorAll(selector)];
  const settle = (one) => all().forEach((other) => other.setAttribute("tabindex", other === one ? "0" : "-1"));
  group.addEventListener("focusin", (event) => {
    const one = event.target.closest(selector);
    if (one) settle(one);
  });
  group.addEventListener("keydown", (event) => {
    const one = event.target.closest(selector);
    if (!one || event.altKey || event.ctrlKey || event.metaKey) return;
    const those = all();
    const at = those.indexOf(one);
    const steps = { ArrowRight: 1, ArrowLeft: -1, ArrowDown: across(), ArrowUp: -across() };
    const ends = { Home: 0, End: those.length - 1 };
    if (!(event.key in steps) && !(event.key in ends)) return;
    event.preventDefault();
    const to = event.key in ends ? ends[event.key] : at + steps[event.key];
    if (those[to]) those[to].focus();
  });
  return () => {
    const those = all();
    if (those.length && !those.some((one) => one.getAttribute("tabindex") === "0")) settle(those[0]);
  };
}

/** A button that opens and shuts what it controls. */
function opens(button) {
  button.addEventListener("click", () => {
    const isOpen = button.getAttribute("aria-expanded") !== "true";
    button.setAttribute("aria-expanded", String(isOpen));
    byId(button.getAttribute("aria-controls")).hidden = !isOpen;
  });
  return button;
}

/** Say what has changed to those who hear the page. */
function tell(sentence) {
  byId("status").textContent = sentence;
}

/** Choices of a list: [value, words] each, in groups where a third names one. */
function fill(select, choices) {
  const groups = new Map();
  for (const [value, text, group] of choices) {
    const option = make("option", { value }, text);
    if (!group) select.append(option);
    else {
      if (!groups.has(group)) {
        groups.set(group, make("optgroup", { label: group }));
        select.append(groups.get(group));
      }
      groups.get(group).append(option);
    }
  }
}
