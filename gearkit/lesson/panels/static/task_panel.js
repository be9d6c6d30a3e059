// The panel of a prediction task. It knows nothing about results: it sends what is set or said, and shows what comes back.

import { PanelModel } from "./panel_model.js";
import { button, choice, dropDown, sliderWithBox, textBox, tickBox } from "./controls.js";
import { freshPrefix, html, scrollable, setText, swapParts } from "./dom.js";
import { say, sayN } from "./words.js";

const HEARD = ["values", "questions", "steps_left", "is_open", "status", "given_html", "found_html", "compared_html", "afterword", "trouble", "history"];
const SEND_DELAY = 120;
const MOST_BUTTONS = 9;

class TaskPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.pending = new Map();
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.given = html("div", { class: "gk-scene" });
    this.outcome = html("div", { class: "gk-scene" });
    this.buildSettings();
    this.buildAsking();
    this.buildAnswered();
    this.history = html("details", { class: "gk-history" }, html("summary", {}, say("My predictions so far")), this.historyList = html("ol", {}));
    const title = model.get("title");
    element.append(html("section", { class: "gk-panel gk-task", "aria-label": title }, html("h3", { class: "gk-title" }, title),
      this.settings, this.status, this.given,
      html("div", { class: "gk-prediction" }, this.heading = html("h4", {}, say("Predict first")), this.asking, this.answered),
      this.outcome, this.history));
    this.state.listen(HEARD, () => this.update());
    this.update();
  }

  close() {
    clearTimeout(this.sending);
    this.state.close();
  }

  get(name) { return this.state.get(name); }

  send(message) { this.flush(); this.state.send(message); }

  // Sliders move faster than the kernel draws; only where they come to rest is sent.
  later(name, value) {
    this.pending.set(name, value);
    clearTimeout(this.sending);
    this.sending = setTimeout(() => this.flush(), SEND_DELAY);
  }

  flush() {
    clearTimeout(this.sending);
    const waiting = [...this.pending];
    this.pending.clear();
    for (const [name, value] of waiting) this.state.send({ do: "set", name, value });
  }

  buildSettings() {
    this.parts = new Map();
    this.get("controls").forEach((spec, k) => this.parts.set(spec.name, settingOf(spec, `${this.prefix}-set-${k}`, (value) => this.later(spec.name, value))));
    const tryIt = this.get("action") ? button(this.get("action"), () => this.send({ do: "try" }), "gk-primary") : null;
    this.tryIt = tryIt;
    this.left = html("span", { class: "gk-unit" });
    const line = tryIt ? html("div", { class: "gk-line" }, tryIt, this.left) : null;
    this.settings = html("div", {}, html("div", { class: "gk-controls" }, ...[...this.parts.values()].map(({ row }) => row)), line);
  }

  buildAsking() {
    this.invitation = html("p", {}, this.get("invitation"));
    this.form = html("div", { class: "gk-form" });
    this.trouble = html("p", { class: "gk-trouble", role: "alert" });
    this.asking = html("div", { class: "gk-asking" }, this.invitation, this.form,
      html("div", { class: "gk-line" }, button(say("Keep my prediction and reveal"), () => this.predict(), "gk-primary")), this.trouble);
  }

  buildAnswered() {
    this.compared = html("div", {});
    this.afterword = html("div", { class: "gk-afterword" });
    this.reason = textBox({ id: `${this.prefix}-reason`, label: say("My reason for this guess"), size: 44 }, null, () => this.keepReason());
    this.kept = html("span", { class: "gk-kept", role: "status" });
    this.answered = html("div", { class: "gk-answered" }, this.compared, this.afterword,
      html("div", { class: "gk-line" }, this.reason.row, button(say("Keep"), () => this.keepReason()), this.kept),
      html("div", { class: "gk-line" }, button(say("Predict again"), () => this.send({ do: "again" }))));
  }

  predict() {
    this.send({ do: "predict", said: Object.fromEntries([...this.fields].map(([name, field]) => [name, field.get()])) });
  }

  keepReason() {
    const text = this.reason.box.value.trim();
    if (!text) return;
    this.send({ do: "explain", text });
    setText(this.kept, say("Kept in your record."));
  }

  update() {
    const values = this.get("values");
    for (const [name, part] of this.parts) if (!this.pending.has(name)) part.set(values[name]);
    const open = this.get("is_open");
    // A case that is shut again begins with an empty form.
    if (this.wasOpen && !open) this.questionKey = null;
    this.showQuestions();
    if (open !== this.wasOpen) { this.reason.box.value = ""; setText(this.kept, ""); }
    this.wasOpen = open;
    setText(this.heading, open ? say("Your prediction") : say("Predict first"));
    if (open) swapParts(this.asking, this.answered);
    else swapParts(this.answered, this.asking);
    setText(this.status, this.get("status"));
    setText(this.trouble, this.get("trouble"));
    fill(this.given, this.get("given_html"));
    fill(this.outcome, this.get("found_html"));
    fill(this.compared, this.get("compared_html"));
    fill(this.afterword, this.get("afterword"));
    if (this.tryIt) {
      const left = this.get("steps_left");
      this.tryIt.disabled = open || left === 0;
      setText(this.left, open ? "" : sayN("{count} try left", "{count} tries left", left));
    }
    const history = this.get("history");
    this.history.hidden = history.length === 0;
    if (this.historyList.childElementCount !== history.length) this.historyList.replaceChildren(...history.map((entry) => html("li", {}, entry)));
  }

  showQuestions() {
    const key = JSON.stringify(this.get("questions"));
    if (key === this.questionKey) return;
    this.questionKey = key;
    this.fields = new Map();
    this.get("questions").forEach((ask, k) => this.fields.set(ask.name, askOf(ask, `${this.prefix}-ask-${k}-${key.length}`, () => this.predict())));
    this.form.replaceChildren(...[...this.fields.values()].map(({ row }) => row));
  }
}

