// The panel of a whole train: apply elements, see the state, every speed, the levers and the sets turning.
// In a prediction panel the result of a combination stays shut until something was predicted for it.

import { Crank } from "./turning.js";
import { FrontView } from "./front_view.js";
import { Gate } from "./gate.js";
import { leversOfTrain } from "./levers.js";
import { PanelModel } from "./panel_model.js";
import { PredictionBox } from "./prediction.js";
import { ShaftTable } from "./shaft_table.js";
import { elementControls } from "./element_row.js";
import { sliderWithBox } from "./controls.js";
import { BESIDE, fitDrawing, freshPrefix, heading, html, scrollable, setText } from "./dom.js";
import { shown } from "./exact.js";
import { singleSetGeometry } from "./gear_outline.js";
import { appliedWords, caseOf, combinationKey, kindOf, rangeOf, stateWords } from "./layout_cases.js";
import { Memory, noteOf, working } from "./one_way.js";
import { beside, caseWord, directionWord, ratioText, ratioWords } from "./one_set_cases.js";
import { setWords } from "./members.js";
import { showPlates } from "./plates.js";
import { withTrainChoice } from "./train_choice.js";
import { MEANS, RANGE } from "./verdicts.js";
import { say } from "./words.js";

const STATE = ["engaged", "input_speed", "opened", "prediction"];
const MEMBERS = ["sun", "carrier", "ring"];
const KINDS = ["forward", "reverse", ...Object.keys(MEANS).filter((verdict) => verdict !== RANGE)];

class LayoutPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.train = model.get("train");
    this.memory = new Memory(this.train);
    this.tried = new Map();
    this.kept = new Map();
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.crank = new Crank(this.prefix, (turns) => this.turnTo(turns));
    this.buildElements();
    this.buildPictures();
    this.buildChart();
    this.shafts = new ShaftTable(this.train, say("Shafts and their speeds"), [say("× input"), say("r/min"), say("Direction"), say("Turns so far")]);
    this.gate = new Gate(this.state, () => caseOf(this.key()));
    if (model.get("gated")) this.prediction = new PredictionBox(this.prefix, this.gate.handlers());
    element.append(this.frame());
    this.listen();
    this.update();
    this.showDrawing();
    // What the chart's ranges look like comes when the panel stands, so that it need not be waited for later.
    if (!model.get("gated")) requestAnimationFrame(() => setTimeout(() => this.state.send({ do: "ranges" })));
  }

  get(name) { return this.state.get(name); }

  set(changes) { this.state.set(changes); }

  frame() {
    const title = this.get("title");
    const tables = html("div", { class: "gk-tables" }, scrollable(html("div", { class: "gk-scroll" }, this.chart)), scrollable(html("div", { class: "gk-scroll" }, this.shafts.table)));
    return html("section", { class: "gk-panel gk-layout", "aria-label": title }, ...heading(this.state),
      this.beside = html("div", { class: "gk-beside" }, html("div", {}, this.elementRow, this.rangeRow, this.status, this.prediction ? this.prediction.row : null), this.stick),
      html("figure", { class: "gk-lever-figure-box" }, this.levers.element), this.fronts, this.crank.row, this.speed.row,
      tables, this.why, this.prediction ? this.prediction.historyRow : this.triedRow);
  }

  buildElements() {
    Object.assign(this, elementControls(this.train, this.state, this.memory, this.prefix));
    this.speed = sliderWithBox({ id: `${this.prefix}-speed`, label: say("Input speed"), unit: say("r/min"), min: 0, max: 3000, step: 50, value: this.get("input_speed") },
      (value) => this.set({ input_speed: value }));
  }

  buildPictures() {
    this.stick = scrollable(html("figure", { class: "gk-drawing" }));
    this.whyText = html("div", { class: "gk-story" });
    this.why = html("details", { class: "gk-history" }, html("summary", {}, say("Why? Step by step")), this.whyText);
    this.levers = leversOfTrain(this.train);
    this.views = this.train.sets.map((set) => {
      const view = new FrontView({ small: true, codes: set.codes });
      view.setGeometry(set.front ? singleSetGeometry(...set.front) : set.geometry);
      return view;
    });
    this.fronts = html("div", { class: "gk-fronts" }, ...this.views.map((view, k) => html("figure", {},
      html("figcaption", {}, setWords(this.train.sets[k].name)), view.svg)),
      this.colours = html("p", { class: "gk-note" }, say("Each colour is one shaft, as in the stick diagram; what never turns has no colour.")));
  }

  buildChart() {
    const names = this.train.elements.map((element) => element.name);
    const head = [say("Range"), ...names, say("Ratio")].map((word) => html("th", { scope: "col", class: names.includes(word) ? "gk-mark-cell" : null }, word));
    this.chartRows = this.train.ranges.map((item) => {
      const ratio = html("td", { class: "gk-number" });
      const marks = names.map((name) => (item.engaged.includes(name) ? html("td", { class: "gk-mark-cell" }, "●", html("span", { class: "gk-only-read" }, ` ${say("applied")}`)) : html("td", { class: "gk-mark-cell" })));
      const row = html("tr", {}, html("th", { scope: "row" }, item.name), ...marks, ratio);
      return { item, row, ratio, key: combinationKey(this.train, new Set(item.engaged)) };
    });
    this.chart = html("table", { class: "gk-table" }, html("caption", {}, say("Application chart")), html("thead", {}, html("tr", {}, ...head)),
      html("tbody", {}, ...this.chartRows.map(({ row }) => row)));
    this.triedBody = html("tbody", {});
    this.triedRow = html("details", { class: "gk-history" }, html("summary", {}, say("Combinations tried")),
      html("table", { class: "gk-table" }, html("thead", {}, html("tr", {}, ...[say("Applied"), say("State"), say("Ratio"), say("Range")].map((word) => html("th", { scope: "col" }, word)))), this.triedBody));
  }

  listen() {
    this.state.listen(STATE, () => this.update());
    this.state.listen(["history"], () => this.prediction && this.prediction.showHistory(this.get("history")));
    this.state.listen(["drawing", "story"], () => this.showDrawing());
    this.state.listenToMessages(({ range, drawing, story }) => { if (drawing) this.kept.set(range, { drawing, story }); });
  }

  close() {
    this.crank.setRunning(false);
    this.state.close();
  }

  key() { return combinationKey(this.train, new Set(this.get("engaged"))); }

  update() {
    const engaged = new Set(this.get("engaged"));
    const key = this.key();
    this.open = this.gate.isOpen(caseOf(key));
    const state = working(this.memory, engaged);
    this.working = state.engaged;
    this.outcome = { ...state.mobility, note: noteOf(this.memory, state) };
    this.outcome.word = kindOf(this.outcome);
    for (const [name, tick] of this.ticks) tick.set(engaged.has(name));
    this.speed.set(this.get("input_speed"));
    const names = rangeOf(this.train, key);
    this.rangeButtons.forEach((node, k) => node.setAttribute("aria-pressed", String(names.includes(this.train.ranges[k].name))));
    const words = this.words(key);
    setText(this.status, words);
    this.showSpeeds(words);
    if (this.kept.has(key)) this.showDrawing();
    else if (this.stick.isConnected) this.showPlates();
    this.showChart(key);
    if (this.prediction) this.showPrediction();
    else this.noteTried(key);
    this.turnTo(this.crank.turns);
  }

  words(key) {
    const applied = appliedWords(key);
    if (!this.open) return `${applied}. ${say("What will input and output do?")}`;
    return `${applied}: ${stateWords(this.train, key, this.outcome)}`;
  }

  showSpeeds(words) {
    const times = this.outcome.speeds.map((speed) => (speed === null || !this.open ? null : speed.toNumber()));
    this.times = times;
    this.levers.draw(Object.fromEntries(times.map((speed, number) => [number, speed])));
    this.levers.describe(`${say("Lever diagram, speeds as multiples of the input's.")} ${words}`);
    const unknown = this.open ? say("free") : "?";
    this.colours.hidden = !this.open;
    this.shafts.show((number) => {
      const value = times[number];
      return value === null ? [unknown, unknown, unknown] : [shown(value), shown(value * this.get("input_speed"), 1), say(directionWord(value))];
    });
    this.views.forEach((view, k) => {
      const set = this.train.sets[k];
      const speeds = this.membersOf(set, (shaft) => times[shaft]);
      view.setSpeeds(speeds);
      view.setRoles(this.rolesOf(speeds));
      view.describe(`${say("Front view of {set}.", { set: setWords(set.name) })} ${MEMBERS.map((member) => `${say(member)} ${speeds[member] === null ? unknown : say(directionWord(speeds[member]))}`).join(", ")}.`);
    });
    const fastest = Math.max(1, ...times.map((speed) => Math.abs(speed ?? 0)));
    this.crank.setPace(fastest);
    const still = !this.open || !times[this.train.input];
    this.crank.press.disabled = still;
    if (still) this.crank.setRunning(false);
  }

  membersOf(set, value) {
    return Object.fromEntries(MEMBERS.map((member, k) => [member, value(set.shafts[k])]));
  }

  rolesOf(speeds) {
    const roles = {};
    for (const member of MEMBERS) {
      if (speeds[member] === null) roles[member] = this.open ? "free" : "hidden";
      else roles[member] = speeds[member] === 0 ? "held" : "plain";
    }
    return roles;
  }

  // A range that was sent before is there at once; anything else waits for the kernel.
  showDrawing() {
    const { drawing, story } = this.kept.get(this.key()) || { drawing: this.get("drawing"), story: this.get("story") };
    if (drawing !== this.drawingShown) {
      this.stick.innerHTML = drawing;
      this.beside.classList.toggle("gk-wide-drawing", fitDrawing(this.stick) > BESIDE);
    }
    if (story !== this.storyShown) this.whyText.innerHTML = story;
    [this.drawingShown, this.storyShown] = [drawing, story];
    this.why.hidden = !story;
    this.showPlates();
  }

  // The kernel's drawing shows everything, and comes a moment later; until then the plates are closed or opened here.
  showPlates() {
    showPlates(this.stick, this.open ? this.working : this.get("engaged"));
  }

  showChart(key) {
    for (const { item, row, ratio, key: own } of this.chartRows) {
      row.classList.toggle("gk-now", own === key);
      if (!this.gate.isOpen(caseOf(own))) { setText(ratio, "?"); continue; }
      const state = working(this.memory, item.engaged);
      setText(ratio, state.ratio ? shown(state.ratio) : say(state.verdict));
    }
  }

  noteTried(key) {
    if (this.tried.has(key) || !key) return;
    this.tried.set(key, true);
    const cells = [key, say(this.outcome.verdict === RANGE ? caseWord(this.outcome) : this.outcome.verdict),
      this.outcome.ratio ? ratioText(this.outcome.ratio) : "–", rangeOf(this.train, key).join(", ") || "–"];
    this.triedBody.append(html("tr", {}, ...cells.map((text) => html("td", {}, text))));
  }

  turnTo(turns) {
    const told = (value) => (value === null ? "–" : shown(value * turns, 2));
    this.shafts.show((number) => [undefined, undefined, undefined, told(this.times[number])]);
    this.views.forEach((view, k) => view.setTurns(this.membersOf(this.train.sets[k],
      (shaft) => (this.times[shaft] === null ? null : this.times[shaft] * turns))));
  }

  showPrediction() {
    this.prediction.ask({ legend: say("The output: I predict"), kinds: KINDS, without: KINDS.slice(2), figure: say("Ratio"), placeholder: say("as 7/4 or 1.75") });
    const { word, ratio } = this.outcome;
    this.prediction.show(this.open, beside(this.gate.saidNow(), word, ratio, ratio && ratioWords(ratio)), this.get("history"), this.gate.afterword());
  }
}

export default {
  render({ model, el }) {
    return withTrainChoice(LayoutPanel, model, el);
  },
};
