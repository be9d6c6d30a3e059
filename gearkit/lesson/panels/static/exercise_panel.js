// The form of one exercise. It knows nothing about right answers: it sends what was written and shows what comes back.

import { PanelModel } from "./panel_model.js";
import { button, choice, textBox, tickBox } from "./controls.js";
import { BESIDE, fitDrawing, freshPrefix, guardKeys, html, scrollable, setText } from "./dom.js";
import { say, speak } from "./words.js";

const STATE = ["prompt_html", "parts", "given", "preview", "feedback", "hints"];
const SIGNS = { right: "✓", wrong: "○", unreadable: "△", missing: "–" };
// What is written where none of several fits.
const NOTHING = "none";
// As long as the name of a range or an element may be and still head a narrow column.
const SHORT_LABEL = 4;
// As many narrow columns as have room beside the picture of a train.
const MOST_BESIDE = 6;
// What a panel has inside on a laptop, the gap between question and train, and of a table a letter and the room in a cell, in px.
const [LAPTOP, GAP, LETTER, CELL] = [886, 22, 8, 16];
// As many letters as leave room for a chart between question and form.
const LONG_QUESTION = 850;

// The width below which a table is cut off: a column is no narrower than its longest word.
function leastWidth(table) {
  const columns = [];
  for (const row of table.rows) for (const [k, cell] of [...row.cells].entries()) columns[k] = Math.max(columns[k] ?? 0, ...cell.textContent.split(/\s+/).map((word) => word.length));
  return columns.reduce((sum, letters) => sum + letters * LETTER + CELL, 0);
}

// A table of a question that is wider than a phone moves in a box of its own.
function inBox(table) {
  const box = html("div", { class: "gk-scroll" });
  table.replaceWith(box);
  box.append(table);
  scrollable(box);
}

