// The shift panel: two ranges, or a neutral and a range at standstill; an input speed and how far the shift has gone; speeds, slip and levers follow at once.

import { leversOfTrain, roundScale } from "./levers.js";
import { Memory } from "./one_way.js";
import { PanelModel } from "./panel_model.js";
import { ShaftTable } from "./shaft_table.js";
import { choice, sliderWithBox } from "./controls.js";
import { fitDrawing, freshPrefix, heading, html, scrollable, setText } from "./dom.js";
import { Exact, listed, shown } from "./exact.js";
import { overlapWords, settledOnTheWay, shiftOf, speedsAt, underlapWords } from "./shifts.js";
import { showPlates } from "./plates.js";
import { withTrainChoice } from "./train_choice.js";
import { later, say, sayN } from "./words.js";

const HEAD = [later("Element"), later("In this shift"), later("Slip before"), later("Slip now"), later("Slip after")];
const START = new Exact(0n);
const END = new Exact(1n);

class ShiftPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.train = this.state.get("train");
    this.memory = new Memory(this.train);
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.buildControls();
    this.buildPictures();
    this.buildTables();
    element.append(this.frame());
    this.state.listen(["from_range", "to_range", "input_speed", "progress"], () => this.update());
    this.update();
  }

  get(name) { return this.state.get(name); }

  buildControls() {
    const choices = (names) => this.train.ranges.filter(({ name }) => names.includes(name)).map(({ name }) => [name, name]);
    const { neutral, forward, reverse } = this.get("choices");
    this.from = choice({ id: `${this.prefix}-from`, legend: say("From range"), choices: choices([...neutral, ...forward]), value: this.get("from_range") }, (name) => this.takeRange("from_range", name));
    this.to = choice({ id: `${this.prefix}-to`, legend: say("To range"), choices: choices([...forward, ...reverse]), value: this.get("to_range") }, (name) => this.takeRange("to_range", name));
    this.speed = sliderWithBox({ id: `${this.prefix}-speed`, label: say("Input speed before"), unit: say("r/min"), min: 500, max: 6000, step: 50, value: this.get("input_speed") },
      (value) => this.state.set({ input_speed: value }));
    this.progress = sliderWithBox({ id: `${this.prefix}-progress`, label: say("Shift done"), unit: "%", min: 0, max: 100, step: 1, value: this.get("progress") },
      (value) => this.state.set({ progress: value }));
  }

  // Two ranges between which there is a shift, at any time: choosing the other's takes what this one had, and where that is
  // no shift either, the first with which there is one. Into reverse leads only a neutral, with the vehicle standing.
  takeRange(name, range) {
    const { neutral, forward, reverse } = this.get("choices");
    const other = name === "from_range" ? "to_range" : "from_range";
    const fits = (partner) => {
      const [from, to] = name === "from_range" ? [range, partner] : [partner, range];
      return neutral.includes(from) ? !neutral.includes(to) : forward.includes(from) && forward.includes(to) && from !== to;
    };
    const partners = name === "from_range" ? [...forward, ...reverse] : [...forward, ...neutral];
    this.state.set({ [name]: range, [other]: [this.get(other), this.get(name), ...partners].find(fits) });
  }

  buildPictures() {
    this.stick = scrollable(html("figure", { class: "gk-drawing" }));
    this.stick.innerHTML = this.get("drawing");
    fitDrawing(this.stick);
    this.levers = leversOfTrain(this.train);
    this.overlap = html("dd", {});
    this.underlap = html("dd", {});
    this.note = html("p", { class: "gk-note" });
  }

  buildTables() {
    this.rows = this.train.elements.map((element) => {
      const cells = HEAD.slice(1).map(() => html("td", { class: "gk-number" }));
      return { element, cells, row: html("tr", {}, html("th", { scope: "row" }, `${element.name} ${say(element.kind)}`), ...cells) };
    });
    this.table = html("table", { class: "gk-table" }, html("caption", {}, say("Elements; slip in r/min, first part less second")),
      html("thead", {}, html("tr", {}, ...HEAD.map((word) => html("th", { scope: "col" }, say(word))))), html("tbody", {}, ...this.rows.map(({ row }) => row)));
    this.shafts = new ShaftTable(this.train, say("Shafts and their speeds in r/min"), [say("Before"), say("Now"), say("After")]);
  }

  frame() {
    const title = this.get("title");
    const badly = html("dl", { class: "gk-timing" }, html("dt", {}, say("If both hold for a moment")), this.overlap, html("dt", {}, say("If neither holds for a moment")), this.underlap);
    return html("section", { class: "gk-panel gk-shifts", "aria-label": title }, ...heading(this.state),
      this.from.row, this.to.row, this.status, html("figure", { class: "gk-lever-figure-box" }, this.levers.element),
      html("div", { class: "gk-controls" }, this.progress.row, this.speed.row), this.note, this.stick,
      html("div", { class: "gk-tables" }, scrollable(html("div", { class: "gk-scroll" }, this.table)), scrollable(html("div", { class: "gk-scroll" }, this.shafts.table))), badly);
  }

  close() { this.state.close(); }

  update() {
    const [from, to] = [this.get("from_range"), this.get("to_range")];
    this.from.set(from);
    this.to.set(to);
    this.speed.set(this.get("input_speed"));
    this.progress.set(this.get("progress"));
    const key = `${from} ${to}`;
    if (key !== this.key) {
      const named = (name) => this.train.ranges.find((range) => range.name === name);
      this.shift = shiftOf(this.memory, named(from), named(to));
      setText(this.overlap, overlapWords(this.memory, this.shift));
      setText(this.underlap, underlapWords(this.memory, this.shift));
    }
    this.key = key;
    const at = (share) => speedsAt(this.memory, this.shift, this.get("input_speed"), share);
    const share = new Exact(BigInt(Math.round(this.get("progress"))), 100n);
    this.told = { before: at(START), now: at(share), after: at(END) };
    const words = this.words();
    setText(this.status, words);
    this.showLevers(words);
    this.showTables();
  }

  // What an element does in the shift, by its name.
  partOf(name) {
    const { offGoing, onComing, staying, lettingGo, takingHold, before, after } = this.shift;
    if (offGoing.includes(name)) return later("goes off");
    if (onComing.includes(name)) return later("comes on");
    if (staying.includes(name)) return later("stays on");
    if (lettingGo.includes(name)) return later("lets go by itself");
    if (takingHold.includes(name)) return later("takes hold by itself");
    return before.holding.includes(name) && after.holding.includes(name) ? later("holds by itself") : later("open");
  }

  words() {
    const { from, to, kind, offGoing, onComing, staying, lettingGo, takingHold } = this.shift;
    const percent = Math.round(this.get("progress"));
    const changes = [say("{off_going} off, {on_coming} on", { off_going: listed(offGoing) || say("nothing"), on_coming: listed(onComing) || say("nothing") })];
    if (lettingGo.length) changes.push(say("{letting_go} lets go by itself", { letting_go: listed(lettingGo) }));
    if (takingHold.length) changes.push(say("{taking_hold} takes hold by itself", { taking_hold: listed(takingHold) }));
    if (staying.length) changes.push(sayN("{elements} stays", "{elements} stay", staying.length, { elements: listed(staying) }));
    const [before, now, after] = ["before", "now", "after"].map((when) => shown(this.told[when].input, 0));
    const where = this.shift.standing ? say(", vehicle standing") : "";
    return say("{from} to {to}, {kind}: {changes}. {percent} % done{where}: input {now} r/min, from {before} to {after}. {slip_words}", { from, to, kind, changes: changes.join(", "), percent, where, now, before, after, slip_words: this.slipWords() });
  }

  slipWords() {
    const moving = [...this.shift.offGoing, ...this.shift.onComing];
    const told = moving.map((name) => [name, this.told.now.slips.get(name)]);
    if (!told.length) return say("No element slips on the way.");
    return say("Slip: {told}.", { told: listed(told.map(([name, slip]) => `${name} ${slip === null ? say("free") : say("{slip} r/min", { slip: shown(slip, 0) })}`)) });
  }

  showLevers(words) {
    const numbers = (when) => this.told[when].shafts.map((speed) => (speed === null ? null : speed.toNumber()));
    // One scale for the whole shift, so that only the arrows move.
    const reach = roundScale(Math.max(1, ...["before", "after"].flatMap((when) => numbers(when).map((speed) => Math.abs(speed ?? 0)))));
    this.levers.draw(Object.fromEntries(numbers("now").map((speed, number) => [number, speed])), { reach, digits: 0 });
    this.levers.describe(say("Lever diagram, speeds in r/min. {words}", { words }));
    const note = settledOnTheWay(this.shift) ? "" : say(" Two swaps at once leave one speed free: drawn as if both swaps went equally far.");
    const output = this.shift.standing ? say("Output at rest; the input comes to rest with it, and the converter ahead of it slips") : say("Output speed constant");
    setText(this.note, say("{output}; arrows in r/min. Full plates are closed, dashed ones slip.{note}", { output, note }));
  }

  showTables() {
    const slip = (when, name) => {
      const value = this.told[when].slips.get(name);
      return value === null ? say("free") : shown(value, 0);
    };
    for (const { element: { name }, cells, row } of this.rows) {
      const part = this.partOf(name);
      [say(part), slip("before", name), slip("now", name), slip("after", name)].forEach((text, k) => setText(cells[k], text));
      row.classList.toggle("gk-now", part === "goes off" || part === "comes on");
    }
    const text = (when, number) => {
      const speed = this.told[when].shafts[number];
      return speed === null ? say("free") : shown(speed, 0);
    };
    this.shafts.show((number) => ["before", "now", "after"].map((when) => text(when, number)));
    if (this.stick.isConnected) this.showPlates();
    else requestAnimationFrame(() => this.showPlates());
  }

  showPlates() {
    const { before, after } = this.shift;
    const done = this.get("progress");
    if (done <= 0 || done >= 100) { showPlates(this.stick, done <= 0 ? before.engaged : after.engaged); return; }
    const both = before.engaged.filter((name) => after.engaged.includes(name));
    showPlates(this.stick, both, [...this.shift.offGoing, ...this.shift.onComing]);
  }
}

export default {
  render({ model, el }) {
    return withTrainChoice(ShiftPanel, model, el);
  },
};
