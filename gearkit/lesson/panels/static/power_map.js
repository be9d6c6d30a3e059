// Where power goes in a train with several ends: what comes in from the left, goes out to the right, and below the machines
// with their electrical branch. An arrow's width and its figure tell the power; dashed is electrical.

import { setText, svg } from "./dom.js";
import { decimal } from "./exact.js";
import { say } from "./words.js";

const WIDE = 460;
const GEARS = { x: 180, y: 34, width: 100 };
const ROW = 58;

export class PowerMap {
  constructor(ends) {
    this.ends = ends;
    const kinds = (kind) => ends.filter((end) => end.kind === kind);
    const [sides, machines] = [[kinds("input"), kinds("output")], kinds("machine")];
    const rows = Math.max(...sides.map((side) => side.length));
    this.foot = GEARS.y + rows * ROW;
    const high = this.foot + (machines.length ? 170 : 14);
    this.svg = svg("svg", { class: "gk-power-map", viewBox: `0 0 ${WIDE} ${high}`, role: "img" });
    this.arrows = new Map();
    this.svg.append(box(GEARS.x, GEARS.y, GEARS.width, rows * ROW, say("gears")));
    sides.forEach((side, k) => side.forEach((end, row) => this.addSide(end, k, GEARS.y + (row + 0.5) * ((rows * ROW) / side.length))));
    machines.forEach((end, k) => this.addMachine(end, (WIDE * (k + 1)) / (machines.length + 1), machines.length));
    if (machines.length) this.svg.append(box(WIDE / 2 - 90, high - 32, 180, 28, say("battery")));
  }

  addSide({ name, label }, right, y) {
    const x = right ? WIDE - 84 : 4;
    this.svg.append(box(x, y - 15, 80, 30, label));
    this.arrows.set(name, this.arrow(right ? [x, y] : [x + 80, y], right ? [GEARS.x + GEARS.width, y] : [GEARS.x, y]));
  }

  addMachine({ name }, middle) {
    const y = this.foot + 50;
    const into = Math.min(GEARS.x + GEARS.width - 14, Math.max(GEARS.x + 14, middle));
    this.svg.append(box(middle - 40, y, 80, 30, name));
    this.arrows.set(name, this.arrow([middle, y], [into, this.foot]));
    const store = Math.min(WIDE / 2 + 76, Math.max(WIDE / 2 - 76, middle));
    this.arrows.set(`${name} battery`, this.arrow([store, this.foot + 138], [middle, y + 30], "gk-electrical"));
  }

  // from: an end, to: the gears; power below 0 goes the other way
  arrow(from, to, kind = "") {
    const made = { from, to, line: svg("line", { class: `gk-flow ${kind}`.trim() }), head: svg("path", { class: "gk-flow-head" }), figure: svg("text", { class: "gk-flow-figure", "text-anchor": "middle" }) };
    this.svg.append(made.line, made.head, made.figure);
    return made;
  }

  // powers: name -> { power, electrical } in kW, or null where torques are not fixed
  draw(powers, words) {
    this.svg.setAttribute("aria-label", words);
    const every = powers ? Object.values(powers).flatMap(({ power, electrical }) => [Math.abs(power), Math.abs(electrical ?? 0)]) : [];
    const most = Math.max(1e-9, ...every);
    for (const { name, kind } of this.ends) {
      show(this.arrows.get(name), powers && powers[name].power, most);
      if (kind === "machine") show(this.arrows.get(`${name} battery`), powers && powers[name].electrical, most);
    }
  }
}

function box(x, y, width, height, words) {
  return svg("g", {}, svg("rect", { class: "gk-box", x, y, width, height, rx: 4 }), svg("text", { x: x + width / 2, y: y + height / 2 + 5, "text-anchor": "middle" }, words));
}

function show({ from, to, line, head, figure }, power, most) {
  const none = power === null || Math.abs(power) < 0.05;
  head.style.display = none ? "none" : "";
  const wide = none ? 1 : 1.5 + (7 * Math.abs(power)) / most;
  const [start, end] = power < 0 ? [to, from] : [from, to];
  const [dx, dy] = [end[0] - start[0], end[1] - start[1]];
  const length = Math.hypot(dx, dy);
  const [ux, uy] = [dx / length, dy / length];
  const size = 5 + wide * 0.7;
  const tip = none ? end : [end[0] - ux * size, end[1] - uy * size];
  for (const [key, value] of [["x1", start[0]], ["y1", start[1]], ["x2", tip[0]], ["y2", tip[1]], ["stroke-width", wide.toFixed(1)]]) line.setAttribute(key, value);
  head.setAttribute("d", `M${end[0]} ${end[1]}L${tip[0] - uy * size} ${tip[1] + ux * size}L${tip[0] + uy * size} ${tip[1] - ux * size}Z`);
  // Beside a slanting arrow the figure stands on the outer side.
  const level = Math.abs(dy) < 1;
  const middle = (start[0] + end[0]) / 2;
  figure.setAttribute("x", middle + (level ? 0 : middle < WIDE / 2 ? -42 : 42));
  figure.setAttribute("y", (start[1] + end[1]) / 2 + (level ? -wide / 2 - 7 : 4));
  setText(figure, power === null ? "?" : none ? "0" : `${decimal(Math.abs(power), 1)} kW`);
}
