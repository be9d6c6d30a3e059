// The panel of one planetary set: roles, tooth counts and speeds in; the turning set, its lever and its speeds out.
// In a prediction panel the member that follows stays hidden until something was predicted for the case at hand.

import { Crank } from "./turning.js";
import { FrontView } from "./front_view.js";
import { Levers, leverOfSet } from "./levers.js";
import { PanelModel } from "./panel_model.js";
import { PredictionBox } from "./prediction.js";
import { choice, dropDown, sliderWithBox } from "./controls.js";
import { freshPrefix, html, scrollable, setText } from "./dom.js";
import { Gate } from "./gate.js";
import { Exact, listed, shown } from "./exact.js";
import { singleSetGeometry } from "./gear_outline.js";
import { CASE_WORDS, DIRECTIONS, JOINS, MEMBERS, beside, caseWord, directionWord, givenSpeeds, heldCase, pinionSpeed, ratioWords, withRole } from "./one_set_cases.js";
import { NEUTRAL, RANGE, TIE_UP } from "./verdicts.js";
import { later, say } from "./words.js";

const STATE = ["sun", "planet", "planets", "drive", "hold", "driven", "joined", "input_speed", "given", "second_speed", "opened", "prediction"];

class OneSetPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.mode = model.get("mode");
    this.front = new FrontView();
    this.levers = new Levers(360);
    this.crank = new Crank(this.prefix, (turns) => this.turnTo(turns));
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.assembly = html("p", { class: "gk-note" });
    this.buildControls();
    this.buildTable();
    this.gate = new Gate(this.state, () => this.caseKey());
    if (model.get("gated")) this.prediction = new PredictionBox(this.prefix, this.gate.handlers());
    element.append(this.frame());
    this.listen();
    this.update();
  }

  frame() {
    const pictures = html("div", { class: "gk-pictures" }, html("figure", {}, this.front.svg), html("figure", {}, this.levers.element));
    return html("section", { class: "gk-panel gk-one-set", "aria-label": this.get("title") },
      html("h3", { class: "gk-title" }, this.get("title")), pictures, this.crank.row,
      this.status, this.prediction ? this.prediction.row : null,
      html("div", { class: "gk-controls" }, ...this.controlRows), this.assembly,
      scrollable(html("div", { class: "gk-scroll" }, this.table)), this.prediction ? this.prediction.historyRow : null);
  }

  get(name) { return this.state.get(name); }

  set(changes) { this.state.set(changes); }

  buildControls() {
    const slider = (name, label, min, max, step, unit) => sliderWithBox(
      { id: `${this.prefix}-${name}`, label, unit, min, max, step, value: this.get(name) }, (value) => this.set({ [name]: value }));
    this.sun = slider("sun", say("Sun teeth S"), 12, 90, 1);
    this.planet = slider("planet", say("Planet teeth P"), 10, 60, 1);
    this.planets = slider("planets", say("Planets N"), 2, 6, 1);
    this.speed = slider("input_speed", say("Input speed"), -3000, 3000, 50, say("r/min"));
    const rows = [this.sun.row, this.planet.row, this.planets.row];
    const members = MEMBERS.map((member) => [member, say(member)]);
    const roles = (name, legend, choices) => choice({ id: `${this.prefix}-${name}`, legend, choices, value: this.get(name) },
      (member) => this.takeRole(name, member));
    if (this.mode === "speeds") {
      this.drive = roles("drive", say("First given speed"), members);
      this.given = roles("given", say("Second given speed"), members);
      this.second = slider("second_speed", say("Second speed"), -3000, 3000, 50, say("r/min"));
      rows.push(this.drive.row, this.given.row, this.speed.row, this.second.row);
    } else {
      this.drive = roles("drive", say("Drives"), members);
      this.hold = roles("hold", say("Held"), [...members, ["none", say("none")]]);
      this.driven = roles("driven", say("Driven"), members);
      this.join = dropDown({ id: `${this.prefix}-join`, label: say("Members joined"), choices: JOINS.map(([value, word]) => [value, say(word)]), value: this.get("joined") }, (joined) => this.set({ joined }));
      rows.push(this.drive.row, this.hold.row, this.driven.row, this.join.row, this.speed.row);
    }
    this.controlRows = rows;
  }

  takeRole(name, member) {
    if (this.mode === "speeds") {
      const other = name === "drive" ? "given" : "drive";
      this.set(this.get(other) === member ? { [name]: member, [other]: this.get(name) } : { [name]: member });
      return;
    }
    const roles = { drive: this.get("drive"), hold: this.get("hold"), driven: this.get("driven") };
    this.set(withRole(roles, name, member));
  }

  buildTable() {
    this.cells = {};
    const head = [say("Member"), say("Teeth"), say("Speed, r/min"), say("Direction"), say("Turns so far")].map((word) => html("th", { scope: "col" }, word));
    const rows = [...MEMBERS, later("planet")].map((member) => {
      const cells = ["teeth", "speed", "direction", "turns"].map((name) => [name, html("td", { class: `gk-cell-${name}` })]);
      this.cells[member] = Object.fromEntries(cells);
      return html("tr", {}, html("th", { scope: "row" }, say(member)), ...cells.map(([, cell]) => cell));
    });
    this.table = html("table", { class: "gk-table" }, html("caption", {}, say("The members of the set")),
      html("thead", {}, html("tr", {}, ...head)), html("tbody", {}, ...rows));
  }

  listen() {
    this.state.listen(STATE, () => this.update());
    this.state.listen(["history"], () => this.prediction && this.prediction.showHistory(this.get("history")));
  }

  close() {
    this.crank.setRunning(false);
    this.state.close();
  }

  // The case at hand; a prediction opens its case, and other tooth counts or speeds do not close it again.
  caseKey() {
    const [drive, hold, driven] = ["drive", "hold", "driven"].map((name) => this.get(name));
    if (this.mode === "speeds") return `${drive} and ${this.get("given")} given`;
    const joined = this.get("joined") === "none" ? "" : `, ${this.get("joined").replace(" ", " and ")} joined`;
    return `${drive} in, ${hold === "none" ? "nothing" : hold} held, ${driven} out${joined}`;
  }

  solve() {
    const weights = [this.get("sun"), this.get("sun") + 2 * this.get("planet")];
    if (this.mode === "speeds") {
      return givenSpeeds(weights, { drive: this.get("drive"), given: this.get("given"), inputSpeed: this.get("input_speed"), secondSpeed: this.get("second_speed") });
    }
    const outcome = heldCase(weights, { drive: this.get("drive"), hold: this.get("hold"), driven: this.get("driven"), joined: this.get("joined") });
    const speed = Exact.of(this.get("input_speed"));
    const times = (value) => (value === null ? null : value.times(speed));
    return { ...outcome, third: this.get("driven"), speeds: { sun: times(outcome.speeds.sun), carrier: times(outcome.speeds.carrier), ring: times(outcome.speeds.ring) } };
  }

  update() {
    this.showControls();
    this.showTeeth();
    this.outcome = this.solve();
    const open = this.gate.isOpen();
    this.shown = { ...this.outcome.speeds };
    if (!open) {
      // Until a prediction is made, only what was given is shown.
      const told = this.mode === "speeds" ? [this.get("drive"), this.get("given")] : [this.get("drive"), this.get("hold")];
      for (const member of MEMBERS) if (!told.includes(member)) this.shown[member] = null;
    }
    this.showRoles(open);
    this.showSpeeds(open);
    if (this.prediction) this.showPrediction(open);
    setText(this.status, this.words(open));
    this.turnTo(this.crank.turns);
  }

  showControls() {
    for (const [name, control] of [["sun", this.sun], ["planet", this.planet], ["planets", this.planets], ["input_speed", this.speed], ["second_speed", this.second]]) {
      if (control) control.set(this.get(name));
    }
    for (const [name, control] of [["drive", this.drive], ["given", this.given], ["hold", this.hold], ["driven", this.driven], ["joined", this.join]]) {
      if (control) control.set(this.get(name));
    }
  }

  showTeeth() {
    const [sun, planet, planets] = [this.get("sun"), this.get("planet"), this.get("planets")];
    const key = `${sun} ${planet} ${planets}`;
    if (key === this.teethKey) return;
    this.teethKey = key;
    const ring = sun + 2 * planet;
    this.front.setGeometry(singleSetGeometry(sun, planet, planets));
    this.levers.setLevers([leverOfSet(say("speeds, r/min"), [sun, ring])]);
    const places = (sun + ring) / planets;
    const fits = Number.isInteger(places);
    const told = { sun, planet, ring, both: sun + ring, planets, places: shown(places, 2) };
    setText(this.assembly, fits
      ? say("Ring teeth R = S + 2P = {sun} + 2 × {planet} = {ring}. Assembly: (S + R)/N = {both}/{planets} = {places}, a whole number: the planets fit at equal spacing.", told)
      : say("Ring teeth R = S + 2P = {sun} + 2 × {planet} = {ring}. Assembly: (S + R)/N = {both}/{planets} = {places}, not a whole number: the planets do not fit at equal spacing; they are drawn in the nearest places that do.", told));
    for (const [member, teeth] of [["sun", sun], ["ring", ring], ["planet", planet], ["carrier", say("no teeth")]]) setText(this.cells[member].teeth, String(teeth));
  }

  showRoles(open) {
    const roles = {};
    const third = this.mode === "speeds" ? this.outcome.third : this.get("driven");
    for (const member of MEMBERS) {
      if (member === this.get("drive")) roles[member] = "in";
      else if (this.mode === "speeds") roles[member] = member === this.get("given") ? "turned" : "out";
      else if (member === this.get("hold")) roles[member] = "held";
      else roles[member] = member === third ? "out" : "free";
      if (!open && this.shown[member] === null) roles[member] = "hidden";
    }
    if (this.mode === "speeds" && this.get("second_speed") === 0) roles[this.get("given")] = "held";
    this.front.setRoles(roles);
  }

  showSpeeds(open) {
    const numbers = {};
    for (const member of MEMBERS) numbers[member] = this.shown[member] === null ? null : this.shown[member].toNumber();
    const planet = open ? pinionSpeed(this.get("sun"), this.get("planet"), this.outcome.speeds) : null;
    numbers.planet = planet === null ? null : planet.toNumber();
    this.numbers = numbers;
    this.levers.draw({ sun: numbers.sun, carrier: numbers.carrier, ring: numbers.ring }, { withoutLine: !open });
    this.front.setSpeeds(numbers);
    for (const member of [...MEMBERS, "planet"]) {
      const speed = numbers[member];
      const unknown = open ? say("free") : "?";
      setText(this.cells[member].speed, speed === null ? unknown : shown(speed, 1));
      setText(this.cells[member].direction, speed === null ? unknown : say(directionWord(speed)));
    }
    this.reference = numbers[this.get("drive")] || (this.mode === "speeds" ? numbers[this.get("given")] : 0) || 0;
    const fastest = Math.max(...MEMBERS.map((member) => Math.abs(numbers[member] ?? 0)));
    this.crank.setPace(this.reference ? fastest / Math.abs(this.reference) : 1);
    const still = this.outcome.verdict === TIE_UP || !this.reference;
    this.crank.setReference(say("Turns of the {member}", { member: say(numbers[this.get("drive")] ? this.get("drive") : this.get("given")) }));
    this.crank.press.disabled = still;
    if (still) this.crank.setRunning(false);
    const words = this.words(open);
    this.front.describe(`${say("Front view.")} ${words}`);
    this.levers.describe(`${say("Lever diagram.")} ${words}`);
  }

  turnTo(turns) {
    const told = {};
    for (const member of [...MEMBERS, "planet"]) {
      const speed = this.numbers[member];
      told[member] = speed === null || !this.reference ? (speed === null ? null : 0) : (speed / Math.abs(this.reference)) * turns;
      setText(this.cells[member].turns, told[member] === null ? "–" : shown(told[member], 2));
    }
    this.front.setTurns(told);
  }

  words(open) {
    const [drive, hold] = [this.get("drive"), this.get("hold")];
    const speed = (member) => {
      const value = this.outcome.speeds[member];
      if (value === null) return say("{member} free", { member: say(member) });
      if (value.isZero) return say("{member} stopped", { member: say(member) });
      const told = { member: say(member), direction: say(directionWord(value)), speed: shown(Math.abs(value.toNumber()), 1) };
      return say("{member} {direction} at {speed} r/min", told);
    };
    if (this.mode === "speeds") {
      const given = `${speed(drive)}, ${speed(this.get("given"))}`;
      return open ? say("Given: {given}. It follows: {third}.", { given, third: speed(this.outcome.third) })
        : say("Given: {given}. What does the {member} do?", { given, member: say(this.outcome.third) });
    }
    const held = hold === "none" ? say("nothing held") : say("{member} held", { member: say(hold) });
    const pair = this.get("joined").split(" ").map((member) => say(member));
    const joined = this.get("joined") === "none" ? "" : `, ${say("{pair} joined", { pair: listed(pair) })}`;
    const told = say("{member} drives, {rest}", { member: say(drive), rest: `${held}${joined}` });
    const start = `${told[0].toUpperCase()}${told.slice(1)}`;
    const driven = { member: say(this.get("driven")) };
    if (!open) return `${start}. ${say("What does the {member} do?", driven)}`;
    const result = { [NEUTRAL]: `${say(NEUTRAL)}: ${say("the {member} is free of the input.", driven)}`, [TIE_UP]: `${say(TIE_UP)}: ${say("nothing can turn.")}`,
      [RANGE]: this.outcome.ratio && `${say(caseWord(this.outcome))}, ${ratioWords(this.outcome.ratio)}; ${speed(this.get("driven"))}.` }[this.outcome.verdict];
    return `${start}: ${result}`;
  }

  showPrediction(open) {
    const speeds = this.mode === "speeds";
    this.prediction.ask(speeds
      ? { legend: say("The {member} turns", { member: say(this.outcome.third) }), kinds: DIRECTIONS, without: ["stopped"], figure: say("at a speed of"), unit: say("r/min"), placeholder: say("a number") }
      : { legend: say("I predict"), kinds: CASE_WORDS, without: ["direct", NEUTRAL, TIE_UP], figure: say("Ratio"), placeholder: say("as 7/4 or 1.75") });
    const value = speeds ? this.outcome.speeds[this.outcome.third] : this.outcome.ratio;
    const size = speeds && value.sign < 0 ? value.negated() : value;
    const verdict = speeds ? beside(this.gate.saidNow(), directionWord(value), size, say("{speed} r/min", { speed: shown(size, 1) }))
      : beside(this.gate.saidNow(), caseWord(this.outcome), value, value && ratioWords(value));
    this.prediction.show(open, verdict, this.get("history"), this.gate.afterword());
  }
}

export default {
  render({ model, el }) {
    const panel = new OneSetPanel(model, el);
    return () => panel.close();
  },
};
