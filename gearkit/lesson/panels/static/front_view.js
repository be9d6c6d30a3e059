// One set seen from the input end, with its true tooth counts, turning as far as it is told. Clockwise is forward.
// Marks on every member stand at the top when nothing has turned, so that turns can be counted.

import { freshPrefix, setText, svg } from "./dom.js";
import { arcArrow, circlePath } from "./gear_outline.js";
import { later, say } from "./words.js";

const HALF = 200;
// Of a name that has room beside the mark on top, in letters; and what two lines of names above the gears take.
const SIDE = 16;
const ABOVE = 52;
const BELOW = 16;
const DEGREES = 180 / Math.PI;
const MEMBERS = ["sun", "carrier", "ring"];
const WORDS = { in: later("in"), out: later("out"), held: later("held"), turned: later("turned"), free: later("free"), hidden: "?", joined: later("joined") };

export class FrontView {
  constructor(options = {}) {
    this.small = Boolean(options.small);
    // In a train the colour tells the shaft, as in all its pictures; of a set by itself it tells the member.
    this.codes = options.codes || {};
    this.hatch = `${freshPrefix()}-hatch`;
    this.svg = svg("svg", { viewBox: `${-HALF} ${-HALF} ${2 * HALF} ${2 * HALF}`, class: "gk-front", role: "img" });
    this.svg.append(svg("defs", {}, svg("pattern",
      { id: this.hatch, width: 2.4, height: 2.4, patternUnits: "userSpaceOnUse", patternTransform: "rotate(45)" },
      svg("line", { x1: 0, y1: 0, x2: 0, y2: 2.4, class: "gk-hatch-line" }))));
    this.turns = { sun: 0, carrier: 0, ring: 0 };
    this.roles = {};
  }

  // Rebuild the gears from the set's geometry; everything that turns is one group with one transform.
  setGeometry(geometry) {
    this.geometry = geometry;
    this.outer = geometry.outer_radius + (this.small ? 1 : 0);
    this.scale = (HALF - (this.small ? 14 : 24)) / this.outer;
    if (this.body) this.body.remove();
    this.body = svg("g", { transform: `scale(${this.scale.toFixed(4)})` });
    this.svg.append(this.body);
    this.groups = { sun: [], carrier: [], ring: [], pinion: [] };
    this.moving = [];
    const ofKind = (kind) => geometry.gears.filter((gear) => gear.kind === kind);
    for (const gear of ofKind("ring")) this.addRing(gear);
    for (const gear of ofKind("pinion")) this.addPinion(gear);
    for (const gear of ofKind("sun")) this.addSun(gear);
    this.addCarrier(ofKind("pinion"));
    this.addLabels();
    this.setTurns(this.turns);
    this.setRoles(this.roles);
  }

  // A member's body, with a second copy that shows hatching while the member is held.
  bodyOf(path) {
    const rule = { d: path, "fill-rule": "evenodd" };
    return [svg("path", { ...rule, class: "gk-body" }), svg("path", { ...rule, class: "gk-held", fill: `url(#${this.hatch})` })];
  }

  addMember(name, gear, parts) {
    const code = this.codes[name];
    const own = code ? `--gk-own: var(--gk-${code.role}); --gk-dash: ${code.dash || "none"}` : null;
    const group = svg("g", { class: `gk-member gk-${name}`, style: own }, ...parts);
    this.body.append(group);
    this.groups[name].push(group);
    this.moving.push({ group, gear });
    return group;
  }

  // Outlines are sent with a tooth at angle 0; the group in the group puts them where they mesh, before any turning.
  meshed(gear, ...parts) {
    const place = `rotate(${(gear.angle * DEGREES).toFixed(3)}) scale(${gear.module})`;
    return svg("g", { transform: place }, ...parts);
  }

  addRing(gear) {
    const bevel = this.geometry.pinions === "bevel";
    const path = bevel ? circlePath(this.outer) + circlePath(this.outer - 3) : this.geometry.outlines[gear.outline];
    const rim = bevel ? "" : circlePath(this.outer / gear.module);
    const mark = svg("path", { class: "gk-mark", d: wedge(this.outer - 0.3, this.outer - 2.9, 1.5), transform: "rotate(-90)" });
    this.addMember("ring", gear, [this.meshed(gear, ...this.bodyOf(rim + path), svg("path", { class: "gk-pitch", d: circlePath(gear.teeth / 2) })), mark]);
  }

  addSun(gear) {
    const radius = gear.pitch_radius;
    const path = this.geometry.outlines[gear.outline] + circlePath(Math.max(2, radius * 0.22));
    const mark = svg("path", { class: "gk-mark", d: wedge(radius - 1.6, radius * 0.42, Math.max(1, radius / 15)), transform: "rotate(-90)" });
    this.addMember("sun", gear, [this.meshed(gear, ...this.bodyOf(path), svg("path", { class: "gk-pitch", d: circlePath(gear.teeth / 2) })), mark]);
  }

  addPinion(gear) {
    const radius = gear.pitch_radius;
    const path = this.geometry.outlines[gear.outline] + circlePath(1.5 / gear.module);
    const mark = svg("path", { class: "gk-mark", d: wedge(radius - 1.6, Math.min(2.6, radius * 0.4), Math.max(0.8, radius / 17)), transform: "rotate(-90)" });
    this.addMember("pinion", gear, [this.meshed(gear, svg("path", { class: "gk-body", d: path, "fill-rule": "evenodd" }),
      svg("path", { class: "gk-pitch", d: circlePath(gear.teeth / 2) })), mark]);
  }

