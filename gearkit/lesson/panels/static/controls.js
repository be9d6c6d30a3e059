// Controls with a name each: a slider with its number box, choices, tick boxes, buttons, text boxes.

import { guardKeys, html } from "./dom.js";
import { say } from "./words.js";

// A slider for quick change and a box for exact entry, one value. options: { id, label, unit, min, max, step, value }
export function sliderWithBox(options, onChange) {
  const { id, label, unit, min, max, step = 1 } = options;
  const slider = guardKeys(html("input", { type: "range", id: `${id}-slider`, min, max, step, "aria-label": label }));
  // Some phones offer no sign on their keys for digits, and no point on those for whole numbers.
  const inputmode = min < 0 ? "text" : Number.isInteger(Number(step)) ? "numeric" : "decimal";
  const box = guardKeys(html("input", { type: "number", id: `${id}-box`, min, max, step, inputmode }));
  const row = html("div", { class: "gk-slider" },
    html("label", { for: `${id}-box` }, label, unit ? html("span", { class: "gk-unit" }, ` ${say(unit)}`) : null), slider, box);
  let value = options.value;
  // On the scale, and without the tail that adding up steps of 0.05 leaves.
  const digits = (String(step).split(".")[1] || "").length;
  const fit = (number) => Math.min(max, Math.max(min, Number((Math.round((number - min) / step) * step + min).toFixed(digits))));
  const show = () => { slider.value = value; box.value = value; };
  const take = (number, fromBox) => {
    if (!Number.isFinite(number)) return;
    const fitted = fit(number);
    const changed = fitted !== value;
    value = fitted;
    slider.value = value;
    // While somebody types 1, 12, 120 the box is theirs; it is put right when they leave it.
    if (!fromBox) box.value = value;
    if (changed) onChange(value);
  };
  slider.addEventListener("input", () => take(slider.valueAsNumber, false));
  box.addEventListener("input", () => { if (box.valueAsNumber >= min && box.valueAsNumber <= max) take(box.valueAsNumber, true); });
  box.addEventListener("change", () => { take(box.valueAsNumber, false); show(); });
  show();
  return { row, slider, box, set(number) { value = number; show(); }, show(visible) { row.hidden = !visible; } };
}

// One of several, as radio buttons. options: { id, legend, choices: [[value, label], ...], value }
export function choice(options, onChange) {
  const { id, legend, choices } = options;
  const buttons = new Map();
  const labels = choices.map(([value, label]) => {
    const button = guardKeys(html("input", { type: "radio", name: id, id: `${id}-${value}`.replace(/\W/g, "-"), value }));
    button.addEventListener("change", () => { if (button.checked) onChange(value); });
    buttons.set(value, button);
    return html("label", { class: "gk-option" }, button, html("span", {}, say(label)));
  });
  const row = html("fieldset", { class: "gk-choice" }, html("legend", {}, legend), html("div", { class: "gk-options" }, ...labels));
  const set = (value) => { for (const [key, button] of buttons) button.checked = key === value; };
  set(options.value);
  return {
    row, set, buttons,
    get() { for (const [key, button] of buttons) if (button.checked) return key; return null; },
    enable(allowed) { for (const [key, button] of buttons) button.disabled = !allowed(key); },
    show(visible) { row.hidden = !visible; },
  };
}

export function tickBox(options, onChange) {
  const box = guardKeys(html("input", { type: "checkbox", id: options.id }));
  box.checked = Boolean(options.value);
  box.addEventListener("change", () => onChange(box.checked));
  const row = html("label", { class: "gk-option gk-tick" }, box, html("span", {}, options.label));
  return { row, box, set(value) { box.checked = Boolean(value); } };
}

export function button(label, onPress, kind = "") {
  const node = guardKeys(html("button", { type: "button", class: `gk-button ${kind}`.trim() }, label));
  node.addEventListener("click", onPress);
  return node;
}

// A line to write in. Enter does what the form's main button does.
export function textBox(options, onInput, onEnter) {
  const box = guardKeys(html("input", {
    type: "text", id: options.id, autocomplete: "off", spellcheck: "false", placeholder: options.placeholder || null,
    size: options.size || 14, "aria-describedby": options.describedBy || null,
  }));
  const row = html("label", { class: "gk-text" }, html("span", {}, options.label), box,
    options.unit ? html("span", { class: "gk-unit" }, say(options.unit)) : null);
  box.value = options.value || "";
  if (onInput) box.addEventListener("input", () => onInput(box.value));
  if (onEnter) box.addEventListener("keydown", (event) => { if (event.key === "Enter") { event.preventDefault(); onEnter(); } });
  return { row, box };
}

export function dropDown(options, onChange) {
  const list = guardKeys(html("select", { id: options.id },
    ...options.choices.map(([value, label]) => html("option", { value }, say(label)))));
  list.value = options.value;
  list.addEventListener("change", () => onChange(list.value));
  const row = html("label", { class: "gk-text" }, html("span", {}, options.label), list);
  return { row, list, set(value) { list.value = value; } };
}
