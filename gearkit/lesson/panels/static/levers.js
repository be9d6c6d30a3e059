// Levers: each set is a straight line through three points whose heights are speeds. Joined members stand level, because
// they turn together; a dashed line joins them from one set to the next.

import { freshPrefix, setText, svg } from "./dom.js";
import { shown } from "./exact.js";

const HEIGHT = 320;
const TOP = 26;
const BOTTOM = 44;
const SHAPES = { sun: "circle", carrier: "square", ring: "triangle" };

function symbolOf(member) {
  if (SHAPES[member] === "circle") return svg("circle", { r: 6.5 });
  if (SHAPES[member] === "square") return svg("rect", { x: -6, y: -6, width: 12, height: 12 });
  return svg("path", { d: "M0 -8L7.5 6H-7.5Z" });
}

// The next of 1, 1.5, 2, 3, 5 times a power of ten: a scale that does not creep while a slider moves.
function roundScale(size) {
  const power = 10 ** Math.floor(Math.log10(Math.max(size, 1e-6)));
  for (const step of [1, 1.5, 2, 3, 5, 10]) if (size <= step * power * 1.0001) return step * power;
  return 10 * power;
}

export class Levers {
  // sets: [{ name, weights: [a, b], labels?: {sun, carrier, ring} }], wide: pixels for each set
  constructor(sets, wide) {
    this.prefix = freshPrefix();
    this.wide = wide;
    this.width = sets.length * wide + 46;
    this.svg = svg("svg", { viewBox: `0 0 ${this.width} ${HEIGHT}`, class: "gk-levers", role: "img" });
    this.scaleLabels = svg("g", { class: "gk-scale" });
    this.links = svg("g", { class: "gk-links" });
    this.svg.append(this.scaleLabels, this.links);
    this.sets = sets.map((set, index) => this.buildSet(set, index));
  }

  buildSet(set, index) {
    const left = 46 + index * this.wide + 22;
    const right = 46 + (index + 1) * this.wide - 22;
    const group = svg("g", { class: "gk-lever" });
    const line = svg("line", { class: "gk-lever-line" });
    group.append(line);
    const nodes = {};
    for (const member of ["sun", "carrier", "ring"]) {
      const arrow = svg("line", { class: `gk-lever-arrow gk-arrow-${member}` });
      const figure = svg("text", { class: "gk-lever-figure", "text-anchor": "middle" });
      const mark = svg("g", { class: `gk-node gk-node-${member}` }, symbolOf(member));
      const name = svg("text", { class: "gk-lever-name", "text-anchor": "middle", y: HEIGHT - 24 });
      group.append(arrow, mark, figure, name);
      nodes[member] = { arrow, figure, mark, name };
    }
    const title = svg("text", { class: "gk-lever-title", "text-anchor": "middle", x: (left + right) / 2, y: HEIGHT - 6 });
    setText(title, set.name);
    group.append(title);
    this.svg.append(group);
    return { ...set, left, right, line, nodes, group };
  }

  // The carrier divides the lever from sun to ring in the proportion b : a; a point outside for a double-pinion set.
  placesOf({ weights: [a, b], left, right }) {
    const places = { sun: 0, carrier: b / (a + b), ring: 1 };
    const least = Math.min(...Object.values(places));
    const most = Math.max(...Object.values(places));
    const at = (place) => left + ((place - least) / (most - least)) * (right - left);
    return { sun: at(places.sun), carrier: at(places.carrier), ring: at(places.ring) };
  }

