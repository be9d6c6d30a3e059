// The choice of another train in a panel. The kernel says which there are, so a page without Python offers none.

import { PanelModel } from "./panel_model.js";
import { dropDown } from "./controls.js";
import { freshPrefix, html, setText } from "./dom.js";
import { say } from "./words.js";

// Shows a panel of a kind, and a new one whenever the kernel has put another train into its state; returns how it is closed.
export function withTrainChoice(Kind, model, element) {
  const state = new PanelModel(model);
  const row = html("div", { class: "gk-line gk-trains" });
  const trouble = html("p", { class: "gk-trouble", role: "alert" });
  const id = `${freshPrefix()}-train`;
  let panel = null;
  const build = () => {
    const held = row.contains(document.activeElement);
    if (panel) panel.close();
    element.replaceChildren();
    panel = new Kind(model, element);
    element.querySelector(".gk-title").after(row, trouble);
    if (held) row.querySelector("select").focus({ preventScroll: true });
  };
  const offer = () => {
    const choices = state.get("trains");
    row.hidden = choices.length < 2;
    if (row.hidden) return;
    const held = row.contains(document.activeElement);
    const list = dropDown({ id, label: say("Train"), choices, value: state.get("train_name") }, (name) => {
      setText(trouble, "");
      state.send({ do: "train", name });
    });
    row.replaceChildren(list.row);
    if (held) list.list.focus({ preventScroll: true });
  };
  build();
  offer();
  state.hear("change:train", build);
  state.listen(["trains", "train_name"], offer);
  state.listenToMessages(({ train_trouble: words }) => { if (words) { setText(trouble, words); offer(); } });
  if (state.get("train_name")) requestAnimationFrame(() => setTimeout(() => state.send({ do: "trains" })));
  return () => { panel.close(); state.close(); };
}
