// The panel of the solid train: apply elements, look at it from any side, turn it, see which body does what.
// In a prediction panel it stays at rest until somebody said which bodies stand still and which turn back.

import { Crank } from "./turning.js";
import { Gate } from "./gate.js";
import { NameTags } from "./name_tags.js";
import { PanelModel } from "./panel_model.js";
import { HOME, SolidView } from "./solid_view.js";
import { button, choice, dropDown, sliderWithBox, textBox } from "./controls.js";
import { elementControls } from "./element_row.js";
import { freshPrefix, guardKeys, heading, html, scrollable, setText, swapParts } from "./dom.js";
import { shown } from "./exact.js";
import { appliedWords, caseOf, combinationKey, kindOf, rangeOf, stateWords } from "./layout_cases.js";
import { Memory, noteOf, working } from "./one_way.js";
import { showPlates } from "./plates.js";
import { later, say } from "./words.js";

const STATE = ["engaged", "opened", "prediction"];
const COLOURS = [["shaft", later("by shaft, as in the stick diagram")], ["role", later("by what they do")]];
const EVERYTHING = later("everything");
const NO_WEBGL = later("This browser shows no WebGL 2, which the cutaway needs. The stick diagram shows the same train.");
// A page without a graphics card draws half the picture points while it turns.
const SLOW_FRAME = 70;

class CutawayPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    [this.train, this.scene] = [model.get("train"), model.get("scene")];
    this.memory = new Memory(this.train);
    this.named = model.get("asked");
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.crank = new Crank(this.prefix, (turns) => this.turnTo(turns));
    this.buildElements();
    this.buildStage();
    this.buildLook();
    this.buildTable();
    this.gate = new Gate(this.state, () => this.caseNow());
    if (model.get("gated")) this.buildPrediction();
    element.append(this.frame());
    this.state.listen(STATE, () => this.update());
    this.state.listen(["drawing"], () => this.showDrawing());
    this.state.listen(["history"], () => this.showHistory());
    this.showDrawing();
    this.showHistory();
    this.update();
    if (this.view) this.startSeeing();
  }

  get(name) { return this.state.get(name); }

  frame() {
    const words = this.get("refusal") || (this.view ? "" : say(NO_WEBGL));
    return html("section", { class: "gk-panel gk-cutaway", "aria-label": this.get("title") }, ...heading(this.state),
      html("div", { class: "gk-beside gk-beside-stage" },
        html("div", {}, this.elementRow, this.rangeRow, this.status, this.prediction, words ? html("p", { class: "gk-note gk-refusal" }, words) : null),
        html("div", {}, this.view ? this.stage : null, this.view ? this.help : null, this.crank.row, this.view ? this.look : null)),
      scrollable(html("figure", { class: "gk-drawing" })), scrollable(html("div", { class: "gk-scroll" }, this.table)), this.history);
  }

  buildElements() { Object.assign(this, elementControls(this.train, this.state, this.memory, this.prefix)); }

  buildStage() {
    if (this.get("refusal")) return;
    try {
      this.view = new SolidView(() => guardKeys(html("canvas", { tabindex: 0, role: "img", class: "gk-solid" })), this.scene);
    } catch {
      this.view = null;
      return;
    }
    this.canvas = this.view.canvas;
    this.stage = html("div", { class: "gk-stage" }, this.canvas);
    this.tags = new NameTags(this.stage, this.scene);
    // Out of sight nothing is drawn; the panel's words go on.
    this.unseen = true;
    this.listenToHand();
  }

  // The first picture comes with the page's first one, if it is in sight; the observers, which tell later, ask for it once more only
  // where something changed.
  startSeeing() {
    this.watch = new ResizeObserver(() => { if (this.size !== this.sizeNow()) this.paintSoon(); });
    this.watch.observe(this.canvas);
    this.sight = new IntersectionObserver((seen) => {
      const before = this.unseen;
      this.unseen = !seen.at(-1).isIntersecting;
      if (before && !this.unseen) this.paintSoon();
    });
    this.sight.observe(this.stage);
    const { width, height, top, bottom } = this.stage.getBoundingClientRect();
    if (!width || !height || bottom < 0 || top > innerHeight) return;
    this.unseen = false;
    this.paint();
  }

  sizeNow() { return `${this.canvas.clientWidth} ${this.canvas.clientHeight}`; }

  listenToHand() {
    let last = null;
    this.canvas.addEventListener("pointerdown", (event) => { last = [event.clientX, event.clientY]; this.canvas.setPointerCapture(event.pointerId); });
    this.canvas.addEventListener("pointermove", (event) => {
      if (!last) return;
      this.orbit((last[0] - event.clientX) * 0.008, (event.clientY - last[1]) * 0.008);
      last = [event.clientX, event.clientY];
    });
    for (const kind of ["pointerup", "pointercancel"]) this.canvas.addEventListener(kind, () => { last = null; });
    const keys = { ArrowLeft: () => this.orbit(0.1, 0), ArrowRight: () => this.orbit(-0.1, 0), ArrowUp: () => this.orbit(0, 0.1), ArrowDown: () => this.orbit(0, -0.1),
      "+": () => this.nearer(1.1), "-": () => this.nearer(1 / 1.1), Home: () => this.home() };
    this.canvas.addEventListener("keydown", (event) => { if (keys[event.key]) { keys[event.key](); event.preventDefault(); } });
  }

  orbit(yaw, pitch) {
    this.view.yaw += yaw;
    this.view.pitch = Math.max(-1.5, Math.min(1.5, this.view.pitch + pitch));
    this.paintSoon();
  }

  nearer(by) { this.view.zoom = Math.max(0.5, Math.min(4, this.view.zoom * by)); this.paintSoon(); }

  home() { Object.assign(this.view, HOME); this.paintSoon(); }

  buildLook() {
    this.help = html("p", { class: "gk-note" }, say("Drag the picture, or use its arrow keys, to look from another side; + and − make it larger and smaller."), " ",
      say("White stripes are paint marks. Yellow bands are the power: the wider, the more."),
      this.scene.bodies.some(({ paler }) => paler) ? ` ${say("A body with dark rings is dashed in the stick diagram.")}` : "");
    const side = html("div", { class: "gk-line", role: "group", "aria-label": say("Look from") }, html("b", {}, say("Look")),
      ...[[say("from the left"), -0.2, 0], [say("from the right"), 0.2, 0], [say("from above"), 0, 0.2], [say("from below"), 0, -0.2]].map(([word, yaw, pitch]) => button(word, () => this.orbit(yaw * 1.5, pitch * 1.5))),
      button(say("nearer"), () => this.nearer(1.2)), button(say("farther"), () => this.nearer(1 / 1.2)), button(say("as at first"), () => this.home()));
    this.apart = sliderWithBox({ id: `${this.prefix}-apart`, label: say("Pulled apart"), unit: "%", min: 0, max: 100, step: 5, value: 0 }, (value) => { this.view.apart = value / 100; this.paintSoon(); });
    this.colours = choice({ id: `${this.prefix}-colours`, legend: say("Colours"), choices: COLOURS.map(([value, word]) => [value, say(word)]), value: "shaft" }, (value) => { this.view.byRole = value === "role"; this.paintSoon(); });
    const bodies = [[EVERYTHING, say(EVERYTHING)], ...this.named.map(([body, name]) => [String(body), name])];
    this.focus = dropDown({ id: `${this.prefix}-focus`, label: say("Show in colour"), choices: bodies, value: EVERYTHING }, (value) => this.focusOn(value));
    this.look = html("div", { class: "gk-look" }, side, html("div", { class: "gk-controls" }, this.apart.row, this.focus.row, this.colours.row));
  }

  focusOn(value) {
    this.view.focus = value === EVERYTHING ? -1 : Number(value);
    this.update();
  }

  buildTable() {
    this.cells = new Map();
    const rows = this.named.map(([body, name]) => {
      const cells = [0, 1, 2].map((k) => html("td", { class: k === 1 ? null : "gk-number" }));
      this.cells.set(body, cells);
      return html("tr", {}, html("th", { scope: "row" }, name), ...cells);
    });
    this.table = html("table", { class: "gk-table" }, html("caption", {}, say("Bodies and how they turn")),
      html("thead", {}, html("tr", {}, ...[say("Body"), say("× input"), say("Direction"), say("Turns so far")].map((word) => html("th", { scope: "col" }, word)))), html("tbody", {}, ...rows));
    this.history = html("details", { class: "gk-history" }, html("summary", {}, say("My predictions so far")), html("ol", {}));
  }

  buildPrediction() {
    this.asks = this.named.filter(([body]) => body !== this.bodyOf("input")).map(([body, name]) => [body, choice(
      { id: `${this.prefix}-body-${body}`, legend: name, choices: Object.entries(WORDS).map(([value, word]) => [value, say(word)]), value: null }, () => setText(this.trouble, ""))]);
    this.trouble = html("p", { class: "gk-trouble", role: "alert" });
    this.verdict = html("p", { class: "gk-verdict", role: "status", "aria-live": "polite" });
    this.reason = textBox({ id: `${this.prefix}-reason`, label: say("My reason for this guess"), size: 44 }, null, () => this.keepReason());
    this.kept = html("span", { class: "gk-kept", role: "status" });
    this.asking = html("div", { class: "gk-asking" }, html("p", {}, say("The input turns forward. What does each body do?")), html("div", { class: "gk-controls" }, ...this.asks.map(([, ask]) => ask.row)),
      button(say("Keep my prediction and set it in motion"), () => this.predict(), "gk-primary"), this.trouble);
    this.answered = html("div", { class: "gk-answered" }, this.verdict, html("div", { class: "gk-line" }, this.reason.row, button(say("Keep"), () => this.keepReason()), this.kept),
      button(say("Predict again"), () => this.gate.handlers().again()));
    this.gate.handlers().troubled((words) => setText(this.trouble, words));
    this.prediction = html("div", { class: "gk-prediction" }, html("h4", {}, say("Predict first")), this.asking, this.answered);
  }

  predict() {
    const missing = this.asks.find(([, ask]) => !ask.get());
    if (missing) {
      setText(this.trouble, say("Say what {body} does.", { body: this.named.find(([body]) => body === missing[0])[1] }));
      missing[1].row.querySelector("input").focus();
      return;
    }
    this.gate.handlers().predict({ kind: this.told((body) => this.asks.find(([asked]) => asked === body)[1].get()), figure: "" });
  }

  // What the bodies do, as it is kept: "still: sun 1; back: ring 2"; those not named turn forward.
  told(kindOf) {
    const groups = ["still", "back", "free"].map((kind) => [kind, this.asks.map(([body]) => body).filter((body) => kindOf(body) === kind)]).filter(([, bodies]) => bodies.length);
    return groups.map(([kind, bodies]) => `${kind}: ${bodies.map((body) => this.short(body)).join(", ")}`).join("; ") || "all forward";
  }

  short(body) { return this.named.find(([number]) => number === body)[1].split(" · ")[0]; }

  keepReason() {
    const text = this.reason.box.value.trim();
    if (!text) return;
    this.gate.handlers().explain(text);
    setText(this.kept, say("Kept in your record."));
  }

  bodyOf(name) { return this.get("ends")[name]; }

  caseNow() { return caseOf(combinationKey(this.train, new Set(this.get("engaged")))); }

  update() {
    const engaged = new Set(this.get("engaged")), key = combinationKey(this.train, engaged), state = working(this.memory, engaged), ranges = rangeOf(this.train, key);
    this.open = this.gate.isOpen();
    this.engaged = this.open ? state.engaged : [...engaged];
    this.outcome = { ...state.mobility, note: noteOf(this.memory, state) };
    this.outcome.word = kindOf(this.outcome);
    this.times = new Map(this.get("numbers").map((shaft, body) => [body, this.open ? this.outcome.speeds[shaft] : null]));
    for (const [name, tick] of this.ticks) tick.set(engaged.has(name));
    this.rangeButtons.forEach((node, k) => node.setAttribute("aria-pressed", String(ranges.includes(this.train.ranges[k].name))));
    setText(this.status, this.words(key));
    for (const [body, [times, sense]] of this.cells) {
      const speed = this.times.get(body), unknown = this.open ? say("free") : "?";
      setText(times, speed === null ? unknown : shown(speed));
      setText(sense, speed === null ? unknown : say(WORDS[kindOfSpeed(speed)]));
    }
    this.crank.setPace(Math.max(1, ...[...this.times.values()].map((speed) => Math.abs(speed === null ? 0 : speed.toNumber()))));
    const still = !this.open || !this.times.get(this.bodyOf("input")) || this.times.get(this.bodyOf("input")).isZero;
    this.crank.press.disabled = still;
    if (still) this.crank.setRunning(false);
    showPlates(this.element(".gk-drawing"), this.engaged);
    if (this.prediction) this.showPrediction();
    if (this.view) this.showView(ranges);
    this.turnTo(this.crank.turns);
  }

  element(selector) { return this.table.closest("section")?.querySelector(selector) ?? html("div", {}); }

  words(key) {
    const applied = appliedWords(key);
    if (!this.open) return `${applied}. ${say("Which bodies will stand still, and which turn back?")}`;
    const focused = this.view && this.view.focus >= 0 ? this.named.find(([body]) => body === this.view.focus) : null;
    const own = focused ? ` ${say("In colour: {body} ({does}).", { body: focused[1], does: this.does(focused[0]) })}` : "";
    return `${applied}: ${stateWords(this.train, key, this.outcome)}${own}`;
  }

  does(body) {
    const speed = this.times.get(body);
    if (speed === null) return say("nothing fixes it");
    if (speed.isZero) return say("stands still");
    const size = Math.abs(speed.toNumber());
    const told = { turning: say(speed.sign < 0 ? WORDS.back : WORDS.forward), size: shown(size) };
    return size === 1 ? say("{turning} at the input's speed", told) : say("{turning} at {size} of the input's speed", told);
  }

  showView(ranges) {
    this.view.engaged = new Set(this.engaged);
    this.view.range = this.open && ranges.length ? this.scene.ranges[ranges[0]] : null;
    this.view.setSpeeds(this.scene.bodies.map((_, body) => { const speed = this.times.get(body); return speed ? speed.toNumber() : 0; }));
    this.tags.mark(this.engaged, this.view.focus);
    this.canvas.setAttribute("aria-label", `${say("The train as solid bodies, cut open.")} ${this.status.textContent}${this.open ? ` ${this.all()}` : ""}`);
  }

  // All bodies in one sentence each.
  all() { return this.named.map(([body, name]) => `${name}: ${this.does(body)}.`).join(" "); }

  showPrediction() {
    if (this.open) swapParts(this.asking, this.answered);
    else swapParts(this.answered, this.asking);
    if (!this.open && this.wasOpen !== false) {
      for (const [, ask] of this.asks) ask.set(null);
      this.reason.box.value = "";
      for (const node of [this.trouble, this.kept]) setText(node, "");
    }
    this.wasOpen = this.open;
    const said = this.gate.saidNow();
    if (this.open) setText(this.verdict, said ? this.beside(said.kind) : say("Opened before."));
  }

  beside(kind) {
    const said = new Map(kind.split("; ").flatMap((group) => { const [word, names = ""] = group.split(": "); return names.split(", ").map((name) => [name, word]); }));
    const of = (body) => said.get(this.short(body)) ?? "forward", wrong = this.asks.filter(([body]) => of(body) !== this.kindOf(body));
    const right = say("{right} of {all} as you said.", { right: this.asks.length - wrong.length, all: this.asks.length });
    return `${right}${wrong.map(([body]) => ` ${say("{body}: you said {said}, found: {found}.", { body: this.short(body), said: say(WORDS[of(body)]), found: say(WORDS[this.kindOf(body)]) })}`).join("")}`;
  }

  kindOf(body) { return kindOfSpeed(this.times.get(body)); }

  showHistory() {
    const history = this.get("history");
    this.history.hidden = !history.length;
    this.history.querySelector("ol").replaceChildren(...history.map((entry) => html("li", {}, entry)));
  }

  showDrawing() {
    const place = this.element(".gk-drawing");
    place.innerHTML = this.get("drawing");
    if (this.engaged) showPlates(place, this.engaged);
  }

  turnTo(turns) {
    for (const [body, [, , cell]] of this.cells) {
      const speed = this.times.get(body);
      setText(cell, speed === null ? "–" : shown(speed.toNumber() * turns, 2));
    }
    if (!this.view) return;
    this.view.turns = this.open ? turns : 0;
    this.paintSoon();
  }

  paintSoon() {
    if (this.waiting || !this.view || this.unseen) return;
    this.waiting = requestAnimationFrame((now) => {
      this.waiting = 0;
      if (this.crank.running) {
        this.pace = 0.7 * (this.pace ?? 16) + 0.3 * Math.min(400, now - (this.painted ?? now));
        if (this.pace > SLOW_FRAME) this.view.coarse = true;
      } else if (this.view.coarse) {
        this.view.coarse = false;
        this.pace = 16;
      }
      this.painted = now;
      this.paint();
    });
  }

  paint() {
    try { this.view.draw(); } catch { this.stopSeeing(); return; }
    this.size = this.sizeNow();
    this.tags.place(this.view, this.canvas.clientWidth, this.canvas.clientHeight);
  }

  // A browser that has WebGL 2 and does not take the shaders.
  stopSeeing() {
    this.closeView();
    this.stage.replaceWith(html("p", { class: "gk-note gk-refusal" }, say(NO_WEBGL)));
    for (const node of [this.help, this.look]) node.remove();
  }

  closeView() {
    this.watch?.disconnect();
    this.sight?.disconnect();
    this.view?.close();
    this.view = null;
  }

  close() {
    this.crank.setRunning(false);
    if (this.waiting) cancelAnimationFrame(this.waiting);
    this.closeView();
    this.state.close();
  }
}

const WORDS = { forward: later("turns forward"), still: later("stands still"), back: later("turns back"), free: later("nothing fixes it") };

function kindOfSpeed(speed) {
  if (speed === null) return "free";
  return speed.isZero ? "still" : speed.sign < 0 ? "back" : "forward";
}

export default {
  render({ model, el }) {
    const panel = new CutawayPanel(model, el);
    return () => panel.close();
  },
};
