// A panel's tie to its state in the kernel: read, change (sent together, after a short rest), and hear of changes.

const SAVE_DELAY = 120;

export class PanelModel {
  constructor(model) {
    this.model = model;
    this.heard = [];
  }

  get(name) { return this.model.get(name); }

  set(changes) {
    for (const [name, value] of Object.entries(changes)) this.model.set(name, value);
    clearTimeout(this.saving);
    this.saving = setTimeout(() => this.model.save_changes(), SAVE_DELAY);
  }

  // names: state whose change calls act()
  listen(names, act) {
    for (const name of names) {
      this.model.on(`change:${name}`, act);
      this.heard.push([`change:${name}`, act]);
    }
  }

  close() {
    clearTimeout(this.saving);
    this.model.save_changes();
    for (const [event, act] of this.heard) this.model.off(event, act);
  }
}
