// What a panel takes for its tie to a kernel, on a page of our own: state that can be read and set, and messages.
// Whoever makes it says where changes and messages go: post({ panel, state }) or post({ panel, content }).

export class PageModel {
  constructor(panel, state, post) {
    this.panel = panel;
    this.state = state;
    this.post = post;
    this.heard = [];
    this.unsaved = {};
    this.touched = new Set();
  }

  get(name) { return this.state[name]; }

  set(name, value) {
    if (same(this.state[name], value)) return;
    this.state[name] = value;
    this.unsaved[name] = value;
    this.touched.add(name);
    this.tell(`change:${name}`);
  }

  save_changes() {
    const state = this.unsaved;
    this.unsaved = {};
    if (Object.keys(state).length) this.post({ panel: this.panel, state });
  }

  send(content) { this.post({ panel: this.panel, content }); }

  on(event, act) { this.heard.push([event, act]); }

  off(event, act) { this.heard = this.heard.filter(([name, other]) => name !== event || other !== act); }

  tell(event, content) { for (const [name, act] of [...this.heard]) if (name === event) act(content); }

  // What came from Python: all of it is there before any of it is told. What was changed here meanwhile stays.
  take(state) {
    const news = Object.keys(state).filter((name) => !(name in this.unsaved) && !same(this.state[name], state[name]));
    for (const name of news) this.state[name] = state[name];
    for (const name of news) this.tell(`change:${name}`);
  }

  // What Python begins with: whatever was changed here before it came stays, and Python hears of it.
  takeFirst(state) { this.take(Object.fromEntries(Object.entries(state).filter(([name]) => !this.touched.has(name)))); }
}

function same(one, other) { return JSON.stringify(one) === JSON.stringify(other); }
