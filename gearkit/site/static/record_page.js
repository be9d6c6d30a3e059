// The record: what is in it, saved to a file, and a file taken in; the file is the one that lies beside the lessons in JupyterLab.

import { saveFile } from "./save_file.js";
import { setText } from "./dom.js";
import { say, sayN } from "./words.js";

export function showRecord(record) {
  const told = document.getElementById("gk-told");
  const count = () => {
    const { events } = record.read();
    const of = (kind) => events.filter((event) => event.kind === kind).length;
    setText(document.getElementById("gk-count"), say("In this browser: {predictions}, {answers}, {hints}.", {
      predictions: sayN("{count} prediction", "{count} predictions", of("prediction")),
      answers: sayN("{count} checked answer", "{count} checked answers", of("attempt")),
      hints: sayN("{count} hint", "{count} hints", of("hint")),
    }));
  };
  document.getElementById("gk-save").addEventListener("click", () => {
    saveFile("my_record.json", record.text);
    setText(told, say("Saved as {file}, where your browser puts what it downloads.", { file: "my_record.json" }));
  });
  document.getElementById("gk-bring").addEventListener("change", async ({ target }) => {
    const [file] = target.files;
    if (!file) return;
    const news = record.join(await file.text());
    // The same file may be chosen again once it is mended.
    target.value = "";
    setText(told, news === null
      ? say("{file} is no record, or is damaged; nothing was changed. Choose the file my_record.json.", { file: file.name })
      : sayN("{count} entry of {file} was added to the record in this browser.", "{count} entries of {file} were added to the record in this browser.", news, { file: file.name }));
    count();
  });
  count();
}
