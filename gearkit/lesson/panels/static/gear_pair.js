// The panel of a gear pair: pitch circles roll on each other, teeth are counted on both, and an idler turns the sense round.

import { Crank } from "./turning.js";
import { Gate } from "./gate.js";
import { PanelModel } from "./panel_model.js";
import { PredictionBox } from "./prediction.js";
import { choice, sliderWithBox } from "./controls.js";
import { freshPrefix, html, scrollable, setText, svg } from "./dom.js";
import { Exact, shown } from "./exact.js";
import { circlePath, gearPath } from "./gear_outline.js";
import { ROOM_IN_RING, placesOfRow, turnsOf } from "./gear_row.js";
import { beside, directionWord, ratioWords } from "./one_set_cases.js";
import { later, say } from "./words.js";

const STATE = ["driver", "driven", "idlers", "idler_teeth", "mesh", "input_speed", "opened", "prediction"];
const DEGREES = 180 / Math.PI;
const WORDS = [later("no idler"), later("one idler"), later("two idlers")];
const MESHES = { external: later("external mesh, {idlers}"), internal: later("internal mesh, {idlers}") };

class GearPairPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.gate = new Gate(this.state, () => `${this.get("mesh")} mesh, ${WORDS[this.get("idlers")]}`);
    this.svg = svg("svg", { class: "gk-front gk-row", role: "img" });
    this.crank = new Crank(this.prefix, (turns) => this.turnTo(turns));
    this.crank.setReference(say("Turns of the driver"));
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.buildControls();
    this.body = html("tbody", {});
    this.table = html("table", { class: "gk-table" }, html("caption", {}, say("The gears, from the driver to the output")),
      html("thead", {}, html("tr", {}, ...[say("Gear"), say("Teeth"), say("Speed, r/min"), say("Direction"), say("Turns so far"), say("Teeth passed")].map((word) => html("th", { scope: "col" }, word)))), this.body);
    if (model.get("gated")) this.prediction = new PredictionBox(this.prefix, this.gate.handlers());
    element.append(html("section", { class: "gk-panel gk-pair", "aria-label": model.get("title") },
      html("h3", { class: "gk-title" }, model.get("title")), scrollable(html("figure", { class: "gk-drawing" }, this.svg)), this.crank.row,
      this.status, this.prediction ? this.prediction.row : null, html("div", { class: "gk-controls" }, ...this.rows),
      scrollable(html("div", { class: "gk-scroll" }, this.table)), this.prediction ? this.prediction.historyRow : null));
    this.state.listen([...STATE, "history"], () => this.update());
    this.update();
  }

  get(name) { return this.state.get(name); }

  set(name, value) { this.state.set({ [name]: value }); }

  close() {
    this.crank.setRunning(false);
    this.state.close();
  }

  buildControls() {
    const slider = (name, label, min, max, step, unit) => sliderWithBox({ id: `${this.prefix}-${name}`, label, min, max, step, unit, value: this.get(name) }, (value) => this.set(name, value));
    this.controls = {
      driver: slider("driver", say("Driver teeth z1"), 12, 40, 1),
      driven: slider("driven", say("Driven teeth z2"), 12, 90, 1),
      idler_teeth: slider("idler_teeth", say("Idler teeth"), 12, 40, 1),
      input_speed: slider("input_speed", say("Input speed"), 0, 3000, 20, say("r/min")),
      mesh: choice({ id: `${this.prefix}-mesh`, legend: say("Last mesh"), choices: [["external", say("external")], ["internal", say("internal")]], value: this.get("mesh") }, (value) => this.set("mesh", value)),
      idlers: choice({ id: `${this.prefix}-idlers`, legend: say("Idlers"), choices: [["0", say("none")], ["1", say("one")], ["2", say("two")]], value: String(this.get("idlers")) }, (value) => this.set("idlers", Number(value))),
    };
    this.rows = Object.values(this.controls).map(({ row }) => row);
  }

  teeth() {
    return [this.get("driver"), ...Array(this.get("idlers")).fill(this.get("idler_teeth")), this.get("driven")];
  }

  update() {
    for (const [name, control] of Object.entries(this.controls)) control.set(name === "idlers" ? String(this.get(name)) : this.get(name));
    this.controls.idler_teeth.row.hidden = this.get("idlers") === 0;
    const teeth = this.teeth();
    const internal = this.get("mesh") === "internal";
    this.open = this.gate.isOpen();
    this.turns = turnsOf(teeth, internal);
    this.fits = !internal || teeth[teeth.length - 1] >= teeth[teeth.length - 2] + ROOM_IN_RING;
    this.showGears(teeth, internal);
    this.showTable(teeth, internal);
    const words = this.words(teeth);
    setText(this.status, words);
    this.svg.setAttribute("aria-label", `${say("Gears in a row: {teeth} teeth.", { teeth: teeth.join(", ") })} ${words}`);
    this.svg.classList.toggle("gk-shut", !this.open);
    const speed = this.turns[this.turns.length - 1].times(Exact.of(this.get("input_speed")));
    if (this.prediction) {
      this.prediction.row.hidden = !this.fits;
      this.showPrediction(speed);
    }
    this.crank.setPace(this.open ? Math.max(1, ...this.turns.map((turn) => Math.abs(turn.toNumber()))) : 1);
    this.turnTo(this.crank.turns);
  }

  showGears(teeth, internal) {
    const key = `${teeth} ${internal}`;
    if (key === this.key) return;
    this.key = key;
    const places = placesOfRow(teeth, internal);
    const rim = (k) => (internal && k === teeth.length - 1 ? 6 : 3);
    const left = Math.min(...places.map(([x], k) => x - teeth[k] / 2 - rim(k)));
    const right = Math.max(...places.map(([x], k) => x + teeth[k] / 2 + rim(k)));
    const half = Math.max(...teeth.map((count, k) => count / 2 + rim(k)));
    this.svg.setAttribute("viewBox", `${left} ${-half} ${right - left} ${2 * half}`);
    const order = teeth.map((_, k) => k).sort((a, b) => teeth[b] - teeth[a]);
    this.gears = [];
    this.svg.replaceChildren(...order.map((k) => this.gear(k, teeth[k], places[k], internal && k === teeth.length - 1, k === teeth.length - 1)));
  }

  gear(k, teeth, [x, angle], ring, last) {
    const kind = ring ? "ring" : last ? "carrier" : k ? "pinion" : "sun";
    const path = (ring ? circlePath(teeth / 2 + 4.5) : "") + gearPath(teeth, ring) + (ring ? "" : circlePath(2));
    const wedge = ring ? `M${teeth / 2 + 4.2} 0l-2.6 1.4v-2.8Z` : `M${teeth / 2 - 1.8} 0L${teeth * 0.2} ${teeth / 32}v${-teeth / 16}Z`;
    const turning = svg("g", { class: `gk-member gk-${kind}${last ? " gk-output" : ""}` },
      svg("g", { transform: `rotate(${(angle * DEGREES).toFixed(3)})` }, svg("path", { class: "gk-body", d: path, "fill-rule": "evenodd" })),
      svg("path", { class: "gk-pitch", d: circlePath(teeth / 2) }), svg("path", { class: "gk-mark", d: wedge, transform: "rotate(-90)" }));
    this.gears[k] = turning;
    return svg("g", { transform: `translate(${x} 0)` }, turning);
  }

  showTable(teeth, internal) {
    const names = teeth.map((_, k) => (k === 0 ? say("driver") : k < teeth.length - 1 ? say("idler {number}", { number: k }) : internal ? say("ring (output)") : say("output")));
    this.cells = teeth.map((count, k) => {
      const seen = this.open || k < teeth.length - 1;
      const speed = this.turns[k].times(Exact.of(this.get("input_speed"))).toNumber();
      return { seen, turns: html("td", {}), passed: html("td", {}), row: [names[k], String(count), seen ? shown(speed, 1) : "?", seen ? say(directionWord(speed)) : "?"] };
    });
    this.body.replaceChildren(...this.cells.map(({ row: [name, ...rest], turns, passed }) => html("tr", {}, html("th", { scope: "row" }, name), ...rest.map((text) => html("td", {}, text)), turns, passed)));
  }

  turnTo(turns) {
    const teeth = this.teeth();
    this.cells.forEach(({ seen, turns: cell, passed }, k) => {
      const own = this.turns[k].toNumber() * turns;
      setText(cell, seen ? shown(own, 2) : "–");
      setText(passed, seen ? shown(Math.abs(own) * teeth[k], 0) : "–");
      this.gears[k].setAttribute("transform", `rotate(${((seen ? own : 0) * 360).toFixed(2)})`);
    });
  }

  words(teeth) {
    if (!this.fits) return say("A ring with {ring} teeth is too small for a gear with {gear} inside it; give it {least} or more.",
      { ring: teeth[teeth.length - 1], gear: teeth[teeth.length - 2], least: teeth[teeth.length - 2] + ROOM_IN_RING });
    const mesh = say(MESHES[this.get("mesh")], { idlers: say(WORDS[this.get("idlers")]) });
    const start = say("{driver} teeth drive {driven}, {mesh}", { driver: teeth[0], driven: teeth[teeth.length - 1], mesh });
    if (!this.open) return `${start}. ${say("How does the last gear turn?")}`;
    const last = this.turns[this.turns.length - 1];
    const speed = last.times(Exact.of(this.get("input_speed"))).toNumber();
    const turning = say("{direction} at {speed} r/min", { direction: say(directionWord(speed)), speed: shown(Math.abs(speed), 1) });
    return `${start}: ${turning}, ${ratioWords(new Exact(last.d, last.n))}.`;
  }

  showPrediction(speed) {
    const size = speed.sign < 0 ? speed.negated() : speed;
    this.prediction.ask({ legend: say("The last gear turns"), kinds: ["forward", "reverse"], without: [], figure: say("at a speed of"), unit: say("r/min"), placeholder: say("a number") });
    this.prediction.show(this.open, beside(this.gate.saidNow(), directionWord(speed), size, say("{speed} r/min", { speed: shown(size, 1) })), this.get("history"), this.gate.afterword());
  }
}

export default {
  render({ model, el }) {
    const panel = new GearPairPanel(model, el);
    return () => panel.close();
  },
};