export class ExercisePanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    speak(model.get("messages"));
    this.prefix = freshPrefix();
    this.question = html("div", { class: "gk-question" });
    // The picture of a train stands beside question and form where there is room, so that all are seen together.
    this.train = scrollable(html("div", { class: "gk-aside" }));
    // Pictures to choose from stand with the answer where the question shares its row with a train.
    this.pictures = html("div", {});
    this.form = html("div", { class: "gk-form" });
    this.status = html("div", { class: "gk-feedback", role: "status", "aria-live": "polite" });
    this.hintList = html("ol", { class: "gk-hints", "aria-label": say("Hints") });
    this.hintButton = button(say("Hint"), () => this.send({ do: "hint" }));
    const line = html("div", { class: "gk-line" }, button(say("Check"), () => this.check(), "gk-primary"), this.hintButton,
      button(say("New numbers"), () => this.renew()));
    this.plain = html("code", {});
    this.inCell = html("details", { class: "gk-history" }, html("summary", {}, say("Answer in a cell instead")), html("pre", {}, this.plain));
    element.append(html("section", { class: "gk-panel gk-exercise", "aria-label": model.get("title") },
      html("h3", { class: "gk-title" }, model.get("title")),
      this.body = html("div", { class: "gk-ask" }, this.question, this.train, html("div", {}, this.pictures, this.form, line, this.status, this.hintList)), this.inCell));
    this.state.listen(STATE, () => this.update());
    this.update();
  }

  close() { this.state.close(); }

  get(name) { return this.state.get(name); }

  send(message) { this.state.send(message); }

  check() { this.send({ do: "check", given: this.written() }); }

  written() {
    return Object.fromEntries([...this.fields].map(([name, field]) => [name, field.get()]).filter(([, text]) => text !== ""));
  }

  // What is still written before the new numbers come belongs to the old ones.
  renew() {
    this.renewing = true;
    this.send({ do: "new numbers" });
  }

  // While somebody writes, the kernel is asked how it reads the text so far; it never says whether it is right.
  changed() {
    if (!this.renewing) this.state.set({ given: this.written() });
  }

  update() {
    this.showQuestion();
    this.showGiven();
    this.showPreview();
    this.showFeedback();
    const hints = this.get("hints");
    if (this.hintList.childElementCount !== hints.length) {
      this.hintList.replaceChildren(...hints.map((text) => { const entry = html("li", {}); entry.innerHTML = text; return entry; }));
    }
    this.hintList.hidden = hints.length === 0;
    this.hintButton.disabled = this.get("hints_left") === 0;
    setText(this.hintButton, hints.length ? say("Another hint") : say("Hint"));
    setText(this.plain, this.get("plain_call"));
    this.inCell.hidden = this.get("plain_call") === "";
  }

  showQuestion() {
    const key = `${this.get("draw")} ${this.get("prompt_html")}`;
    if (key === this.questionKey) return;
    this.questionKey = key;
    this.renewing = false;
    this.question.innerHTML = this.get("prompt_html");
    for (const train of this.question.querySelectorAll(".gk-train")) scrollable(train);
    for (const table of this.question.querySelectorAll("table")) if (!table.closest(".gk-train, .gk-train-chart, .gk-scroll")) inBox(table);
    this.fields = new Map();
    const parts = this.get("parts");
    const grid = isGrid(parts);
    this.form.replaceChildren(...(grid ? [this.buildGrid(parts)] : parts.map((part, k) => this.buildPart(part, k))));
    this.form.classList.toggle("gk-many", parts.length > 3 && !grid);
    this.train.replaceChildren(...this.question.querySelectorAll(".gk-train"));
    // Below a long question a chart would push the form out of sight.
    if (this.question.textContent.length > LONG_QUESTION) this.train.append(...this.question.querySelectorAll(".gk-train-chart"));
    const wide = fitDrawing(this.train);
    const room = LAPTOP - GAP - wide;
    const beside = wide > 0 && wide <= BESIDE && [...this.question.querySelectorAll("table")].every((table) => leastWidth(table) <= room);
    this.pictures.replaceChildren(...(beside ? this.question.querySelectorAll(".gk-choices") : []));
    this.body.classList.toggle("gk-ask-beside", beside);
    // A table of many or of long answers needs the whole width, and so do pictures in a row.
    this.body.classList.toggle("gk-ask-below", this.pictures.childElementCount > 0 || (grid && (hasLongLabels(parts) || parts[0].options.length > MOST_BESIDE)));
  }

  // Parts with the same options stand in one table: a chart to tick, or a word for each row.
  buildGrid(parts) {
    const head = html("tr", {}, html("td", {}), ...parts[0].options.map(({ label }) => html("th", { scope: "col" }, label)), html("td", {}));
    const rows = parts.map((part, k) => {
      const field = gridRow(part, `${this.prefix}-${k}`, () => this.changed());
      field.preview = html("div", { class: "gk-preview" });
      field.sign = html("span", { class: "gk-sign" });
      this.fields.set(part.name, field);
      field.row.append(html("td", {}, field.sign, field.preview));
      return field.row;
    });
    // Answers in words can need more than a narrow page has: there each row stands as a block, its answers below one another.
    const grid = html("table", { class: `gk-table gk-grid${hasLongLabels(parts) ? " gk-grid-words" : ""}` }, html("thead", {}, head), html("tbody", {}, ...rows));
    return html("div", { class: "gk-scroll" }, grid);
  }

  buildPart(part, k) {
    const id = `${this.prefix}-${k}`;
    const field = { text: textField, one: oneField, several: severalField, order: orderField }[part.form](part, id, () => this.changed(), () => this.check());
    field.preview = html("div", { class: "gk-preview", id: `${id}-preview` });
    field.sign = html("span", { class: "gk-sign" });
    this.fields.set(part.name, field);
    return html("div", { class: `gk-part gk-part-${part.form}` }, field.row, field.sign, field.preview);
  }

  showGiven() {
    const given = this.get("given");
    // A field that says so already is left as it is: with the blank that somebody has just typed, and the caret.
    for (const [name, field] of this.fields) if (field.get() !== (given[name] ?? "")) field.set(given[name] ?? "");
  }

  showPreview() {
    const preview = this.get("preview");
    for (const [name, field] of this.fields) {
      const { html: reading, trouble } = preview[name] || { html: "", trouble: "" };
      const key = `${reading}|${trouble}`;
      if (field.previewKey === key) continue;
      field.previewKey = key;
      field.preview.replaceChildren();
      if (trouble) field.preview.append(html("span", { class: "gk-trouble" }, trouble));
      else if (reading && field.showsReading) {
        const shown = html("span", {});
        shown.innerHTML = reading;
        field.preview.append(html("span", { class: "gk-unit" }, say("read as"), " "), shown);
      }
    }
  }

  showFeedback() {
    const feedback = this.get("feedback");
    const key = JSON.stringify(feedback);
    if (key === this.feedbackKey) return;
    this.feedbackKey = key;
    this.status.replaceChildren();
    for (const field of this.fields.values()) setText(field.sign, "");
    this.status.className = `gk-feedback gk-feedback-${feedback.kind || "none"}`;
    if (!feedback.verdict) return;
    const words = html("div", {});
    words.innerHTML = feedback.comment;
    this.status.append(html("p", { class: "gk-verdict" }, `${SIGNS[feedback.kind]} ${feedback.verdict} · ${feedback.score}`), words);
    if (feedback.demands.length) {
      this.status.append(html("ul", { class: "gk-demands" }, ...feedback.demands.map(({ label, kind }) => html("li", {},
        html("span", { class: `gk-sign gk-sign-${kind}` }, SIGNS[kind]), html("span", { class: "gk-only-read" }, `${kindWords(kind)}: `), ` ${label}`))));
    } else if (this.fields.size > 1) {
      for (const [name, field] of this.fields) {
        const kind = feedback.parts[name];
        field.sign.replaceChildren(SIGNS[kind] || "", html("span", { class: "gk-only-read" }, ` ${kind ? kindWords(kind) : ""}`));
        field.sign.className = `gk-sign gk-sign-${kind}`;
      }
    }
  }
}

