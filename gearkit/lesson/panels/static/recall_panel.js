// What is asked again at the opening of a lesson: a list that follows the answers, and a button for more of it.

import { PanelModel } from "./panel_model.js";
import { button } from "./controls.js";
import { html } from "./dom.js";

class RecallPanel {
  constructor(model, element) {
    this.state = new PanelModel(model);
    this.list = html("ul", { class: "gk-recall", "aria-label": "What is asked again", "aria-live": "polite" });
    this.button = button("More questions", () => this.state.send({ do: "more" }));
    element.append(html("section", { class: "gk-panel", "aria-label": model.get("title") },
      html("h3", { class: "gk-title" }, model.get("title")), html("p", {}, model.get("lead")), this.list, this.button));
    this.state.listen(["lines", "more"], () => this.update());
    this.update();
  }

  close() { this.state.close(); }

  update() {
    const lines = this.state.get("lines");
    this.list.replaceChildren(...lines.map(({ item, lesson, title, words, sign }) => html("li", {},
      html("span", { class: "gk-sign", "aria-hidden": "true" }, sign),
      ` ${title} (lesson ${lesson}, ${item}): ${words}`)));
    this.list.hidden = lines.length === 0;
    const more = this.state.get("more");
    this.button.hidden = more === 0;
    this.button.textContent = more === 1 ? "One more question" : `${more} more questions`;
  }
}

export default {
  render({ model, el }) {
    const panel = new RecallPanel(model, el);
    return () => panel.close();
  },
};
