// The choice of a language, and what to do then with a page that is open.

import { PanelModel } from "./panel_model.js";
import { choice } from "./controls.js";
import { html } from "./dom.js";

export default {
  render({ model, el }) {
    const state = new PanelModel(model);
    const buttons = choice(
      { id: `language-${Math.random().toString(36).slice(2)}`, legend: model.get("legend"), choices: model.get("choices"), value: model.get("chosen") },
      (code) => { state.set({ chosen: code }); state.save(); });
    const told = html("p", { "aria-live": "polite" }, model.get("told"));
    el.append(html("section", { class: "gk-panel", "aria-label": model.get("title") }, buttons.row, told));
    state.listen(["chosen", "told"], () => {
      buttons.set(model.get("chosen"));
      told.textContent = model.get("told");
    });
    return () => state.close();
  },
};
