// A page of the site: a lesson with Python behind it, the list of lessons, or the record.

import { KEY, KeptRecord } from "./kept_record.js";
import { LessonPage, shelf, storedData } from "./lesson_page.js";
import { PythonSide } from "./python_side.js";
import { setText } from "./dom.js";
import { showDone } from "./home_page.js";
import { showRecord } from "./record_page.js";

const LOADING = "Python is on its way: panels work already, exercises and tasks come in a few seconds.";
const WITHOUT = "Panels and predictions work without it; exercises and tasks do not.";

export function openPage(views) {
  const { dataset } = document.documentElement;
  const record = new KeptRecord(shelf());
  record.begin();
  keepForLater(dataset.root);
  if (dataset.kind === "lesson") storedData(document.getElementById("gk-stored")).then((stored) => openLesson(stored, views, record, dataset.root));
  if (dataset.kind === "home") showDone(record);
  if (dataset.kind === "record") showRecord(record);
  tellNotice(record);
}

function openLesson(stored, views, record, root) {
  const reason = location.protocol === "file:" ? "A browser runs no Python from a file." : stored.python ? "" : "This site was made without Python.";
  if (reason || stored.cells.length === 0) {
    if (stored.cells.length) say(`${reason} ${WITHOUT}`, "failed");
    new LessonPage(stored, views, record);
    return;
  }
  const python = new PythonSide(root, {
    page: (said) => (said.cell ? takeCell(page, said) : page.hear(said)),
    record: (text) => { record.join(text); tellNotice(record); },
    trouble: ({ cell, panel, trouble }) => showTrouble(cell || panel, trouble),
    ready: () => say("", "ready"),
    failed: (words, messages) => { say(`Python could not be started here (${words}). ${WITHOUT}`, "failed"); page.goOnAlone(messages); },
  });
  const page = new LessonPage(stored, views, record, python);
  say(LOADING, "loading");
  window.addEventListener("storage", (event) => { if (event.key === KEY && event.newValue) python.tellRecord(event.newValue); });
  // Python starts when what can be seen has been drawn.
  requestAnimationFrame(() => setTimeout(() => python.start({ record: record.text || "", files: stored.files, cells: stored.cells, extras: stored.extras })));
}

function takeCell(page, said) {
  if (said.notices) { for (const words of said.notices) notice(words); return; }
  page.take(said);
}

function showTrouble(name, words) {
  const place = document.getElementById(name);
  console.error(name, words);
  if (place && !place.querySelector(".gk-panel")) place.textContent = words;
}

function say(words, state) {
  document.documentElement.dataset.python = state;
  const place = document.getElementById("gk-python");
  place.hidden = !words;
  setText(place, words);
}

function tellNotice(record) {
  if (record.notice) notice(record.notice);
  record.notice = "";
  if (!record.lasts) notice("This browser keeps nothing between visits: save your record to a file before you leave.");
}

function notice(words) {
  const place = document.getElementById("gk-notices");
  if ([...place.children].some((child) => child.textContent === words)) return;
  place.append(Object.assign(document.createElement("p"), { className: "gk-say", textContent: words }));
}

// On https or on this machine a browser keeps the site for times without a network.
function keepForLater(root) {
  if (!("serviceWorker" in navigator) || !window.isSecureContext || location.protocol === "file:") return;
  window.addEventListener("load", () => navigator.serviceWorker.register(`${root}service_worker.js`).catch(() => {}));
}
