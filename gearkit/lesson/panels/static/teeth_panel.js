// The tooth-count panel: counts in; whether the gears go together, which counts close by do, the six ratios, the picture.

import { Crank } from "./turning.js";
import { FrontView } from "./front_view.js";
import { PanelModel } from "./panel_model.js";
import { button, choice, sliderWithBox, tickBox } from "./controls.js";
import { freshPrefix, html, scrollable, setText } from "./dom.js";
import { shown, shownExact } from "./exact.js";
import { doubleSetGeometry, singleSetGeometry } from "./gear_outline.js";
import { caseWord } from "./one_set_cases.js";
import { LIMITS, checksOf, nearest, pairOf, sixWays } from "./tooth_counts.js";
import { RANGE } from "./verdicts.js";
import { later, say } from "./words.js";

const COUNTS = [["sun", later("Sun teeth S")], ["planet", later("Planet teeth P")], ["ring", later("Ring teeth R")], ["planets", later("Planets N")]];

class TeethPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.front = new FrontView();
    this.crank = new Crank(this.prefix, (turns) => this.turnTo(turns));
    this.crank.setReference(say("Turns of the sun, ring held"));
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.buildControls();
    this.buildTables();
    element.append(this.frame());
    this.state.listen(["pinions", "sun", "planet", "ring", "planets", "ring_follows"], () => this.update());
    this.update();
  }

  get(name) { return this.state.get(name); }

  buildControls() {
    this.pinions = choice({ id: `${this.prefix}-pinions`, legend: say("Planets"), choices: [["single", say("single, each on sun and ring")], ["double", say("in pairs, one on the sun, one in the ring")]], value: this.get("pinions") },
      (pinions) => this.change({ pinions }));
    this.sliders = Object.fromEntries(COUNTS.map(([name, label]) => [name, sliderWithBox(
      { id: `${this.prefix}-${name}`, label: say(label), min: LIMITS[name][0], max: LIMITS[name][1], value: this.get(name) }, (value) => this.change({ [name]: value }))]));
    this.follows = tickBox({ id: `${this.prefix}-follows`, label: say("The ring follows: R = S + 2P"), value: this.get("ring_follows") }, (on) => this.change({ ring_follows: on }));
    this.offers = html("div", { class: "gk-line", role: "group", "aria-label": say("Nearest counts that go together") });
  }

  buildTables() {
    this.checks = html("tbody", {});
    this.checkTable = html("table", { class: "gk-table gk-task-table" }, html("caption", {}, say("Do the gears go together?")),
      html("thead", {}, html("tr", {}, ...[say("Condition"), say("Met"), say("Why")].map((word) => html("th", { scope: "col" }, word)))), this.checks);
    this.ways = html("tbody", {});
    this.wayTable = html("table", { class: "gk-table gk-teeth-ways" }, html("caption", {}, say("The six ways: one member held, one drives, one is driven")),
      html("thead", {}, html("tr", {}, ...[say("Held"), say("Drives"), say("Driven"), say("Ratio"), say("Decimal"), say("Case")].map((word) => html("th", { scope: "col" }, word)))), this.ways);
  }

  frame() {
    const title = this.get("title");
    return html("section", { class: "gk-panel gk-teeth", "aria-label": title }, html("h3", { class: "gk-title" }, title), this.pinions.row,
      html("div", { class: "gk-side-by-side" },
        html("div", { class: "gk-stack" }, ...COUNTS.map(([name]) => this.sliders[name].row), this.follows.row, this.crank.row), html("figure", {}, this.front.svg)),
      this.status, scrollable(html("div", { class: "gk-scroll" }, this.checkTable)), this.offers, scrollable(html("div", { class: "gk-scroll" }, this.wayTable)));
  }

  close() {
    this.crank.setRunning(false);
    this.state.close();
  }

  // The ring that follows is kept right in the state too, so that Python reads what the panel shows.
  change(changes) {
    const next = { ...this.counts(), ring_follows: this.get("ring_follows"), ...changes };
    if (next.pinions === "single" && next.ring_follows) next.ring = next.sun + 2 * next.planet;
    this.state.set(next);
  }

  counts() { return Object.fromEntries(["pinions", "sun", "planet", "ring", "planets"].map((name) => [name, this.get(name)])); }

  update() {
    const teeth = this.counts();
    const single = teeth.pinions === "single";
    const follows = single && this.get("ring_follows");
    for (const [name] of COUNTS) this.sliders[name].set(teeth[name]);
    this.pinions.set(teeth.pinions);
    this.follows.set(this.get("ring_follows"));
    this.follows.row.hidden = !single;
    for (const control of [this.sliders.ring.slider, this.sliders.ring.box]) control.disabled = follows;
    const checks = checksOf(teeth);
    this.showChecks(checks);
    this.showOffers(teeth);
    this.showWays(teeth);
    const words = this.words(teeth, checks);
    setText(this.status, words);
    this.showFront(teeth, words);
  }

  words({ pinions, sun, planet, ring, planets }, checks) {
    const missed = checks.filter(({ met }) => !met).map(({ within }) => within);
    const what = pinions === "single" ? say("{planets} planets of {planet}", { planets, planet }) : say("{planets} pairs of planets of {planet}", { planets, planet });
    return say("Sun {sun}, {what}, ring {ring}: {missed}", { sun, what, ring, missed: missed.length ? say("does not go together as it stands (not met: {missed}).", { missed: missed.join(", ") }) : say("goes together, planets at equal spacing.") });
  }

  showChecks(checks) {
    this.checks.replaceChildren(...checks.map(({ name, met, words }) => html("tr", {}, html("th", { scope: "row" }, name),
      html("td", { class: met ? "gk-sign-right" : "gk-sign-wrong" }, met ? say("✓ met") : say("○ not met")), html("td", {}, words))));
  }

  showOffers(teeth) {
    const offers = nearest(teeth);
    const label = (other) => `S ${other.sun}, P ${other.planet}, R ${other.ring}, N ${other.planets}`;
    this.offers.replaceChildren(html("b", {}, offers.length ? say("Nearest counts that go together") : say("No tooth counts near these go together.")),
      ...offers.map(({ far, ...other }) => button(label(other), () => this.change(other))));
  }

  showWays(teeth) {
    const ways = teeth.pinions === "double" && teeth.ring === teeth.sun ? [] : sixWays(teeth);
    this.ways.replaceChildren(...ways.map(({ held, drives, driven, ratio }) => html("tr", {}, html("th", { scope: "row" }, say(held)),
      ...[say(drives), say(driven), shownExact(ratio), shown(ratio), say(caseWord({ verdict: RANGE, ratio }))].map((text) => html("td", {}, text)))));
  }

  showFront(teeth, words) {
    const { pinions, sun, planet, ring, planets } = teeth;
    const [gapless, drawn] = [pinions === "double" && ring <= sun, pinions === "single" ? () => singleSetGeometry(sun, planet, planets, ring) : () => doubleSetGeometry(sun, planet, planets, ring, pairOf(sun, ring, planet))];
    this.front.svg.style.display = gapless ? "none" : "";
    const turns = pinions === "single" ? ring === sun + 2 * planet : ring - sun > 2 * planet && ring - sun <= 4 * planet;
    this.crank.press.disabled = !turns;
    this.crank.slider.slider.disabled = this.crank.slider.box.disabled = !turns;
    if (!turns) this.crank.setRunning(false);
    if (gapless) return;
    this.carrier = (pinions === "single" ? sun : -sun) / (pinions === "single" ? sun + ring : ring - sun);
    this.front.setGeometry(drawn());
    this.front.describe(say("Front view. {words}", { words }));
    this.turnTo(turns ? this.crank.turns : 0);
  }

  turnTo(turns) {
    this.front.setTurns({ sun: turns, carrier: turns * this.carrier, ring: 0 });
  }
}

export default {
  render({ model, el }) {
    const panel = new TeethPanel(model, el);
    return () => panel.close();
  },
};
