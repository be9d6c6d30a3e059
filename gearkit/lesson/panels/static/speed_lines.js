// Speeds over one of the chosen speeds, all others as they are set: a straight line for each end, told apart by dash and name.

import { setText, svg } from "./dom.js";
import { shown } from "./exact.js";
import { roundScale } from "./levers.js";
import { say } from "./words.js";

const WIDE = 460;
const HIGH = 260;
const FRAME = { left: 58, right: 370, top: 22, bottom: 222 };
const DASHES = ["", "9 4", "3 3", "12 4 3 4", "6 2", "2 5"];
const GAP = 15;

export class SpeedLines {
  constructor(ends) {
    this.ends = ends;
    this.svg = svg("svg", { class: "gk-speed-lines", viewBox: `0 0 ${WIDE} ${HIGH}`, role: "img" });
    const { left, right, top, bottom } = FRAME;
    this.zero = svg("line", { class: "gk-axis", x1: left, x2: right });
    this.cursor = svg("line", { class: "gk-cursor", y1: top, y2: bottom });
    this.svg.append(svg("path", { class: "gk-axis", d: `M${left} ${top}V${bottom}H${right}` }), this.zero, this.cursor);
    const text = (x, y, anchor) => { const node = svg("text", { x, y, "text-anchor": anchor }); this.svg.append(node); return node; };
    [this.high, this.middle, this.low] = [top + 4, 0, bottom + 4].map((y) => text(left - 6, y, "end"));
    [this.from, this.to] = [text(left, bottom + 18, "middle"), text(right, bottom + 18, "middle")];
    this.name = text((left + right) / 2, bottom + 32, "middle");
    text(left - 50, 12, "start").append(say("r/min"));
    this.lines = ends.map((_, k) => {
      const made = { line: svg("line", { class: "gk-speed-trace", "stroke-dasharray": DASHES[k % DASHES.length] || null }), dot: svg("circle", { r: 4, class: "gk-speed-dot" }), label: text(right + 8, 0, "start") };
      this.svg.append(made.line, made.dot);
      return made;
    });
  }

  // across: { name, low, high, now }; speed(name, x): a number or null
  draw(across, speed, words) {
    this.svg.setAttribute("aria-label", words);
    this.svg.style.display = across ? "" : "none";
    if (!across) return;
    const values = this.ends.map(({ name }) => [across.low, across.now, across.high].map((x) => speed(name, x)));
    const sizes = values.flat().map((value) => value ?? 0);
    const reach = roundScale(Math.max(1, ...sizes));
    const low = Math.min(...sizes) < 0 ? -roundScale(-Math.min(...sizes)) : 0;
    const x = (value) => FRAME.left + ((value - across.low) / (across.high - across.low)) * (FRAME.right - FRAME.left);
    const y = (value) => FRAME.bottom - ((value - low) / (reach - low)) * (FRAME.bottom - FRAME.top);
    setAll(this.zero, { y1: y(0), y2: y(0) });
    setAll(this.cursor, { x1: x(across.now), x2: x(across.now) });
    this.middle.setAttribute("y", y(0) + 4);
    for (const [node, told] of [[this.high, shown(reach)], [this.middle, "0"], [this.low, low ? shown(low) : ""], [this.from, shown(across.low)], [this.to, shown(across.high)], [this.name, say("speed of {name}", { name: across.name })]]) setText(node, told);
    this.ends.forEach((_, k) => this.drawLine(this.lines[k], values[k], x, y, across));
    this.spreadLabels();
  }

  drawLine({ line, dot, label }, [first, now, last], x, y, across) {
    for (const node of [line, dot, label]) node.style.display = now === null ? "none" : "";
    if (now === null) return;
    setAll(line, { x1: x(across.low), y1: y(first), x2: x(across.high), y2: y(last) });
    setAll(dot, { cx: x(across.now), cy: y(now) });
    label.setAttribute("y", y(last) + 4);
  }

  // Names that would stand on each other are moved apart; ends on one shaft share a line and a name.
  spreadLabels() {
    const seen = this.lines.map((made, k) => ({ ...made, name: this.ends[k].label, at: Number(made.label.getAttribute("y")), key: ["y1", "y2"].map((key) => made.line.getAttribute(key)).join() }))
      .filter(({ label }) => label.style.display !== "none");
    const groups = new Map();
    for (const made of seen) groups.set(made.key, [...(groups.get(made.key) || []), made]);
    const order = [...groups.values()].sort((one, other) => one[0].at - other[0].at);
    let above = -Infinity;
    const places = order.map((group) => (above = Math.max(group[0].at, above + GAP)));
    const over = Math.max(0, (places.at(-1) ?? 0) - FRAME.bottom - 4);
    order.forEach((group, k) => group.forEach(({ label }, number) => {
      label.setAttribute("y", places[k] - over);
      label.style.display = number ? "none" : "";
      setText(label, group.map(({ name }) => name).join(", "));
    }));
  }
}

function setAll(node, values) {
  for (const [key, value] of Object.entries(values)) node.setAttribute(key, Number(value).toFixed(1));
}
