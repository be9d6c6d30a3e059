// A sheet that was handed out: answers go into boxes, are kept in this browser, and leave as the notebook that is handed in.

import { saveFile } from "./save_file.js";
import { setText } from "./dom.js";
import { HANDED } from "./handed.js";
import { say } from "./words.js";

const REST = 300;
// With the name of another kernel the notebook would open with a question.
const KERNEL = { name: "python", display_name: "Python (Pyodide)", language: "python" };

export class SheetPage {
  // stored: { notebook, name, kept }; python: a PythonSide, or null
  constructor({ notebook, name, kept, open }, shelf, python) {
    this.notebook = notebook;
    this.name = name;
    this.key = `gearkit/sheet ${kept}`;
    this.shelf = shelf;
    this.python = python;
    this.forms = new Map([...document.querySelectorAll(".gk-answer")].map((form) => [form.dataset.item, form]));
    this.given = this.keptAnswers();
    for (const [item, form] of this.forms) this.listen(item, form);
    document.getElementById("gk-save").addEventListener("click", () => this.save());
    const cells = document.getElementById("gk-cells");
    if (cells) cells.addEventListener("click", () => this.toCells(open));
    document.documentElement.dataset.panels = "live";
  }

  keptAnswers() {
    try { return JSON.parse(this.shelf.getItem(this.key)) || {}; } catch { return {}; }
  }

  listen(item, form) {
    for (const box of form.querySelectorAll("input")) {
      box.value = (this.given[item] || {})[box.name] || "";
      box.addEventListener("input", () => {
        this.given[item] = Object.fromEntries([...form.querySelectorAll("input")].map(({ name, value }) => [name, value.trim()]));
        try { this.shelf.setItem(this.key, JSON.stringify(this.given)); } catch { /* the end of the page says so */ }
        clearTimeout(form.resting);
        form.resting = setTimeout(() => this.ask(item), REST);
      });
    }
  }

  ask(item) {
    if (this.python && Object.values(this.given[item] || {}).some(Boolean)) this.python.read(item, this.given[item]);
    else this.hear({ item, words: "" });
  }

  askAll() { for (const item of this.forms.keys()) this.ask(item); }

  hear({ item, words }) { setText(this.forms.get(item).querySelector(".gk-reads"), words); }

  save() {
    saveFile(this.name, `${JSON.stringify(answered(this.notebook, this.given), null, 1)}\n`);
    const blank = [...this.forms.keys()].filter((item) => !Object.values(this.given[item] || {}).some(Boolean));
    const saved = say("Saved as {file}, where your browser puts what it downloads: hand in this file.", { file: this.name });
    const left = blank.length ? say("Not answered: {exercises}.", { exercises: blank.join(", ") }) : say("All exercises have an answer.");
    setText(document.getElementById("gk-told"), `${saved} ${left}`);
  }

  // The notebooks' page takes the sheet from there, under the name under which it is handed in.
  toCells(address) {
    try {
      this.shelf.setItem(HANDED + this.name, JSON.stringify({ back: location.href, notebook: forCells(this.notebook, this.given) }));
      location.href = address;
    } catch {
      setText(document.getElementById("gk-told"), say("This browser has no room left for a notebook: answer here, or save the sheet and open that file in JupyterLab."));
    }
  }
}

// The notebook as it was handed out, with the answers in their cells, written as one would write them in JupyterLab.
export function answered(notebook, given) {
  const cells = notebook.cells.map((cell) => {
    const item = ((cell.metadata || {}).gearkit || {}).item;
    const parts = item && given[item];
    return parts && Object.values(parts).some(Boolean) ? { ...cell, source: callOf(item, parts) } : cell;
  });
  return { ...notebook, cells };
}

export function forCells(notebook, given) {
  return { ...answered(notebook, given), metadata: { ...notebook.metadata, kernelspec: KERNEL } };
}

// A text of JSON is one of Python too.
function callOf(item, parts) {
  const names = Object.keys(parts);
  const texts = names.map((name) => (name === "answer" ? "" : `${name}=`) + JSON.stringify(parts[name]));
  return `answer(${JSON.stringify(item)}${names.length === 1 ? ", " : ",\n       "}${texts.join(",\n       ")})`;
}
