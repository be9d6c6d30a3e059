// The prediction: entered before the reveal, kept, shown beside what was found, and never marked for being right.

import { button, choice, textBox } from "./controls.js";
import { html, setText, swapParts } from "./dom.js";
import { say } from "./words.js";

export class PredictionBox {
  // handlers: { predict(said), troubled(act), explain(text), again() }
  constructor(prefix, handlers) {
    this.prefix = prefix;
    this.handlers = handlers;
    this.trouble = html("p", { class: "gk-trouble", id: `${prefix}-trouble`, role: "alert" });
    this.figure = textBox({ id: `${prefix}-figure`, label: "", describedBy: `${prefix}-trouble` }, null, () => this.submit());
    this.figureLabel = this.figure.row.querySelector("span");
    this.unit = html("span", { class: "gk-unit" });
    this.figure.row.append(this.unit);
    this.reveal = button(say("Keep my prediction and reveal"), () => this.submit(), "gk-primary");
    this.kindPlace = html("div", {});
    this.asking = html("div", { class: "gk-asking" }, this.kindPlace, html("div", { class: "gk-line" }, this.figure.row, this.reveal), this.trouble);
    this.buildAnswered(prefix);
    handlers.troubled((words) => this.complain(words, this.figure.box));
    this.heading = html("h4", {}, say("Predict first"));
    this.row = html("div", { class: "gk-prediction" }, this.heading, this.asking, this.answered);
    this.historyList = html("ol", {});
    this.historyRow = html("details", { class: "gk-history" }, html("summary", {}, say("My predictions so far")), this.historyList);
    this.historyRow.hidden = true;
  }

  buildAnswered(prefix) {
    this.verdict = html("p", { class: "gk-verdict", role: "status", "aria-live": "polite" });
    this.reason = textBox({ id: `${prefix}-reason`, label: say("My reason for this guess"), size: 44 }, null, () => this.keepReason());
    this.kept = html("span", { class: "gk-kept", role: "status" });
    this.afterword = html("div", { class: "gk-afterword" });
    this.answered = html("div", { class: "gk-answered" }, this.verdict, this.afterword,
      html("div", { class: "gk-line" }, this.reason.row, button(say("Keep"), () => this.keepReason()), this.kept),
      button(say("Predict again"), () => this.handlers.again()));
  }

  // question: { legend, kinds, without: kinds that need no number, figure: label or "", unit, placeholder }
  ask(question) {
    const key = JSON.stringify(question);
    if (key === this.questionKey) return;
    this.questionKey = key;
    this.question = question;
    this.kind = choice({ id: `${this.prefix}-kind`, legend: question.legend, choices: question.kinds.map((word) => [word, say(word)]), value: null }, () => this.kindChanged());
    this.kindPlace.replaceChildren(this.kind.row);
    setText(this.figureLabel, question.figure || "");
    setText(this.unit, question.unit || "");
    this.figure.row.hidden = !question.figure;
    this.figure.box.placeholder = question.placeholder || "";
    this.clear();
  }

  needsFigure() {
    return Boolean(this.question.figure) && !this.question.without.includes(this.kind.get());
  }

  kindChanged() {
    this.figure.box.disabled = !this.needsFigure();
    setText(this.trouble, "");
  }

  submit() {
    const kind = this.kind.get();
    if (!kind) return this.complain(say("Choose what you expect first."), this.kind.row.querySelector("input"));
    const figure = this.needsFigure() ? this.figure.box.value.trim() : "";
    if (this.needsFigure() && !figure) return this.complain(say("Nothing is written yet."), this.figure.box);
    setText(this.trouble, "");
    this.handlers.predict({ kind, figure });
    return null;
  }

  complain(words, control) {
    setText(this.trouble, words);
    control.focus();
    return null;
  }

  keepReason() {
    const text = this.reason.box.value.trim();
    if (!text) return;
    this.handlers.explain(text);
    setText(this.kept, say("Kept in your record."));
  }

  // verdict: the prediction beside the finding, in words; history: the predictions kept so far, in words; afterword: HTML
  // from the kernel, which has made it safe.
  show(open, verdict, history, afterword) {
    if (open) swapParts(this.asking, this.answered);
    else swapParts(this.answered, this.asking);
    setText(this.heading, open ? say("Your prediction") : say("Predict first"));
    if (!open && this.wasOpen) this.clear();
    this.wasOpen = open;
    if (open) setText(this.verdict, verdict);
    if (this.said !== afterword) this.afterword.innerHTML = this.said = afterword;
    this.showHistory(history);
  }

  clear() {
    this.kind.set(null);
    this.figure.box.value = "";
    this.figure.box.disabled = false;
    this.reason.box.value = "";
    setText(this.kept, "");
    setText(this.trouble, "");
  }

  showHistory(history) {
    this.historyRow.hidden = history.length === 0;
    if (this.historyList.childElementCount === history.length) return;
    this.historyList.replaceChildren(...history.map((entry) => html("li", {}, entry)));
  }
}
