// The fault panel: choose an element and how it fails; see what every range becomes, and which faults fit speed readings.

import { leversOfTrain } from "./levers.js";
import { Memory } from "./one_way.js";
import { PanelModel } from "./panel_model.js";
import { ShaftTable } from "./shaft_table.js";
import { choice, dropDown, textBox } from "./controls.js";
import { directionWord } from "./one_set_cases.js";
import { BESIDE, fitDrawing, freshPrefix, heading, html, scrollable, setText } from "./dom.js";
import { exactOf, listed, shown } from "./exact.js";
import { diagnose, faultCase, faultName, modesOf, suspectName, symptom, unsafe } from "./faults.js";
import { showPlates } from "./plates.js";
import { withTrainChoice } from "./train_choice.js";
import { RANGE } from "./verdicts.js";
import { later, say, sayN } from "./words.js";

const HEAD = [later("Range"), later("Asked for"), later("Really on"), later("State"), later("Ratio"), later("Ratio without fault"), later("What is noticed")];
const MOST_SUSPECTS = 8;

class FaultPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.train = this.state.get("train");
    this.memory = new Memory(this.train);
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.buildFault();
    this.buildTable();
    this.buildLook();
    this.buildReadings();
    element.append(this.frame());
    this.state.listen(["element", "mode", "looked_at", "readings", "speeds"], () => this.update());
    this.update();
  }

  get(name) { return this.state.get(name); }

  frame() {
    const title = this.get("title");
    return html("section", { class: "gk-panel gk-faults", "aria-label": title }, ...heading(this.state),
      this.elements.row, this.modes.row, this.status, scrollable(html("div", { class: "gk-scroll" }, this.table)),
      html("div", { class: this.wide ? "gk-beside gk-wide-drawing" : "gk-beside" }, html("div", {}, this.look.row, html("p", { class: "gk-note" }, this.lookWords)), this.stick),
      html("figure", { class: "gk-lever-figure-box" }, this.levers.element), scrollable(html("div", { class: "gk-scroll" }, this.shafts.table)),
      this.readingBox, html("p", { class: "gk-note" }, this.get("caution")));
  }

  buildFault() {
    const choices = this.train.elements.map(({ name, words }) => [name, `${name} ${words}`]);
    this.elements = choice({ id: `${this.prefix}-element`, legend: say("Faulty element"), choices, value: this.get("element") },
      (name) => this.state.set({ element: name, mode: this.modesFor(name).includes(this.get("mode")) ? this.get("mode") : "stuck off" }));
    this.elements.row.classList.add("gk-elements");
    const modes = [...new Set(this.train.elements.flatMap(modesOf))];
    this.modes = choice({ id: `${this.prefix}-mode`, legend: say("It is"), choices: modes.map((mode) => [mode, mode]), value: this.get("mode") },
      (mode) => this.state.set({ mode }));
  }

  modesFor(name) { return modesOf(this.memory.element(name)); }

  buildTable() {
    this.rows = this.train.ranges.map((range) => {
      const cells = HEAD.slice(1).map(() => html("td", {}));
      return { range, cells, row: html("tr", {}, html("th", { scope: "row" }, range.name), ...cells) };
    });
    this.table = html("table", { class: "gk-table gk-fault-table" }, html("caption", {}, say("Every range with this fault")),
      html("thead", {}, html("tr", {}, ...HEAD.map((word) => html("th", { scope: "col" }, say(word))))),
      html("tbody", {}, ...this.rows.map(({ row }) => row)));
  }

  buildLook() {
    const names = this.train.ranges.map(({ name }) => [name, name]);
    this.look = choice({ id: `${this.prefix}-look`, legend: say("Look at range"), choices: names, value: this.get("looked_at") },
      (name) => this.state.set({ looked_at: name }));
    this.lookWords = html("span", {});
    this.stick = scrollable(html("figure", { class: "gk-drawing" }));
    this.stick.innerHTML = this.get("drawing");
    this.wide = fitDrawing(this.stick) > BESIDE;
    this.levers = leversOfTrain(this.train);
    this.shafts = new ShaftTable(this.train, say("Shafts, as multiples of the input's speed"), [say("With the fault"), say("Without it")]);
  }

  buildReadings() {
    const names = this.train.ranges.map(({ name }) => [name, name]);
    this.readingRows = this.get("readings").map((_, k) => {
      const id = `${this.prefix}-reading-${k}`;
      const range = dropDown({ id: `${id}-range`, label: say("Asked for"), choices: names, value: "" }, (value) => this.setReading(k, { range: value }));
      const box = (name, label) => textBox({ id: `${id}-${name}`, label, unit: say("r/min"), size: 7 }, (value) => this.setReading(k, { [name]: value }));
      const [input, output] = [box("input", say("Input")), box("output", say("Output"))];
      const row = html("fieldset", { class: "gk-choice gk-reading" }, html("legend", {}, say("Reading {k}", { k: k + 1 })),
        html("div", { class: "gk-line" }, range.row, input.row, output.row));
      return { range, input: input.box, output: output.box, row };
    });
    this.findings = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.suspects = html("tbody", {});
    this.suspectTable = html("table", { class: "gk-table gk-task-table" }, html("caption", {}, say("Faults that fit the readings, best supported first")),
      html("thead", {}, html("tr", {}, ...[say("Fault"), say("Why")].map((word) => html("th", { scope: "col" }, word)))), this.suspects);
    this.readingBox = html("section", { class: "gk-prediction", "aria-label": say("Speed readings") }, html("h4", {}, say("Which fault gives these speeds?")),
      ...this.readingRows.map(({ row }) => row), this.findings, scrollable(html("div", { class: "gk-scroll" }, this.suspectTable)));
  }

  setReading(number, change) {
    this.state.set({ readings: this.get("readings").map((reading, k) => (k === number ? { ...reading, ...change } : reading)) });
  }

  close() { this.state.close(); }

  update() {
    const [element, mode] = [this.get("element"), this.get("mode")];
    this.elements.set(element);
    this.modes.set(mode);
    const allowed = this.modesFor(element);
    this.modes.enable((each) => allowed.includes(each));
    this.look.set(this.get("looked_at"));
    const key = `${element} ${mode}`;
    if (key !== this.key) this.cases = this.train.ranges.map((range) => faultCase(this.memory, range, { element, mode }));
    this.key = key;
    this.showTable();
    this.showLook();
    setText(this.status, this.words({ element, mode }));
    this.showReadings();
  }

  showTable() {
    this.cases.forEach((each, k) => {
      const { cells, row, range } = this.rows[k];
      const sign = each.effect === "same" && !each.brakingLost ? "✓" : unsafe(each) && each.effect !== "same" ? "△" : "○";
      const told = [range.engaged.join(" ") || "–", each.faulty.engaged.join(" ") || "–", say(each.faulty.verdict), ratioText(each.faulty), ratioText(each.sound), `${sign} ${symptom(each)}`];
      told.forEach((text, place) => setText(cells[place], text));
      row.classList.toggle("gk-lost", each.effect !== "same");
      row.classList.toggle("gk-now", range.name === this.get("looked_at"));
    });
  }

  showLook() {
    const each = this.cases.find(({ range }) => range === this.get("looked_at"));
    const { engaged, mobility } = each.faulty;
    const times = mobility.speeds.map((speed) => (speed === null ? null : speed.toNumber()));
    const words = say("Range {range} with the fault: {engaged}, {state_text}. {noticed}", { range: each.range, engaged: engaged.length ? say("{elements} on", { elements: listed(engaged) }) : say("nothing on"), state_text: stateText(each.faulty), noticed: noticed(each) });
    setText(this.lookWords, say("{words} Plates drawn full are closed; arrows are speeds as multiples of the input's.", { words }));
    this.levers.draw(Object.fromEntries(times.map((speed, number) => [number, speed])));
    this.levers.describe(say("Lever diagram. {words}", { words }));
    const text = (speed) => (speed === null ? say("free") : `${shown(speed)} ${say(directionWord(speed))}`);
    this.shafts.show((number) => [text(mobility.speeds[number]), text(each.sound.mobility.speeds[number])]);
    if (this.stick.isConnected) showPlates(this.stick, engaged);
    else requestAnimationFrame(() => showPlates(this.stick, engaged));
  }

  words(fault) {
    const named = (cases) => listed(cases.map(({ range }) => range));
    const lost = this.cases.filter(({ effect }) => effect !== "same");
    const drives = this.cases.filter(({ effect, sound }) => effect === "same" && sound.verdict === RANGE);
    const danger = this.cases.filter((each) => each.effect !== "same" && unsafe(each));
    const coast = this.cases.filter(({ brakingLost }) => brakingLost);
    const told = [`${faultName(fault)}: ${lost.length ? say("{lost} of {cases} ranges change ({named})", { lost: lost.length, cases: this.cases.length, named: named(lost) }) : say("no range changes")}.`,
      drives.length ? say("Still driving as they should: {named}.", { named: named(drives) }) : say("No range drives as it should.")];
    if (coast.length) told.push(say("Does not brake the engine any more: {named}.", { named: named(coast) }));
    if (danger.length) told.push(say("Not safe: {named}.", { named: named(danger) }));
    return told.join(" ");
  }

  showReadings() {
    const readings = this.get("readings");
    this.readingRows.forEach(({ range, input, output }, k) => {
      range.set(readings[k].range);
      for (const [box, name] of [[input, "input"], [output, "output"]]) if (box.value !== readings[k][name]) box.value = readings[k][name];
    });
    const { taken, trouble } = takenReadings(this.get("speeds"));
    const diagnosis = taken.length ? diagnose(this.memory, taken) : { sound: false, suspects: [] };
    const standing = diagnosis.suspects.filter(({ refuted }) => refuted === 0);
    this.suspectTable.parentElement.hidden = !standing.length;
    this.suspects.replaceChildren(...standing.slice(0, MOST_SUSPECTS).map((suspect) => html("tr", {},
      html("th", { scope: "row" }, suspectName(suspect)), html("td", {}, suspect.evidence.map(({ reading, words }) => `${say("range {name}", { name: reading.range })}: ${words}`).join("; ")))));
    setText(this.findings, trouble || readingWords(taken, diagnosis, standing));
  }
}

