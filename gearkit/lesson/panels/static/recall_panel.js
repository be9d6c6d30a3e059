// What is asked again at the opening of a lesson: a list that follows the answers, a form for each exercise as in its own
// lesson, and a button for more of them.

import { PanelModel } from "./panel_model.js";
import { button } from "./controls.js";
import { html } from "./dom.js";
import { ExercisePanel } from "./exercise_panel.js";
import { say, sayN } from "./words.js";

// The state of one form as the form of an exercise expects it: what the kernel shows, and the texts that were written.
class FormModel {
  constructor(model, place) {
    this.model = model;
    this.place = place;
  }

  get(name) { return name === "given" ? this.model.get("given")[this.place] ?? {} : this.model.get("forms")[this.place][name]; }

  set(name, value) {
    if (name !== "given") return;
    this.model.set("given", this.model.get("given").map((texts, place) => (place === this.place ? value : texts)));
  }

  save_changes() { this.model.save_changes(); }

  send(message) { this.model.send({ ...message, form: this.place }); }

  // A form hears of every change of the forms; what is its own and unchanged it leaves as it is.
  on(_event, act) { for (const name of ["forms", "given"]) this.model.on(`change:${name}`, act); }

  off(_event, act) { for (const name of ["forms", "given"]) this.model.off(`change:${name}`, act); }
}

class RecallPanel {
  constructor(model, element) {
    this.model = model;
    this.state = new PanelModel(model);
    this.list = html("ul", { class: "gk-recall", "aria-label": say("What is asked again"), "aria-live": "polite" });
    this.button = button(say("More questions"), () => this.state.send({ do: "more" }));
    this.place = html("div", {});
    this.forms = [];
    element.append(html("section", { class: "gk-panel gk-recalls", "aria-label": model.get("title") },
      html("h3", { class: "gk-title" }, model.get("title")), html("p", {}, model.get("lead")), this.list, this.place, this.button));
    this.state.listen(["lines", "forms", "more"], () => this.update());
    this.update();
  }

  close() {
    this.state.close();
    for (const form of this.forms) form.close();
  }

  update() {
    this.list.replaceChildren(...this.state.get("lines").map(({ item, lesson, title, words, sign }) => html("li", {},
      html("span", { class: "gk-sign", "aria-hidden": "true" }, sign), ` ${say("{line} (lesson {line2}, {line3}): {line4}", { line: title, line2: lesson, line3: item, line4: words })}`)));
    this.list.hidden = this.list.childElementCount === 0;
    const count = this.state.get("forms").length;
    while (this.forms.length < count) this.forms.push(new ExercisePanel(new FormModel(this.model, this.forms.length), this.place));
    const more = this.state.get("more");
    this.button.hidden = more === 0;
    this.button.textContent = sayN("One more question", "{count} more questions", more);
  }
}

export default {
  render({ model, el }) {
    const panel = new RecallPanel(model, el);
    return () => panel.close();
  },
};