// What is read out for a sign.
function kindWords(kind) {
  return { right: say("right"), wrong: say("wrong"), unreadable: say("unreadable"), missing: say("missing") }[kind];
}

function hasLongLabels(parts) { return parts[0].options.some(({ label }) => label.length > SHORT_LABEL); }

function isGrid(parts) {
  const same = (part) => JSON.stringify(part.options) === JSON.stringify(parts[0].options) && part.form === parts[0].form;
  return parts.length > 2 && ["one", "several"].includes(parts[0].form) && parts.every(same);
}

function gridRow(part, id, changed) {
  const kind = part.form === "one" ? "radio" : "checkbox";
  const boxes = part.options.map(({ value, label }, k) => {
    const box = guardKeys(html("input", { type: kind, id: `${id}-${k}`, name: id, "aria-label": `${part.label}: ${label}` }));
    box.addEventListener("change", changed);
    return { value, box };
  });
  // The word beside a box is seen only where the head of the table is not; the box has it in its name already.
  const cells = boxes.map(({ box }, k) => html("td", { class: "gk-mark-cell" },
    box, html("label", { class: "gk-mark-word", for: box.id, "aria-hidden": "true" }, part.options[k].label)));
  const row = html("tr", {}, html("th", { scope: "row" }, part.label), ...cells);
  return {
    row, showsReading: false,
    get: () => boxes.filter(({ box }) => box.checked).map(({ value }) => value).join(", "),
    set: (text) => {
      const chosen = new Set(kind === "radio" ? [text] : text.split(",").map((word) => word.trim()));
      for (const { value, box } of boxes) box.checked = chosen.has(value);
    },
  };
}