  addCarrier(pinions) {
    const radius = Math.max(...pinions.map((gear) => gear.centre_radius));
    const plate = circlePath(radius + 1.4) + circlePath(radius - 1.4);
    const pins = pinions.map((gear, k) => svg("circle", { class: k ? "gk-pin" : "gk-pin gk-first-pin", r: k ? 1.9 : 2.7,
      cx: (gear.centre_radius * Math.cos(gear.centre_angle)).toFixed(3), cy: (gear.centre_radius * Math.sin(gear.centre_angle)).toFixed(3) }));
    this.orbit = radius;
    const gear = { kind: "carrier", centre_radius: 0, turns: { sun: 0, carrier: 1, ring: 0 } };
    this.addMember("carrier", gear, [...this.bodyOf(plate), ...pins]);
  }

  addLabels() {
    if (this.labels) this.labels.remove();
    const outside = this.outer * this.scale;
    this.labels = svg("g", { class: "gk-labels" }, svg("path", { class: "gk-pointer", d: `M0 ${-outside - 1}l-6 -11h12z` }));
    const sun = this.geometry.gears.find((gear) => gear.kind === "sun");
    const radii = { sun: Math.max(14, sun.pitch_radius * 0.66 * this.scale), carrier: this.orbit * this.scale, ring: outside + 6 };
    this.arrows = {};
    for (const name of MEMBERS) {
      this.arrows[name] = { radius: radii[name], path: svg("path", { class: `gk-arrow gk-arrow-${name}` }) };
      this.labels.append(this.arrows[name].path);
    }
    this.letters = {};
    if (!this.small) for (const name of MEMBERS) this.addLetter(name);
    this.svg.append(this.labels);
  }

  // Names stand still and upright in the free corners, so that the turning parts stay clean.
  addLetter(name) {
    const [x, anchor] = { sun: [-HALF + 4, "start"], ring: [HALF - 4, "end"], carrier: [-HALF + 4, "start"] }[name];
    this.letters[name] = svg("text", { x, class: `gk-letter gk-letter-${name}`, "text-anchor": anchor });
    this.labels.append(this.letters[name]);
  }

  // Long names would meet each other, the mark and the ring's arrow: they stand in lines of their own, above and below the gears.
  placeLetters() {
    const long = MEMBERS.some((name) => this.letters[name].textContent.length > SIDE + (name === "carrier" ? 4 : 0));
    this.svg.classList.toggle("gk-long-names", long);
    this.svg.setAttribute("viewBox", `${-HALF} ${-HALF - (long ? ABOVE : 0)} ${2 * HALF} ${2 * HALF + (long ? ABOVE + BELOW : 0)}`);
    const top = -HALF + 18;
    const lines = { sun: long ? top - ABOVE : top, ring: long ? top - ABOVE / 2 : top, carrier: HALF - 8 + (long ? BELOW : 0) };
    for (const name of MEMBERS) this.letters[name].setAttribute("y", lines[name]);
  }

  // turns: how often each member has turned, seen from the housing; null for one that is not to be moved.
  setTurns(turns) {
    this.turns = turns;
    const carried = (turns.carrier ?? 0) * 2 * Math.PI;
    for (const { group, gear } of this.moving) {
      let turned = 0;
      for (const name of MEMBERS) turned += gear.turns[name] * (turns[name] ?? 0);
      // A pinion whose sun or carrier is hidden must not give the answer away: it only goes round with its pin.
      if (gear.kind === "pinion" && (turns.sun === null || turns.carrier === null)) turned = turns.carrier ?? 0;
      const spin = `rotate(${(turned * 360).toFixed(2)})`;
      if (!gear.centre_radius) { group.setAttribute("transform", spin); continue; }
      const angle = gear.centre_angle + carried;
      const x = (gear.centre_radius * Math.cos(angle)).toFixed(3);
      const y = (gear.centre_radius * Math.sin(angle)).toFixed(3);
      group.setAttribute("transform", `translate(${x} ${y}) ${spin}`);
    }
  }

  // roles: member -> "in" | "out" | "held" | "turned" | "free" | "joined" | "hidden" | ""
  setRoles(roles) {
    this.roles = roles;
    for (const name of MEMBERS) {
      for (const group of this.groups[name]) group.setAttribute("class", `gk-member gk-${name} gk-is-${roles[name] || "plain"}`);
      if (this.letters[name]) setText(this.letters[name], this.labelOf(name));
    }
    if (!this.small) this.placeLetters();
  }

  labelOf(name) {
    const gear = this.geometry.gears.find((candidate) => candidate.kind === name);
    const teeth = gear ? ` ${gear.teeth}` : "";
    const word = WORDS[this.roles[name]];
    return `${say(name)}${teeth}${word ? `: ${say(word)}` : ""}`;
  }

  // speeds: member -> a number, or null where there is nothing to show; the fastest gets the longest arrow.
  setSpeeds(speeds) {
    const fastest = Math.max(1e-9, ...MEMBERS.map((name) => Math.abs(speeds[name] ?? 0)));
    for (const [name, { radius, path }] of Object.entries(this.arrows)) {
      const share = (speeds[name] ?? 0) / fastest;
      path.setAttribute("d", arcArrow(radius, share * (name === "sun" ? 4.2 : 1.5), this.small ? 11 : 9));
    }
  }

  describe(text) {
    this.svg.setAttribute("aria-label", text);
  }
}

// A wedge that points outward along the angle 0.
function wedge(tip, foot, halfWidth) {
  return `M${tip.toFixed(2)} 0L${foot.toFixed(2)} ${halfWidth.toFixed(2)}L${foot.toFixed(2)} ${(-halfWidth).toFixed(2)}Z`;
}
