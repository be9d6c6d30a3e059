// Python behind a page: a worker that runs the lesson's cells. Whatever is said before it is ready waits, in order.

import { saveFile } from "./save_file.js";
import { say } from "./words.js";

const LONGEST_WAIT = 90000;

export class PythonSide {
  // hear: { page(message) for what a cell or a panel says, record(text), ready(), failed(words, messages that nobody heard) }
  constructor(root, hear) {
    this.root = root;
    this.hear = hear;
    this.ready = false;
    this.failed = false;
    this.waiting = [];
    this.settled = new Promise((settle) => { this.settle = settle; });
  }

  // begin: { record, files, cells, extras, language }
  start(begin) {
    try { this.worker = new Worker(`${this.root}worker.mjs`, { type: "module" }); } catch (fault) { this.fail(String(fault)); return; }
    this.worker.onerror = (event) => this.fail(event.message || say("the worker could not be loaded"));
    this.worker.onmessage = ({ data }) => this.take(data);
    this.modules = new Map(begin.cells.map(({ id, module }) => [id, module]));
    this.wait();
    this.worker.postMessage({ what: "boot", ...begin });
  }

  // How long a step may take, not all of them together: a slow machine is at work where a broken one is not.
  wait() {
    clearTimeout(this.limit);
    this.limit = setTimeout(() => this.fail(say("it took too long")), LONGEST_WAIT);
  }

  post(message) {
    if (this.ready) this.worker.postMessage({ what: "panel", text: JSON.stringify(message) });
    else this.waiting.push(message);
  }

  // How an answer of a sheet reads.
  read(item, given) {
    if (this.ready) this.worker.postMessage({ what: "read", text: JSON.stringify({ item, given }) });
  }

  // The record as another page left it.
  tellRecord(text) {
    if (this.ready) this.worker.postMessage({ what: "record", text });
  }

  take(data) {
    if (data.what === "failed") { this.fail(data.words); return; }
    if (!this.ready) this.wait();
    if (data.what === "step") return;
    if (data.what === "ready") { document.documentElement.dataset.pythonFrom = data.from; this.begin(); return; }
    const said = JSON.parse(data.text);
    if (said.record !== undefined) this.hear.record(said.record);
    else if (said.file !== undefined) saveFile(said.file, said.text);
    else if (said.trouble) this.hear.trouble(said);
    else this.hear.page(said.cell ? { ...said, module: this.modules.get(said.cell) } : said);
  }

  begin() {
    clearTimeout(this.limit);
    this.ready = true;
    this.settle();
    for (const message of this.waiting.splice(0)) this.post(message);
    this.hear.ready();
  }

  fail(words) {
    if (this.failed || this.ready) return;
    clearTimeout(this.limit);
    this.failed = true;
    this.settle();
    if (this.worker) this.worker.terminate();
    this.hear.failed(words, this.waiting.splice(0));
  }
}