function textField(part, id, changed, check) {
  const { row, box } = textBox({ id, label: part.label, unit: part.unit, placeholder: part.write, size: 26, describedBy: `${id}-preview` }, changed, check);
  return { row, showsReading: true, get: () => box.value.trim(), set: (text) => { if (box.value !== text) box.value = text; } };
}

function oneField(part, id, changed) {
  const control = choice({ id, legend: part.label, choices: part.options.map(({ value, label }) => [value, label]), value: null }, changed);
  return { row: control.row, showsReading: false, get: () => control.get() || "", set: (text) => control.set(text) };
}

function severalField(part, id, changed) {
  // Whoever finds that nothing fits has to be able to say so: a form without a tick is one that was not filled in.
  const nothing = part.options.some(({ value }) => value === NOTHING) ? [] : [{ value: NOTHING, label: say("None of these") }];
  const ticked = (value, tick) => {
    if (tick.box.checked) for (const other of boxes) if ((other.value === NOTHING) !== (value === NOTHING)) other.tick.set(false);
    changed();
  };
  const boxes = [...part.options, ...nothing].map(({ value, label }, k) => {
    const tick = tickBox({ id: `${id}-${k}`, label }, () => ticked(value, tick));
    return { value, tick };
  });
  const row = html("fieldset", { class: "gk-choice" }, html("legend", {}, part.label), html("div", { class: "gk-options" }, ...boxes.map(({ tick }) => tick.row)));
  return {
    row, showsReading: false,
    get: () => boxes.filter(({ tick }) => tick.box.checked).map(({ value }) => value).join(", "),
    set: (text) => {
      const chosen = new Set(text.split(",").map((word) => word.trim()));
      for (const { value, tick } of boxes) tick.set(chosen.has(value));
    },
  };
}

// An order is made with two buttons an entry, which work with the keyboard as well as with a pointer.
function orderField(part, id, changed) {
  const list = html("ol", { class: "gk-order", "aria-label": part.label });
  const said = html("span", { class: "gk-only-read", role: "status", "aria-live": "polite" });
  let order = part.options.map((option) => option.value);
  let touched = false;
  const move = (place, by) => {
    const to = place + by;
    if (to < 0 || to >= order.length) return;
    [order[place], order[to]] = [order[to], order[place]];
    touched = true;
    show();
    const target = list.children[to].querySelectorAll("button")[by < 0 ? 0 : 1];
    (target.disabled ? list.children[to].querySelector("button:not(:disabled)") : target).focus();
    setText(said, say("{entry} is now number {place}", { entry: labelOf(order[to]), place: to + 1 }));
    changed();
  };
  const labelOf = (value) => part.options.find((option) => option.value === value).label;
  const show = () => {
    list.replaceChildren(...order.map((value, place) => {
      const up = button("↑", () => move(place, -1));
      const down = button("↓", () => move(place, 1));
      up.setAttribute("aria-label", say("Move {entry} up", { entry: labelOf(value) }));
      down.setAttribute("aria-label", say("Move {entry} down", { entry: labelOf(value) }));
      up.disabled = place === 0;
      down.disabled = place === order.length - 1;
      return html("li", {}, html("div", { class: "gk-order-row" }, html("span", {}, labelOf(value)), html("span", { class: "gk-order-moves" }, up, down)));
    }));
  };
  show();
  const row = html("div", { class: "gk-choice" }, html("div", { class: "gk-legend" }, part.label), list, said);
  return {
    row, showsReading: true,
    get: () => (touched ? order.join(", ") : ""),
    set: (text) => {
      const given = text.split(",").map((word) => word.trim()).filter(Boolean);
      touched = given.length === order.length && given.every((value) => order.includes(value));
      if (touched && given.join() !== order.join()) { order = given; show(); }
    },
  };
}

export default {
  render({ model, el }) {
    const panel = new ExercisePanel(model, el);
    return () => panel.close();
  },
};

