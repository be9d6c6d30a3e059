// A panel's tie to its state in the kernel: read, change (sent together, after a short rest), and hear of changes.
// What changes in one turn of the page is heard of once, when all of it is there: no panel sees half a change, whoever
// makes it and in however many steps.

import { speak } from "./words.js";

const SAVE_DELAY = 120;

export class PanelModel {
  constructor(model) {
    this.model = model;
    speak(model.get("messages"));
    this.heard = [];
    this.waiting = new Set();
    this.saving = 0;
  }

  get(name) { return this.model.get(name); }

  set(changes) {
    for (const [name, value] of Object.entries(changes)) this.model.set(name, value);
    clearTimeout(this.saving);
    this.saving = setTimeout(() => this.save(), SAVE_DELAY);
  }

  save() {
    clearTimeout(this.saving);
    if (this.saving) this.model.save_changes();
    this.saving = 0;
  }

  // names: state after whose change act() is called, once for all that changed together
  listen(names, act) {
    for (const name of names) this.hear(`change:${name}`, () => this.callSoon(act));
  }

  callSoon(act) {
    if (this.waiting.size === 0) queueMicrotask(() => this.callWaiting());
    this.waiting.add(act);
  }

  callWaiting() {
    const acts = [...this.waiting];
    this.waiting.clear();
    for (const act of acts) act();
  }

  // act(content): called with each message of its own kind that the kernel sends
  listenToMessages(act) { this.hear("msg:custom", act); }

  hear(event, act) {
    this.model.on(event, act);
    this.heard.push([event, act]);
  }

  // What was changed before is known to the kernel when the message comes.
  send(message) {
    this.save();
    this.model.send(message);
  }

  close() {
    this.save();
    this.waiting.clear();
    for (const [event, act] of this.heard) this.model.off(event, act);
  }
}