function fill(node, text) {
  // Drawings are left alone while nothing changed, so that a reader's place in them is kept.
  if (node.filledWith === text) return;
  node.filledWith = text;
  node.innerHTML = text;
  for (const drawing of node.querySelectorAll(".gk-drawing")) scrollable(drawing);
}

// Options as they are kept, and as their reader calls them.
function labelled({ options, labels }) { return options.map((word) => [word, labels[word] ?? word]); }

function settingOf(spec, id, changed) {
  if (spec.form === "number") {
    const { label, unit, low, high, step } = spec;
    const digits = (String(step).split(".")[1] || "").length;
    const row = sliderWithBox({ id, label, unit, min: low, max: high, step, value: low }, (value) => changed(value.toFixed(digits)));
    return { row: row.row, set: (value) => { if (document.activeElement !== row.box) row.set(Number(value.toFixed(digits))); } };
  }
  if (spec.form === "ticks") {
    const boxes = spec.options.map(([name, words], k) => {
      const tick = tickBox({ id: `${id}-${k}`, label: "" }, () => changed(boxes.filter((each) => each.tick.box.checked).map((each) => each.name)));
      tick.row.querySelector("span").append(html("b", {}, name), words ? ` ${words}` : "");
      return { name, tick };
    });
    const row = html("fieldset", { class: "gk-choice gk-elements gk-wide" }, html("legend", {}, spec.label), html("div", { class: "gk-options" }, ...boxes.map(({ tick }) => tick.row)));
    return { row, set: (names) => { for (const { name, tick } of boxes) tick.set(names.includes(name)); } };
  }
  const choices = labelled(spec);
  if (choices.length <= MOST_BUTTONS) return choice({ id, legend: spec.label, choices, value: null }, changed);
  return dropDown({ id, label: spec.label, choices, value: choices[0][0] }, changed);
}

function askOf(ask, id, submit) {
  if (!ask.options.length) {
    const { row, box } = textBox({ id, label: ask.label, unit: ask.unit, placeholder: ask.example, size: 14 }, null, submit);
    return { row, get: () => box.value.trim() };
  }
  if (ask.several) {
    const boxes = ask.options.map((word, k) => ({ word, tick: tickBox({ id: `${id}-${k}`, label: ask.labels[word] ?? word }, () => {}) }));
    const row = html("fieldset", { class: "gk-choice" }, html("legend", {}, ask.label), html("div", { class: "gk-options" }, ...boxes.map(({ tick }) => tick.row)));
    return { row, get: () => boxes.filter(({ tick }) => tick.box.checked).map(({ word }) => word).join(", ") };
  }
  if (ask.options.length <= MOST_BUTTONS) {
    const control = choice({ id, legend: ask.label, choices: labelled(ask), value: null }, () => {});
    return { row: control.row, get: () => control.get() || "" };
  }
  const list = dropDown({ id, label: ask.label, choices: [["", say("choose …")], ...labelled(ask)], value: "" }, () => {});
  return { row: list.row, get: () => list.list.value };
}

export default {
  render({ model, el }) {
    const panel = new TaskPanel(model, el);
    return () => panel.close();
  },
};
