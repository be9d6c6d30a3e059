// A page of the site: a lesson with Python behind it, the list of lessons, or the record.

import { KEY, KeptRecord, shelf } from "./kept_record.js";
import { LessonPage, storedData } from "./lesson_page.js";
import { PythonSide } from "./python_side.js";
import { SheetPage } from "./sheet_page.js";
import { setText } from "./dom.js";
import { showDone } from "./home_page.js";
import { showRecord } from "./record_page.js";
import { later, say } from "./words.js";

const LOADING = {
  lesson: later("Python is on its way: panels work already, exercises and tasks come in a few seconds."),
  sheet: later("Python is on its way: you can write already, how it is read comes in a few seconds."),
};
const WITHOUT = {
  lesson: later("Panels and predictions work without it; exercises and tasks do not."),
  sheet: later("You can answer and hand in without it; how an answer is read is not shown."),
};

const OFFLINE = {
  kept: later("After this visit your browser keeps the lessons, and they work without a network."),
  not: later("At this address a browser keeps no pages: the lessons need the network each time. With https they would not."),
};

export function openPage(views) {
  const { dataset } = document.documentElement;
  const record = new KeptRecord(shelf());
  record.begin();
  const stored = document.getElementById("gk-stored");
  const open = { lesson: (held) => openLesson(held, views, record, dataset.root), sheet: (held) => openSheet(held, dataset.root) }[dataset.kind];
  // What is kept for later is fetched when Python no longer waits for anything.
  const settled = open ? storedData(stored).then((held) => open({ ...held, kind: dataset.kind })).then((python) => python && python.settled) : Promise.resolve();
  settled.then(() => keepForLater(dataset.root));
  if (dataset.kind === "home") showDone(record);
  if (dataset.kind === "record") showRecord(record);
  tellNotice(record);
}

function openLesson(stored, views, record, root) {
  const python = pythonFor(stored, root, {
    page: (said) => (said.cell ? takeCell(page, said) : page.hear(said)),
    record: (text) => { record.join(text); tellNotice(record); },
    failed: (messages) => page.goOnAlone(messages),
  });
  const page = new LessonPage(stored, views, record, python);
  if (!python) return null;
  window.addEventListener("storage", (event) => { if (event.key === KEY && event.newValue) python.tellRecord(event.newValue); });
  start(python, stored, record.text || "");
  return python;
}

function openSheet(stored, root) {
  const python = pythonFor(stored, root, { page: (said) => said.item && page.hear(said), ready: () => page.askAll() });
  const page = new SheetPage(stored, shelf(), python);
  if (python) start(python, stored, "");
  return python;
}

// Python behind a page, or null with the reason said.
function pythonFor({ python, cells, kind }, root, hear) {
  const without = say(WITHOUT[kind]);
  const reason = location.protocol === "file:" ? say("A browser runs no Python from a file.") : python ? "" : say("This site was made without Python.");
  if (cells.length === 0) return null;
  if (reason) { tell(`${reason} ${without}`, "failed"); return null; }
  tell(say(LOADING[kind]), "loading");
  return new PythonSide(root, {
    record: () => {},
    ...hear,
    trouble: ({ cell, panel, trouble }) => showTrouble(cell || panel, trouble),
    ready: () => { tell("", "ready"); if (hear.ready) hear.ready(); },
    failed: (reason, messages) => { tell(say("Python could not be started here ({reason}). {without}", { reason, without }), "failed"); if (hear.failed) hear.failed(messages); },
  });
}

// Python starts when what can be seen has been drawn.
function start(python, { files, cells, extras }, record) {
  requestAnimationFrame(() => setTimeout(() => python.start({ record, files, cells, extras, language: document.documentElement.lang })));
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

function tell(words, state) {
  document.documentElement.dataset.python = state;
  if (state === "failed") for (const waits of document.querySelectorAll(".gk-waits")) setText(waits, say("This needs Python, which is not here."));
  const place = document.getElementById("gk-python");
  place.hidden = !words;
  setText(place, words);
}

function tellNotice(record) {
  if (record.notice) notice(record.notice);
  record.notice = "";
  if (!record.lasts) notice(say("This browser keeps nothing between visits: save your record to a file before you leave."));
}

function notice(words) {
  const place = document.getElementById("gk-notices");
  if ([...place.children].some((child) => child.textContent === words)) return;
  place.append(Object.assign(document.createElement("p"), { className: "gk-say", textContent: words }));
}

// On https or on this machine a browser keeps the site for times without a network; the list of lessons says which it is.
function keepForLater(root) {
  const keeps = "serviceWorker" in navigator && window.isSecureContext && location.protocol !== "file:";
  const told = document.getElementById("gk-offline");
  if (told) setText(told, keeps ? say(OFFLINE.kept) : location.protocol === "file:" ? "" : say(OFFLINE.not));
  if (keeps) navigator.serviceWorker.register(`${root}service_worker.js`).catch(() => { if (told) setText(told, say(OFFLINE.not)); });
}
