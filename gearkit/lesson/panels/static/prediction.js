// The prediction: entered before the reveal, kept, shown beside what was found, and never marked for being right.

import { button, choice, textBox } from "./controls.js";
import { html, setText } from "./dom.js";
import { readNumber, shown } from "./exact.js";
import { CASE_WORDS, caseWord, comparison, directionWord, ratioWords } from "./one_set_cases.js";

const WITHOUT_RATIO = new Set(["neutral", "tie-up", "input locked", "output locked"]);

export class PredictionBox {
  // mode: "ranges" or "speeds" (one set), "layout" (a whole train)
  constructor(prefix, mode, onPredict, onExplain, onAgain) {
    this.mode = mode;
    this.onPredict = onPredict;
    const words = { ranges: CASE_WORDS, speeds: ["forward", "stopped", "reverse"], layout: ["forward", "reverse", "neutral", "tie-up", "input locked", "output locked"] }[mode];
    const legend = { ranges: "I predict", speeds: "The third member turns", layout: "The output: I predict" }[mode];
    this.kind = choice({ id: `${prefix}-kind`, legend, choices: words.map((word) => [word, word]), value: null }, () => this.kindChanged());
    this.trouble = html("p", { class: "gk-trouble", id: `${prefix}-trouble`, role: "alert" });
    const figure = mode === "speeds" ? { label: "at a speed of", unit: "r/min", placeholder: "400" } : { label: "Ratio", placeholder: "19/6 or 3.17" };
    this.figure = textBox({ id: `${prefix}-figure`, describedBy: `${prefix}-trouble`, ...figure }, null, () => this.submit());
    this.reveal = button("Keep my prediction and reveal", () => this.submit(), "gk-primary");
    this.asking = html("div", { class: "gk-asking" }, this.kind.row, html("div", { class: "gk-line" }, this.figure.row, this.reveal), this.trouble);
    this.buildAnswered(prefix, onExplain, onAgain);
    this.row = html("div", { class: "gk-prediction" }, this.heading = html("h4", {}, "Predict first"), this.asking, this.answered);
    this.historyRow = html("details", { class: "gk-history" }, html("summary", {}, "My predictions so far"), this.historyList = html("ol", {}));
    this.historyRow.hidden = true;
  }

  buildAnswered(prefix, onExplain, onAgain) {
    this.verdict = html("p", { class: "gk-verdict", role: "status", "aria-live": "polite" });
    this.reason = textBox({ id: `${prefix}-reason`, label: "What did my guess take for granted?", size: 44 }, null, () => this.keepReason());
    this.kept = html("span", { class: "gk-kept", role: "status" });
    this.onExplain = onExplain;
    this.again = button("Predict again", onAgain);
    this.answered = html("div", { class: "gk-answered" }, this.verdict,
      html("div", { class: "gk-line" }, this.reason.row, button("Keep", () => this.keepReason()), this.kept), this.again);
  }

  kindChanged() {
    const without = WITHOUT_RATIO.has(this.kind.get()) || this.kind.get() === "stopped" || this.kind.get() === "direct";
    this.figure.box.disabled = without;
    setText(this.trouble, "");
  }

  submit() {
    const kind = this.kind.get();
    if (!kind) return this.complain("Choose what the output will do first.", this.kind.row.querySelector("input"));
    const said = { kind, figure: "" };
    if (!this.figure.box.disabled) {
      const read = readNumber(this.figure.box.value);
      if (read.trouble) return this.complain(read.trouble, this.figure.box);
      said.figure = read.value.toString();
      said.typed = this.figure.box.value.trim();
    }
    setText(this.trouble, "");
    this.onPredict(said);
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
    this.onExplain(text);
    setText(this.kept, "Kept in your record.");
  }

  // found: what the train does; said: the prediction for the case at hand; history: those kept so far, in words.
  show(open, found, said, history) {
    this.asking.hidden = open;
    this.answered.hidden = !open;
    setText(this.heading, open ? "Your prediction" : "Predict first");
    if (!open && this.wasOpen) this.clear();
    this.wasOpen = open;
    if (open) setText(this.verdict, said ? this.compare(found, said) : "");
    this.showHistory(history);
  }

  clear() {
    this.kind.set(null);
    this.figure.box.value = "";
    this.figure.box.disabled = false;
    this.reason.box.value = "";
    setText(this.kept, "");
  }

  compare(found, said) {
    const wasSpeed = this.mode === "speeds";
    const truth = wasSpeed ? directionWord(found.speeds[found.third]) : found.word || caseWord(found);
    const value = wasSpeed ? found.speeds[found.third] : found.ratio;
    const guess = said.figure ? readNumber(said.figure).value : null;
    const predicted = `You predicted: ${said.kind}${said.figure ? `, ${said.typed || said.figure}` : ""}. `;
    const foundWords = wasSpeed ? `${truth}, ${shown(Math.abs(value.toNumber()), 1)} r/min` : `${truth}${value ? `, ${ratioWords(value)}` : ""}`;
    const size = wasSpeed && value && value.sign < 0 && guess && guess.sign > 0 ? value.negated() : value;
    const measure = guess && size ? ` On the figure: ${comparison(guess, size)}.` : "";
    return `${predicted}Found: ${foundWords}.${said.kind === truth ? " The kind agrees." : ""}${measure}`;
  }

  showHistory(history) {
    this.historyRow.hidden = history.length === 0;
    if (this.historyList.childElementCount === history.length) return;
    this.historyList.replaceChildren(...history.map((entry) => html("li", {}, entry)));
  }
}
