// The record: what is in it, saved to a file, and a file taken in; the file is the one that lies beside the lessons in JupyterLab.

import { saveFile } from "./save_file.js";
import { setText } from "./dom.js";

export function showRecord(record) {
  const told = document.getElementById("gk-told");
  const count = () => {
    const { events } = record.read();
    const of = (kind) => events.filter((event) => event.kind === kind).length;
    setText(document.getElementById("gk-count"), `In this browser: ${of("prediction")} predictions, ${of("attempt")} checked answers, ${of("hint")} hints.`);
  };
  document.getElementById("gk-save").addEventListener("click", () => {
    saveFile("my_record.json", record.text);
    setText(told, "Saved as my_record.json, where your browser puts what it downloads.");
  });
  document.getElementById("gk-bring").addEventListener("change", async ({ target }) => {
    const [file] = target.files;
    if (!file) return;
    const news = record.join(await file.text());
    // The same file may be chosen again once it is mended.
    target.value = "";
    setText(told, news === null
      ? `${file.name} is no record, or is damaged; nothing was changed. Choose the file my_record.json.`
      : `${news} entries of ${file.name} were added to the record in this browser.`);
    count();
  });
  count();
}
