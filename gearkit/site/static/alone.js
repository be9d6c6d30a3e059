// What a page does for its panels without Python: it keeps predictions and opens what they open.

import { plainNumber } from "./plain_number.js";

// Opens the case that was predicted, or says what is wrong with the number; returns whether it could be read.
export function openByItself(model, { kind, figure, case: name }, unit) {
  const read = figure ? plainNumber(figure, unit) : { figure: "" };
  if (read.trouble) return read;
  model.set("prediction", { kind, figure: read.figure, typed: figure, case: name });
  model.set("opened", [...model.get("opened"), name]);
  return read;
}

export class Alone {
  // panels: name -> { model, lesson, about, unit, facts }; record: a KeptRecord
  constructor(panels, record) {
    this.panels = panels;
    this.record = record;
    this.last = new Map();
  }

  begin() {
    for (const { model, lesson, about } of this.panels.values()) if (lesson) model.take({ history: this.record.history(lesson, about) });
  }

  hear({ panel: name, state, content }) {
    const panel = this.panels.get(name);
    if (content && content.do === "predict") this.predict(panel, content);
    if (state && state.explanation && panel.lesson) this.explain(panel, state.explanation);
  }

  predict(panel, said) {
    const { model, lesson, about, unit, facts } = panel;
    const { trouble, figure } = openByItself(model, said, unit);
    if (trouble) { model.tell("msg:custom", { trouble }); return; }
    if (!lesson) return;
    const prediction = [...crypto.getRandomValues(new Uint8Array(4))].map((byte) => byte.toString(16).padStart(2, "0")).join("");
    this.last.set(`${about} ${said.case}`, prediction);
    this.record.add("prediction", {
      prediction, lesson, panel: about, case: said.case, facts: Object.fromEntries(facts.map((name) => [name, model.get(name)])),
      said: { kind: said.kind, figure, typed: said.figure },
    });
    model.take({ history: this.record.history(lesson, about) });
  }

  explain({ about }, { case: name, text }) {
    this.record.add("explanation", { prediction: this.last.get(`${about} ${name}`) || "", case: name, text: text.slice(0, 2000) });
  }
}
