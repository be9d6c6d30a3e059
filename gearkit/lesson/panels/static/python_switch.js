// The switch that shows or folds the working in Python: it opens the notebook's folded cells, as a click on each would.

import { button } from "./controls.js";
import { html, setText } from "./dom.js";
import { later, say, speak } from "./words.js";

const SHOW = later("Show the working in Python");
const FOLD = later("Fold the working in Python");

export default {
  render({ model, el }) {
    speak(model.get("messages"));
    const opened = new Set();
    const press = button(say(SHOW), () => {
      const notebook = el.closest(".jp-Notebook");
      if (!notebook) return setText(note, say("Here nothing is folded."));
      if (opened.size) foldAgain(opened);
      else for (const line of [...notebook.querySelectorAll(".jp-CodeCell .jp-InputPlaceholder .jp-Placeholder-content")]) opened.add(unfolded(line));
      press.setAttribute("aria-pressed", String(opened.size > 0));
      setText(press, say(opened.size ? FOLD : SHOW));
      return setText(note, "");
    });
    press.setAttribute("aria-pressed", "false");
    const note = html("span", { role: "status" });
    el.append(html("section", { class: "gk-panel gk-switch", "aria-label": say("Working in Python") }, press, note));
  },
};

function unfolded(line) {
  const cell = line.closest(".jp-CodeCell");
  line.click();
  return cell;
}

function foldAgain(opened) {
  for (const cell of opened) {
    const bar = cell.querySelector(".jp-InputCollapser .jp-Collapser-child");
    if (bar && !cell.querySelector(".jp-InputPlaceholder")) bar.click();
  }
  opened.clear();
}
