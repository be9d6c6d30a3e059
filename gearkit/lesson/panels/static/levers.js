// Levers: an upright bar for each set (or for sets that share two members), its members as points on it at distances in
// tooth counts, and each member's speed as an arrow sideways. The tips of one lever lie on one straight line.

import { html, scrollable, setText, svg } from "./dom.js";
import { shown } from "./exact.js";
import { say } from "./words.js";

const TOP = 44;
const BOTTOM = 26;
// From the top node of a lever to the lowest, in px.
const SPAN = 260;
const STUB = 24;
// Of a train's levers: as low as they may be, and what two names below each other need.
const LOW = 175;
const NAME_ROOM = 23;
// Mean width of a letter of a name, in px, rounded up.
const LETTER = 7;
// Of its full size: its letters of 13 px are then 11 px high.
const READABLE = 11 / 13;
// Room for a figure such as −4500 beyond the longest arrow, in px.
const FIGURE = 52;

// The next of 1, 1.5, 2, 3, 5 times a power of ten: a scale that does not creep while a slider moves.
export function roundScale(size) {
  const power = 10 ** Math.floor(Math.log10(Math.max(size, 1e-6)));
  for (const step of [1, 1.5, 2, 3, 5]) if (size <= step * power * 1.0001) return step * power;
  return 10 * power;
}

// The three points of one set, ring on top: the carrier divides the bar from ring to sun in the proportion S : R.
export function leverOfSet(name, [a, b]) {
  return { title: name, nodes: [
    { key: "ring", place: 0, label: say("ring"), kind: "ring" },
    { key: "carrier", place: a / (a + b), label: say("carrier"), kind: "carrier" },
    { key: "sun", place: 1, label: say("sun"), kind: "sun" }] };
}

export class Levers {
  // wide: pixels for each lever; span: from its top node to the lowest, in px
  constructor(wide, span = SPAN) {
    this.wide = wide;
    this.span = span;
    // One drawing for each lever, so that they stand below each other where the page is narrow.
    this.element = scrollable(html("div", { class: "gk-levers", role: "img" }));
  }

  // levers: [{ title, nodes: [{ key, place (0 on top to 1), label, kind }] }]
  setLevers(levers) {
    this.element.replaceChildren();
    this.columns = levers.map((lever) => this.buildLever(lever));
  }

  buildLever(lever) {
    // Long names push the bar, and with it the drawing's right edge, further right.
    const longest = Math.max(...lever.nodes.map(({ label }) => label.length)) * LETTER + 14;
    const bar = Math.max(this.wide * 0.5, longest);
    const width = this.wide * 0.5 + bar;
    const y = (place) => TOP + place * this.span;
    const foot = lever.nodes.length > 1 ? y(Math.max(...lever.nodes.map(({ place }) => place))) : TOP + STUB;
    const drawn = svg("svg", { viewBox: `0 0 ${width} ${foot + BOTTOM}`, style: `flex-basis:${width}px;min-width:${Math.ceil(width * READABLE)}px`, "aria-hidden": "true" });
    this.element.append(drawn);
    const column = { bar, nodes: [], line: svg("line", { class: "gk-speed-line" }) };
    drawn.append(svg("line", { class: "gk-bar", x1: bar, x2: bar, y1: TOP, y2: foot }),
      svg("text", { class: "gk-lever-title", x: bar, y: 14, "text-anchor": "middle" }, lever.title), column.line);
    for (const node of lever.nodes) {
      const height = y(node.place);
      // In a whole train the colour tells the shaft, as in its stick diagram; in one set it tells the member.
      const style = node.role ? `--gk-own: var(--gk-${node.role})` : "";
      const arrow = svg("path", { class: `gk-lever-arrow gk-arrow-${node.kind}`, style });
      const figure = svg("text", { class: "gk-lever-figure" });
      drawn.append(svg("line", { class: "gk-lever-row", x1: 4, x2: bar, y1: height, y2: height }),
        svg("text", { class: "gk-lever-name", x: 4, y: height - 8 }, node.label), arrow,
        svg("g", { class: `gk-node gk-node-${node.kind}`, style, transform: `translate(${bar} ${height})` }, symbolOf(node.kind)), figure);
      column.nodes.push({ ...node, height, arrow, figure });
    }
    return column;
  }

  // speeds: key -> a number, or null where there is nothing to show; options: { withoutLine, reach, digits }, reach: the speed that the
  // longest arrow stands for
  draw(speeds, options = {}) {
    const sizes = Object.values(speeds).map((speed) => Math.abs(speed ?? 0));
    const reach = options.reach ?? roundScale(Math.max(1e-6, ...sizes));
    const unit = (this.wide * 0.5 - FIGURE) / reach;
    for (const column of this.columns) {
      const tips = column.nodes.map((node) => this.drawArrow(column, node, speeds[node.key] ?? null, unit, options.digits)).filter(Boolean);
      this.drawLine(column.line, tips, options.withoutLine);
    }
  }

  drawArrow({ bar }, { height, arrow, figure }, speed, unit, digits = Math.abs(speed) < 20 ? 3 : 0) {
    arrow.style.display = figure.style.display = speed === null ? "none" : "";
    if (speed === null) return null;
    const tip = bar + speed * unit;
    const head = Math.sign(speed) * Math.min(9, Math.abs(tip - bar));
    arrow.setAttribute("d", speed === 0 ? "" : `M${bar} ${height}H${tip.toFixed(1)}m${-head} -5l${head} 5l${-head} 5`);
    figure.setAttribute("x", (tip + (speed < 0 ? -4 : 10)).toFixed(1));
    figure.setAttribute("y", height + (speed < 0 ? 17 : -8));
    figure.setAttribute("text-anchor", speed < 0 ? "middle" : "start");
    setText(figure, shown(speed, digits));
    return [tip, height];
  }

  drawLine(line, tips, without) {
    const seen = tips.length > 1 && !without;
    line.style.display = seen ? "" : "none";
    if (!seen) return;
    const [first, last] = [tips[0], tips[tips.length - 1]];
    for (const [key, value] of [["x1", first[0]], ["y1", first[1]], ["x2", last[0]], ["y2", last[1]]]) line.setAttribute(key, value);
  }

  describe(text) {
    this.element.setAttribute("aria-label", text);
  }
}

// The levers of a whole train, three of which fit beside each other, and as low as their names have room, so that they are seen
// together with the elements above them.
export function leversOfTrain(train) {
  const gaps = train.levers.flatMap(({ nodes }) => nodes.slice(1).map(({ place }, k) => Math.abs(place - nodes[k].place))).filter((gap) => gap > 0.02);
  const levers = new Levers(train.levers.length > 2 ? 240 : 290, Math.min(SPAN, Math.max(LOW, NAME_ROOM / Math.min(1, ...gaps))));
  levers.setLevers(train.levers);
  return levers;
}

// Sun round, carrier square, ring triangular; where members of several kinds are one shaft, a plain point.
function symbolOf(kind) {
  if (kind === "carrier") return svg("rect", { x: -5.5, y: -5.5, width: 11, height: 11 });
  if (kind === "ring") return svg("path", { d: "M0 -7.5L7 5.5H-7Z" });
  return svg("circle", { r: kind === "sun" ? 6 : 5 });
}
