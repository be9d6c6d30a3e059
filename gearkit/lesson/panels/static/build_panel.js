// The panel in which a layout is put together: a form for each kind of part; drawing, chart and warnings from the kernel.

import { PanelModel } from "./panel_model.js";
import { button, dropDown, textBox, tickBox } from "./controls.js";
import { freshPrefix, guardKeys, html, scrollable, setText } from "./dom.js";
import { memberLabel } from "./members.js";
import { later, say, sayN } from "./words.js";

const KINDS = [["sets", later("Sets")], ["joins", later("Always joined")], ["elements", later("Elements")], ["ranges", later("Ranges")]];

// A part is kept as it is typed, in English words; the reader sees them in their own.
const TYPED = ["one-way clutch", "brake", "clutch", later("single"), later("double"), later("stepped"), later("bevel"), later("planets"), "reverse", "forward"];

function saidLine(line) {
  return line.replace(/\S+\.(?:sun|carrier|ring)|\b(?:input|output|housing)\b/g, memberLabel).replace(new RegExp(`(?<=[ ])(?:${TYPED.join("|")})(?=$|[ ,])`, "g"), (word) => say(word));
}

class BuildPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.prefix = freshPrefix();
    this.status = html("p", { class: "gk-status", role: "status", "aria-live": "polite" });
    this.trouble = html("p", { class: "gk-trouble", role: "alert" });
    this.buildForms();
    this.parts = new Map(KINDS.map(([kind]) => [kind, html("ul", { class: "gk-parts" })]));
    this.drawing = scrollable(html("figure", { class: "gk-drawing" }));
    this.chartBody = html("tbody", {});
    this.warnings = html("ul", { class: "gk-warnings", "aria-label": say("Worth a look") });
    this.drives = html("div", { class: "gk-line", role: "group", "aria-label": say("Combinations that drive") });
    element.append(this.frame());
    this.state.listen(["sets", "joins", "elements", "ranges", "found"], () => this.update());
    this.state.listen(["trouble", "told"], () => this.tell());
    this.update();
  }

  get(name) { return this.state.get(name); }

  send(message) { this.state.send(message); }

  add(kind, line) { this.send({ do: "add", kind, line }); }

  buildForms() {
    const number = (name, label, value, [min, max]) => {
      const box = guardKeys(html("input", { type: "number", id: `${this.prefix}-${name}`, min, max, value, inputmode: "numeric" }));
      return { box, row: html("label", { class: "gk-text" }, html("span", {}, label), box) };
    };
    this.kind = dropDown({ id: `${this.prefix}-kind`, label: say("Planets"), value: "single", choices: [["single", say("single")], ["double", say("in pairs")], ["stepped", say("stepped")], ["bevel", say("bevel gears")]] }, () => this.fitForms());
    this.counts = { sun: number("sun", say("Sun teeth"), 30, [1, 9999]), inner: number("inner", say("Planet on the sun"), 20, [1, 9999]), outer: number("outer", say("Planet in the ring"), 18, [1, 9999]), ring: number("ring", say("Ring teeth"), 66, [1, 9999]), planets: number("planets", say("How many planets"), 3, [1, 12]) };
    this.join = [say("Join"), say("with")].map((label, k) => dropDown({ id: `${this.prefix}-join-${k}`, label, value: "", choices: [] }, () => {}));
    this.element = dropDown({ id: `${this.prefix}-element`, label: say("Element"), value: "brake", choices: ["brake", "clutch", "one-way clutch"].map((kind) => [kind, say(kind)]) }, () => this.fitForms());
    this.elementName = textBox({ id: `${this.prefix}-name`, label: say("Name"), size: 3 });
    this.acts = [say("on"), say("and")].map((label, k) => dropDown({ id: `${this.prefix}-acts-${k}`, label, value: "", choices: [] }, () => {}));
    this.turns = dropDown({ id: `${this.prefix}-turns`, label: say("first one turns freely"), value: "forward", choices: [["forward", say("forward")], ["reverse", say("in reverse")]] }, () => {});
    this.rangeName = textBox({ id: `${this.prefix}-range`, label: say("Range"), size: 3 }, null, () => this.addRange());
    this.ticks = new Map();
    this.tickRow = html("span", { class: "gk-options" });
    this.file = textBox({ id: `${this.prefix}-file`, label: say("File"), size: 22, value: this.get("file") }, null, () => this.save());
  }

  form(legend, act, label, ...rows) {
    return html("fieldset", { class: "gk-choice" }, html("legend", {}, legend), html("div", { class: "gk-line" }, ...rows, button(label, act, "gk-primary")));
  }

  frame() {
    const title = this.get("title");
    const head = [say("Range"), say("Applied"), say("What it does"), say("Ratio")].map((word) => html("th", { scope: "col" }, word));
    this.chart = html("table", { class: "gk-table" }, html("caption", {}, say("Application chart")), html("thead", {}, html("tr", {}, ...head)), this.chartBody);
    const counts = Object.values(this.counts).map(({ row }) => row);
    const forms = [
      this.form(say("A planetary set"), () => this.addSet(), say("Add set"), this.kind.row, ...counts),
      this.form(say("One shaft"), () => this.addJoin(), say("Join"), this.join[0].row, this.join[1].row),
      this.form(say("A brake or clutch"), () => this.addElement(), say("Add element"), this.element.row, this.elementName.row, this.acts[0].row, this.acts[1].row, this.turns.row),
      this.form(say("A range"), () => this.addRange(), say("Add range"), this.rangeName.row, this.tickRow), this.drives];
    const lists = html("div", { class: "gk-part-lists" }, ...KINDS.map(([kind, words]) => html("div", {}, html("h4", {}, say(words)), this.parts.get(kind))));
    return html("section", { class: "gk-panel gk-build", "aria-label": title }, html("h3", { class: "gk-title" }, title),
      html("div", { class: "gk-beside" }, html("div", {}, ...forms, this.trouble),
        html("div", {}, this.drawing, scrollable(html("div", { class: "gk-scroll" }, this.chart)), this.warnings)),
      lists, html("div", { class: "gk-line" }, this.file.row, button(say("Save"), () => this.save(), "gk-primary")), this.status);
  }

  close() { this.state.close(); }

  fitForms() {
    const kind = this.kind.list.value;
    for (const name of ["sun", "ring"]) this.counts[name].row.hidden = kind === "bevel";
    for (const name of ["inner", "outer"]) this.counts[name].row.hidden = kind !== "stepped";
    this.acts[1].row.hidden = this.element.list.value === "brake";
    this.turns.row.hidden = this.element.list.value !== "one-way clutch";
  }

  addSet() {
    const kind = this.kind.list.value;
    const count = (name) => this.counts[name].box.value.trim() || "0";
    const teeth = { bevel: [], stepped: ["sun", "inner", "outer", "ring"] }[kind] || ["sun", "ring"];
    this.add("sets", `${this.get("found").next.set} ${kind} ${teeth.map(count).join("/")}, ${count("planets")} planets`);
  }

  addJoin() { this.add("joins", this.join.map(({ list }) => list.value).join(" = ")); }

  addElement() {
    const kind = this.element.list.value;
    const members = this.acts.slice(0, kind === "brake" ? 1 : 2).map(({ list }) => list.value);
    this.add("elements", `${this.elementName.box.value.trim()} ${kind} ${members.join(" ")}${kind === "one-way clutch" ? ` ${this.turns.list.value}` : ""}`);
  }

  addRange() {
    const applied = [...this.ticks].filter(([, { box }]) => box.checked).map(([name]) => name);
    this.add("ranges", `${this.rangeName.box.value.trim()}: ${applied.join(" ")}`);
  }

  save() { this.send({ do: "save", file: this.file.box.value }); }

  tell() {
    setText(this.trouble, this.get("trouble"));
    setText(this.status, this.get("told") || this.words());
  }

  words() {
    const { chart, warnings } = this.get("found");
    const sets = this.get("sets").length;
    if (!sets) return say("No set yet. Add the first one.");
    const drive = chart.filter(([, , , ratio]) => ratio !== "–").length;
    return say("{sets}, {elements}, {ranges}, {drive} of them driving; {warnings}.", {
      sets: sayN("{count} set", "{count} sets", sets), elements: sayN("{count} element", "{count} elements", this.get("elements").length),
      ranges: sayN("{count} range", "{count} ranges", chart.length), drive,
      warnings: warnings.length ? sayN("{count} thing worth a look", "{count} things worth a look", warnings.length) : say("nothing odd"),
    });
  }

  update() {
    const built = this.get("found");
    this.offerMembers(built.members);
    this.elementName.box.value = built.next.element;
    this.rangeName.box.value = built.next.range;
    this.offerElements(built.elements.filter(({ applied }) => applied).map(({ name }) => name));
    this.fitForms();
    if (this.drawn !== built.drawing) this.drawing.innerHTML = built.drawing;
    this.drawn = built.drawing;
    this.chartBody.replaceChildren(...built.chart.map(([name, ...cells]) => html("tr", {}, html("th", { scope: "row" }, name), ...cells.map((text) => html("td", {}, text)))));
    this.chart.hidden = !built.chart.length;
    this.warnings.replaceChildren(...built.warnings.map((text) => html("li", {}, text)));
    this.showDrives(built.drives);
    for (const [kind] of KINDS) this.showParts(kind);
    this.tell();
  }

  // A choice stays where it still can be made.
  offerMembers(members) {
    const lists = [...this.join, ...this.acts].map(({ list }) => list);
    lists.forEach((list, k) => {
      const before = list.value;
      list.replaceChildren(...members.map((name) => html("option", { value: name }, memberLabel(name))));
      list.value = members.includes(before) ? before : members[Math.min(k % 2 ? 2 : 0, members.length - 1)];
    });
  }

  offerElements(names) {
    if ([...this.ticks.keys()].join() === names.join()) return;
    this.ticks = new Map(names.map((name) => [name, tickBox({ id: `${this.prefix}-range-${name}`, label: name }, () => {})]));
    this.tickRow.replaceChildren(...[...this.ticks.values()].map(({ row }) => row));
  }

  showDrives(drives) {
    const fill = (applied) => { for (const [name, tick] of this.ticks) tick.set(applied.split(" ").includes(name)); };
    this.drives.replaceChildren(html("b", {}, drives.length ? say("These drive") : say("No combination drives yet.")),
      ...drives.map(([ratio, applied]) => button(`${ratio}: ${applied || say("nothing")}`, () => fill(applied))));
  }

  showParts(kind) {
    const lines = this.get(kind);
    this.parts.get(kind).replaceChildren(...lines.map((line, number) => {
      const out = button("✕", () => this.send({ do: "remove", kind, number }));
      out.setAttribute("aria-label", say("Take out {line}", { line: saidLine(line) }));
      return html("li", {}, out, " ", saidLine(line));
    }));
    this.parts.get(kind).parentElement.hidden = !lines.length;
  }
}

export default {
  render({ model, el }) {
    const panel = new BuildPanel(model, el);
    return () => panel.close();
  },
};
