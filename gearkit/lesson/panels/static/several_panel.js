// The panel of a train with machines or several outputs: chosen speeds and torques in; all speeds, torques and powers out.

import { PanelModel } from "./panel_model.js";
import { PowerMap } from "./power_map.js";
import { SpeedLines } from "./speed_lines.js";
import { button, dropDown, sliderWithBox, tickBox } from "./controls.js";
import { freshPrefix, heading, html, scrollable, setText } from "./dom.js";
import { decimal, listed, shown } from "./exact.js";
import { leversOfTrain, roundScale } from "./levers.js";
import { showPlates } from "./plates.js";
import { exactSpeed, powersOf, speedOf, torquesOf } from "./several.js";
import { later, say } from "./words.js";

const STATE = ["cases", "moved", "given", "speeds", "torques", "engaged"];
const TORQUE = 400;
// Ranges that are named by a word keep it in the layout; the reader gets it in another language.
const WORDS = [later("open"), later("locked")];

function rangeWord(name) { return WORDS.includes(name) ? say(name) : name; }

class SeveralPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.train = model.get("train");
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.buildElements();
    this.buildSliders();
    this.levers = leversOfTrain(this.train);
    this.map = new PowerMap(this.train.ends);
    this.lines = new SpeedLines(this.train.ends);
    this.stick = scrollable(html("figure", { class: "gk-drawing" }));
    this.stick.innerHTML = this.get("drawing");
    this.buildTable();
    element.append(this.frame());
    this.state.listen(STATE, () => this.update());
    this.update();
    // The plates' places are known once the drawing stands in the page.
    requestAnimationFrame(() => showPlates(this.stick, this.get("engaged")));
  }

  get(name) { return this.state.get(name); }

  // What an end is called in the reader's language; the file's own name is the key of its values.
  label(name) { return this.train.ends.find((end) => end.name === name).label; }

  buildElements() {
    this.ticks = new Map(this.train.elements.map(({ name, words }) => {
      const tick = tickBox({ id: `${this.prefix}-tick-${name}`, label: "" }, (on) => this.apply(name, on));
      tick.row.querySelector("span").append(html("b", {}, name), ` ${words}`);
      return [name, tick];
    }));
    this.rangeButtons = this.train.ranges.map(({ name, engaged }) => button(rangeWord(name), () => this.engage(this.inOrder(engaged)), "gk-range"));
    this.rangeButtons.forEach((node, k) => node.setAttribute("aria-label", say("Apply the elements of range {train}", { train: rangeWord(this.train.ranges[k].name) })));
  }

  inOrder(names) { return this.train.elements.map(({ name }) => name).filter((name) => names.includes(name)); }

  apply(name, on) {
    const engaged = this.get("engaged").filter((other) => other !== name);
    this.engage(this.inOrder(on ? [...engaged, name] : engaged));
  }

  // What was chosen stays chosen where it still can be, as in the kernel; of a combination not met before the kernel tells.
  engage(engaged) {
    const kase = this.get("cases")[engaged.join(" ")];
    const known = (what, choices) => (!kase || choices(kase).some(({ words }) => words === this.get(what)) ? {} : { [what]: kase.first[what] });
    this.state.set({ engaged, ...known("moved", ({ choices }) => choices.filter(({ offered }) => offered)), ...known("given", ({ torques }) => torques) });
  }

  buildSliders() {
    const slider = (what, label, unit, name, [min, max], step) => sliderWithBox({ id: `${this.prefix}-${what}-${name}`, label: `${label} ${this.label(name)}`, unit, min, max, step, value: this.get(what)[name] },
      (value) => this.state.set({ [what]: { ...this.get(what), [name]: value } }));
    this.speedSliders = new Map(this.train.ends.map(({ name, speeds }) => [name, slider("speeds", say("Speed"), say("r/min"), name, speeds, 50)]));
    this.torqueSliders = new Map(this.train.ends.map(({ name }) => [name, slider("torques", say("Torque"), "N·m", name, [-TORQUE, TORQUE], 5)]));
    this.moved = html("div", {});
    this.given = html("div", {});
  }

  buildTable() {
    const machines = this.train.ends.some(({ kind }) => kind === "machine");
    const head = [say("Where"), say("Speed r/min"), say("Torque N·m"), say("Power kW"), ...(machines ? [say("From battery kW")] : [])];
    this.rows = new Map(this.train.ends.map(({ name, words }) => {
      const cells = head.slice(1).map(() => html("td", { class: "gk-number" }));
      return [name, { cells, row: html("tr", {}, html("th", { scope: "row" }, words), ...cells) }];
    }));
    this.table = html("table", { class: "gk-table" }, html("caption", {}, say("What acts on the train from outside; power above 0 goes in")),
      html("thead", {}, html("tr", {}, ...head.map((word) => html("th", { scope: "col" }, word)))), html("tbody", {}, ...[...this.rows.values()].map(({ row }) => row)));
  }

  frame() {
    const title = this.get("title");
    const elements = this.train.elements.length ? html("fieldset", { class: "gk-choice gk-elements" }, html("legend", {}, say("Elements applied")), html("div", { class: "gk-options" }, ...[...this.ticks.values()].map(({ row }) => row))) : null;
    const ranges = html("div", { class: "gk-line gk-ranges", role: "group", "aria-label": say("Ranges") }, html("b", {}, say("Range")), ...this.rangeButtons);
    const sliders = [this.moved, ...[...this.speedSliders.values()].map(({ row }) => row), this.given, ...[...this.torqueSliders.values()].map(({ row }) => row)];
    return html("section", { class: "gk-panel gk-several", "aria-label": title }, ...heading(this.state), ranges, elements,
      // One lever has room beside the sliders; more of them stand below in a row.
      html("div", { class: this.train.levers.length > 1 ? "gk-below" : "gk-side-by-side" }, html("div", { class: this.train.levers.length > 1 ? "gk-controls" : "gk-stack" }, ...sliders), html("figure", { class: "gk-lever-figure-box" }, this.levers.element)),
      this.status, scrollable(html("div", { class: "gk-scroll" }, this.table)),
      html("div", { class: "gk-pictures" }, ...[this.map.svg, this.lines.svg].map((drawn) => scrollable(html("figure", {}, drawn)))), this.stick);
  }

  close() { this.state.close(); }

  // A list of choices is made anew when the kernel says that there are others.
  offer(place, what, label, choices, act) {
    const words = choices.map((choice) => choice.words);
    if (place.gkWords !== words.join("|")) {
      place.gkList = dropDown({ id: `${this.prefix}-${what}`, label, choices: words.map((word) => [word, word]), value: this.get(what) }, act);
      place.replaceChildren(place.gkList.row);
      place.gkWords = words.join("|");
    }
    place.gkList.set(this.get(what));
  }

  // The chosen speeds and torques; null while the kernel looks at elements that are new.
  chosen() {
    const kase = this.get("cases")[this.get("engaged").join(" ")];
    if (!kase) return null;
    const choice = kase.choices.find(({ words }) => words === this.get("moved"));
    const load = kase.torques.find(({ words }) => words === this.get("given"));
    return choice && load ? { kase, choice, load } : null;
  }

  values(names, what) { return Object.fromEntries(names.map((name) => [name, exactSpeed(this.get(what)[name])])); }

  solve() {
    const { kase, choice, load } = this.known;
    const chosen = this.values(choice.names, "speeds");
    const speeds = Object.fromEntries(this.train.ends.map(({ name }) => [name, speedOf(choice, name, chosen)]));
    const torques = torquesOf(this.train.ends, kase, load, this.values(load.names, "torques"), speeds);
    return { speeds, torques, powers: torques && powersOf(this.train.ends, torques, speeds), chosen };
  }

  update() {
    const now = this.chosen();
    // Half of a change is not shown; the other half is under way.
    if (!now) return;
    this.known = now;
    const { kase, choice, load } = now;
    for (const [name, tick] of this.ticks) tick.set(this.get("engaged").includes(name));
    const key = this.get("engaged").join(" ");
    this.rangeButtons.forEach((node, k) => node.setAttribute("aria-pressed", String(this.inOrder(this.train.ranges[k].engaged).join(" ") === key)));
    this.offer(this.moved, "moved", say("I choose the speeds of"), kase.choices.filter(({ offered }) => offered), (words) => this.take("moved", words));
    this.offer(this.given, "given", say("I choose the torques of"), kase.torques, (words) => this.take("given", words));
    for (const [sliders, names, what] of [[this.speedSliders, choice.names, "speeds"], [this.torqueSliders, load.names, "torques"]]) {
      for (const [name, slider] of sliders) {
        slider.show(names.includes(name));
        slider.set(this.get(what)[name]);
      }
    }
    this.solved = this.solve();
    const words = this.words();
    setText(this.status, words);
    this.showTable();
    this.showLevers(words);
    this.map.draw(this.solved.powers, say("Where power goes, in kW. {words}", { words }));
    this.showLines(words);
    if (this.stick.isConnected) showPlates(this.stick, this.get("engaged"));
  }

  // Whoever chooses others to move finds them where they are: what turned along keeps its speed, as near as its slider goes.
  take(what, words) {
    const [place, solved, reach] = what === "moved" ? ["speeds", this.solved.speeds, ({ speeds }) => [...speeds, 50]] : ["torques", this.solved.torques || {}, () => [-TORQUE, TORQUE, 5]];
    const kept = { ...this.get(place) };
    for (const end of this.train.ends) {
      const [low, high, step] = reach(end);
      const value = solved[end.name];
      if (value) kept[end.name] = Math.min(high, Math.max(low, Math.round(value.toNumber() / step) * step));
    }
    this.state.set({ [what]: words, [place]: kept });
  }

  words() {
    const { kase, choice } = this.known;
    const { speeds, powers } = this.solved;
    const engaged = this.get("engaged");
    const applied = engaged.length ? say("{engaged} applied", { engaged: listed(engaged) }) : say("Nothing applied");
    const follow = this.train.ends.filter(({ name }) => !choice.names.includes(name)).map(({ name, label }) => {
      const speed = speeds[name];
      return speed.isZero ? say("{name} stands still", { name: label }) : say("{name} turns at {speed} r/min", { name: label, speed: decimal(speed, 0) });
    });
    const told = [`${applied}: ${say(kase.verdict)}.`];
    if (follow.length) told.push(`${capital(listed(follow))}.`);
    if (!powers) told.push(say("At these speeds nothing fixes the torques: move a speed, or choose other torques."));
    else told.push(...this.powerWords(powers));
    return [...told, ...this.limitWords()].join(" ");
  }

  powerWords(powers) {
    const said = this.train.ends.map(({ name, label, kind }) => {
      const { power } = powers[name];
      if (Math.abs(power) < 0.05) return null;
      const values = { name: label, power: decimal(Math.abs(power), 1) };
      if (kind === "machine") return power > 0 ? say("{name} drives with {power} kW", values) : say("{name} generates {power} kW", values);
      return power > 0 ? say("{name} brings {power} kW", values) : say("{name} takes {power} kW", values);
    }).filter(Boolean);
    if (!said.length) return [say("No power goes anywhere.")];
    const machines = this.train.ends.filter(({ kind }) => kind === "machine").map(({ name }) => powers[name].electrical);
    const battery = machines.reduce((sum, value) => sum + value, 0);
    if (!machines.length) return [`${capital(listed(said))}.`];
    const rest = Math.abs(battery) < 0.05 ? say("is at rest") : battery > 0 ? say("gives {battery} kW", { battery: decimal(battery, 1) }) : say("takes {battery} kW", { battery: decimal(-battery, 1) });
    return [say("{capital}; the battery {rest}.", { capital: capital(listed(said)), rest })];
  }

  limitWords() {
    const { speeds, torques } = this.solved;
    return this.train.ends.flatMap(({ name, limits: [speed, torque] }) => [
      speed !== null && Math.abs(speeds[name].toNumber()) > speed ? say("△ {name} turns faster than its highest speed, {speed} r/min.", { name, speed: decimal(speed, 0) }) : null,
      torque !== null && torques && Math.abs(torques[name].toNumber()) > torque ? say("△ {name} would need more than its highest torque, {torque} N·m.", { name, torque: decimal(torque, 0) }) : null,
    ]).filter(Boolean);
  }

  showTable() {
    const { speeds, torques, powers } = this.solved;
    for (const [name, { cells }] of this.rows) {
      const values = [[speeds[name], 0], [torques && torques[name], 1], [powers && powers[name].power, 2], [powers && powers[name].electrical, 2]];
      cells.forEach((cell, k) => setText(cell, values[k][0] === null ? "–" : shown(Number((typeof values[k][0] === "number" ? values[k][0] : values[k][0].toNumber()).toFixed(values[k][1])), values[k][1])));
    }
  }

  showLevers(words) {
    const { choice } = this.known;
    const keys = this.train.levers.flatMap(({ nodes }) => nodes.map(({ key }) => key));
    const speeds = Object.fromEntries(keys.map((key) => { const speed = speedOf(choice, key, this.solved.chosen); return [key, speed && speed.toNumber()]; }));
    const reach = roundScale(Math.max(1000, ...Object.values(speeds).map((speed) => Math.abs(speed ?? 0))));
    this.levers.draw(speeds, { reach, digits: 0 });
    this.levers.describe(say("Lever diagram, speeds in r/min. {words}", { words }));
  }

  showLines(words) {
    const { choice } = this.known;
    const name = choice.names.includes("input") ? "input" : choice.names[0];
    if (!name) { this.lines.draw(null, null, words); return; }
    const [low, high] = this.train.ends.find((end) => end.name === name).speeds;
    const speed = (which, x) => { const value = speedOf(choice, which, { ...this.solved.chosen, [name]: exactSpeed(x) }); return value && value.toNumber(); };
    const others = choice.names.filter((other) => other !== name);
    const fixed = others.length ? say(", with {others} r/min", { others: listed(others.map((other) => say("{name} at {speed}", { name: this.label(other), speed: decimal(this.solved.chosen[other], 0) }))) }) : "";
    this.lines.draw({ name: `${this.label(name)}${fixed}`, low, high, now: this.get("speeds")[name] }, speed, say("Speeds over the speed of {name}{fixed}. {words}", { name: this.label(name), fixed, words }));
  }
}

function capital(text) { return text.charAt(0).toUpperCase() + text.slice(1); }

export default {
  render({ model, el }) {
    const panel = new SeveralPanel(model, el);
    return () => panel.close();
  },
};
