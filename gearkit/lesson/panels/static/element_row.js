// The elements of a train to tick and the ranges of its chart as buttons, for panels in which elements are applied.

import { button, tickBox } from "./controls.js";
import { html } from "./dom.js";
import { say } from "./words.js";

// state: a PanelModel with "engaged"; memory: what is known of the train's states.
export function elementControls(train, state, memory, prefix) {
  const ticks = new Map(train.elements.map(({ name, words }) => {
    const tick = tickBox({ id: `${prefix}-tick-${name}`, label: "" }, (on) => apply(train, state, name, on));
    tick.row.querySelector("span").append(html("b", {}, name), ` ${words}`);
    return [name, tick];
  }));
  const boxes = html("div", { class: "gk-options" }, ...[...ticks.values()].map(({ row }) => row));
  const elementRow = html("fieldset", { class: "gk-choice gk-elements" }, html("legend", {}, say("Elements applied")), boxes);
  const rangeButtons = train.ranges.map(({ name, engaged }) => {
    // In the layout's order, as the kernel keeps them: what it need not put right it does not send back.
    const node = button(name, () => state.set({ engaged: memory.inOrder(engaged) }), "gk-range");
    node.setAttribute("aria-label", say("Apply the elements of range {name}", { name }));
    return node;
  });
  const rangeRow = html("div", { class: "gk-line gk-ranges", role: "group", "aria-label": say("Ranges of the chart") },
    html("b", {}, say("Range")), ...rangeButtons, button(say("None"), () => state.set({ engaged: [] })));
  return { ticks, elementRow, rangeButtons, rangeRow };
}

function apply(train, state, name, on) {
  const engaged = new Set(state.get("engaged"));
  if (on) engaged.add(name); else engaged.delete(name);
  state.set({ engaged: train.elements.map((element) => element.name).filter((known) => engaged.has(known)) });
}
