// Small helpers to build a panel: elements, names for controls, and the guard that keeps keys away from the notebook.

const SVG_SPACE = "http://www.w3.org/2000/svg";
const GUARD = "data-lm-suppress-shortcuts";
let panelCount = 0;

// A prefix for ids that is new for every view, because one panel may be shown twice in a page.
export function freshPrefix() {
  panelCount += 1;
  return `gk${panelCount}-${Math.random().toString(36).slice(2, 7)}`;
}

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes || {})) {
    if (value === null || value === undefined || value === false) continue;
    node.setAttribute(name, value === true ? "" : String(value));
  }
  for (const child of children || []) if (child !== null && child !== undefined) node.append(child);
  return node;
}

export function html(tag, attributes, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

export function svg(tag, attributes, ...children) {
  return fill(document.createElementNS(SVG_SPACE, tag), attributes, children);
}

// A panel's title, and below it what cannot be put together in the train that it shows.
export function heading(state) {
  const note = state.get("note");
  return [html("h3", { class: "gk-title" }, state.get("title")), ...(note ? [html("p", { class: "gk-note" }, note)] : [])];
}

// What is wider than its place scrolls, so it must be within reach of the keyboard; what fits needs no stop for the Tab key.
export function scrollable(node) {
  const look = () => { if (node.scrollWidth > node.clientWidth) node.tabIndex = 0; else node.removeAttribute("tabindex"); };
  const sizes = new ResizeObserver(look);
  // What stands in it may grow by itself, as a table does with longer words.
  const watch = () => { for (const each of [node, ...node.children]) sizes.observe(each); look(); };
  new MutationObserver(watch).observe(node, { childList: true });
  watch();
  return guardKeys(node);
}

// A notebook takes bare keys as commands, even with the focus in a panel: "b" would insert a cell, an arrow would leave
// it. JupyterLab looks for the attribute on the focused element itself; other front ends only see that the key stopped.
export function guardKeys(control) {
  control.setAttribute(GUARD, "true");
  for (const kind of ["keydown", "keypress", "keyup"]) control.addEventListener(kind, (event) => { if (!letThrough(event)) event.stopPropagation(); });
  return control;
}

// Saving is the notebook's, wherever the focus is. The guard stands aside until the key has gone up to the notebook.
function letThrough(event) {
  if (!(event.ctrlKey || event.metaKey) || event.key.toLowerCase() !== "s") return false;
  const control = event.currentTarget;
  control.removeAttribute(GUARD);
  setTimeout(() => control.setAttribute(GUARD, "true"));
  return true;
}

// Hides one part and shows another. A focus in the one goes on to the other: lost, it would hand the keys to the notebook.
export function swapParts(gone, shown) {
  const held = gone.contains(document.activeElement);
  [gone.hidden, shown.hidden] = [true, false];
  const next = held && shown.querySelector("input:not(:disabled), select, button:not(:disabled)");
  if (next) next.focus({ preventScroll: true });
}

// Up to this width in px a drawing has room beside its controls on a laptop; a wider one stands above them.
export const BESIDE = 600;
// Drawn letters have 12 px; down to 11 they may be made smaller before a drawing has to be scrolled.
const SMALLER = 11.02 / 12;

// Lets the drawing in a place shrink a little where that makes it fit; returns the least width that it needs, in px.
export function fitDrawing(place) {
  const drawing = place.querySelector("svg.gk");
  const width = drawing ? Number(drawing.getAttribute("width")) : 0;
  if (width) drawing.setAttribute("style", `width: 100%; height: auto; min-width: ${Math.ceil(width * SMALLER)}px; max-width: ${width}px !important`);
  return width * SMALLER;
}

export function setText(node, text) {
  // Unchanged text is left alone, so that a live region does not announce it again.
  if (node.textContent !== text) node.textContent = text;
}

export function wantsStillness() {
  return typeof matchMedia === "function" && matchMedia("(prefers-reduced-motion: reduce)").matches;
}