  // speeds: one { sun, carrier, ring } for each set, numbers or null; hidden: names such as "0.carrier" not to be shown.
  draw(speeds, options = {}) {
    const hidden = options.hidden || new Set();
    const all = speeds.flatMap((set, k) => ["sun", "carrier", "ring"]
      .filter((member) => set[member] !== null && !hidden.has(`${k}.${member}`)).map((member) => set[member]));
    const highest = Math.max(0, ...all);
    const lowest = Math.min(0, ...all);
    const reach = roundScale(Math.max(highest, -lowest, 1e-6));
    const up = highest > 0 || lowest === 0 ? reach : reach * 0.12;
    const down = lowest < 0 ? reach : reach * 0.12;
    const y = (speed) => TOP + ((up - speed) / (up + down)) * (HEIGHT - TOP - BOTTOM);
    this.drawScale(y, up, down, reach, options.unit || "");
    this.points = speeds.map((set, k) => this.drawSet(this.sets[k], set, y, (member) => hidden.has(`${k}.${member}`)));
    // The straight line would give a hidden height away.
    if (options.withoutLine) for (const set of this.sets) set.line.style.display = "none";
    this.drawLinks(options.joined || []);
  }

  drawScale(y, up, down, reach, unit) {
    const key = `${up} ${down} ${unit}`;
    if (key === this.scaleKey) return;
    this.scaleKey = key;
    this.scaleLabels.replaceChildren();
    for (const share of [1, 0.5, 0, -0.5, -1]) {
      const speed = share * reach;
      if (speed > up * 1.001 || -speed > down * 1.001) continue;
      const kind = share === 0 ? "gk-zero" : "gk-grid";
      this.scaleLabels.append(svg("line", { class: kind, x1: 46, x2: this.width - 4, y1: y(speed), y2: y(speed) }),
        svg("text", { class: "gk-scale-figure", x: 42, y: y(speed) + 4, "text-anchor": "end" }, shown(speed, reach < 1 ? 2 : 1)));
    }
    this.scaleLabels.append(svg("text", { class: "gk-scale-figure", x: 4, y: 12 }, unit));
  }

  drawSet(set, speeds, y, isHidden) {
    const places = this.placesOf(set);
    const points = {};
    for (const member of ["sun", "carrier", "ring"]) {
      const { arrow, figure, mark, name } = set.nodes[member];
      const speed = isHidden(member) ? null : speeds[member];
      const x = places[member];
      name.setAttribute("x", x);
      setText(name, (set.labels && set.labels[member]) || member);
      const seen = speed !== null && speed !== undefined;
      for (const node of [arrow, figure, mark]) node.style.display = seen ? "" : "none";
      if (!seen) continue;
      const height = y(speed);
      points[member] = [x, height];
      mark.setAttribute("transform", `translate(${x} ${height})`);
      for (const [key, value] of [["x1", x], ["x2", x], ["y1", y(0)], ["y2", height]]) arrow.setAttribute(key, value);
      figure.setAttribute("x", x);
      figure.setAttribute("y", height + (speed < 0 ? 22 : -12));
      setText(figure, shown(speed, Math.abs(speed) < 20 ? 3 : 0));
    }
    this.drawLine(set.line, Object.values(points));
    return points;
  }

  drawLine(line, points) {
    // A lever needs two points; it is drawn through the outermost of those that are known.
    line.style.display = points.length > 1 ? "" : "none";
    if (points.length < 2) return;
    const ordered = points.slice().sort((one, other) => one[0] - other[0]);
    const [first, last] = [ordered[0], ordered[ordered.length - 1]];
    for (const [key, value] of [["x1", first[0]], ["y1", first[1]], ["x2", last[0]], ["y2", last[1]]]) line.setAttribute(key, value);
  }

  // joined: [[[set, member], [set, member]], ...]
  drawLinks(joined) {
    this.links.replaceChildren();
    for (const [[k, member], [m, other]] of joined) {
      const from = this.points[k] && this.points[k][member];
      const to = this.points[m] && this.points[m][other];
      if (from && to) this.links.append(svg("line", { class: "gk-link", x1: from[0], y1: from[1], x2: to[0], y2: to[1] }));
    }
  }

  describe(text) {
    this.svg.setAttribute("aria-label", text);
  }
}
