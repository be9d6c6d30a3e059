// A panel's tie to its state in the kernel: read, change (sent together, after a short rest), and hear of changes.

const SAVE_DELAY = 120;

export class PanelModel {
  constructor(model) {
    this.model = model;
    this.heard = [];
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

  // names: state whose change calls act()
  listen(names, act) {
    for (const name of names) this.hear(`change:${name}`, act);
  }

  // act(content): called with each message of its own kind that the kernel sends
  listenToMessages(act) { this.hear("msg:custom", act); }

  hear(event, act) {
    this.model.on(event, act);
    this.heard.push([event, act]);
  }

  send(message) { this.model.send(message); }

  close() {
    this.save();
    for (const [event, act] of this.heard) this.model.off(event, act);
  }
}