function ratioText({ ratio }) { return ratio === null ? "–" : shown(ratio); }

function stateText({ verdict, ratio }) { return ratio === null ? say(verdict) : say("a range, ratio {ratio}", { ratio: shown(ratio) }); }

function noticed(each) {
  const text = symptom(each);
  return say("Noticed: {text}.", { text });
}

// Rows that are filled in, as the kernel read them; a row begun and not finished is left out, and one that cannot be read is told.
function takenReadings(speeds) {
  const trouble = speeds.map((each) => each.trouble).find(Boolean) || "";
  const taken = trouble ? [] : speeds.filter((each) => each.input).map(({ range, input, output }) => ({ range, input: exactOf(input), output: exactOf(output) }));
  return { taken, trouble };
}

function readingWords(taken, { sound }, standing) {
  if (!taken.length) return say("Write input and output speed of a test; the ratio is worked out and compared with what every fault would give, within 2 %.");
  const ratios = taken.map(({ range, input, output }) => say("Range {range} asked for, {output}", { range, output: output.isZero || input.isZero ? say("no ratio") : say("ratio {ratio}", { ratio: shown(input.over(output)) }) }));
  const start = `${listed(ratios)}: `;
  if (sound) return say("{start}as it should. Nothing is shown to be faulty; {standing} faults would not show here either.", { start, standing: standing.length });
  if (!standing.length) return say("{start}no single fault, and no pair of one that stays on and one that stays off, fits.", { start });
  const rest = standing.length > MOST_SUSPECTS ? say("; the {most_suspects} best supported are listed", { most_suspects: MOST_SUSPECTS }) : "";
  return `${start}${sayN("one fault fits", "{count} faults fit", standing.length)}${rest}.`;
}

export default {
  render({ model, el }) {
    return withTrainChoice(FaultPanel, model, el);
  },
};
