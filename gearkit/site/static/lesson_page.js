// A lesson's page: panels live at once, from the states that were stored with the page; Python, where there is one, joins them.

import { Alone, openByItself } from "./alone.js";
import { KeptRecord, shelf } from "./kept_record.js";
import { PageModel } from "./page_model.js";

// A page that stands alone. views: module -> what renders its panels
export function openPage(views) {
  storedData(document.getElementById("gk-stored")).then((stored) => new LessonPage(stored, views, new KeptRecord(shelf())));
}

export class LessonPage {
  constructor({ panels }, views, record, python = null) {
    this.views = views;
    this.python = python;
    this.panels = new Map();
    this.alone = new Alone(this.panels, record);
    for (const [name, held] of Object.entries(panels)) this.add(name, held);
    if (!python) this.alone.begin();
    for (const name of this.panels.keys()) this.show(name);
    document.documentElement.dataset.panels = "live";
  }

  add(name, { state, ...more }) {
    this.panels.set(name, { ...more, model: new PageModel(name, state, (message) => this.post(message)) });
  }

  show(name) {
    const { module, model } = this.panels.get(name);
    const place = document.getElementById(name);
    place.replaceChildren();
    this.views[module].render({ model, el: place });
  }

  post(message) {
    if (!this.python || this.python.failed) this.alone.hear(message);
    else if (this.python.ready || !this.openAtOnce(message)) this.python.post(message);
  }

  // A prediction need not wait for Python, which hears of it as of any change; what is hard to read waits.
  openAtOnce({ panel, content }) {
    if (!content || content.do !== "predict") return false;
    const { model, unit } = this.panels.get(panel);
    if (openByItself(model, content, unit).trouble) return false;
    model.save_changes();
    return true;
  }

  // What a cell gave in Python: the state of a panel, which is new or stands here already, or HTML.
  take({ cell: name, state, html, module }) {
    if (state && this.panels.has(name)) this.panels.get(name).model.takeFirst(state);
    else if (state) {
      this.add(name, { module, state });
      this.show(name);
    } else if (html !== undefined) document.getElementById(name).innerHTML = html;
  }

  // What Python says to a panel.
  hear({ panel: name, state, content }) {
    const { model } = this.panels.get(name);
    if (state) model.take(state);
    else model.tell("msg:custom", content);
  }

  goOnAlone(messages) {
    this.alone.begin();
    for (const message of messages) this.alone.hear(message);
  }
}

// A large page holds its data compressed.
export function storedData(element) {
  if (element.type === "application/json") return Promise.resolve(JSON.parse(element.textContent));
  const bytes = Uint8Array.from(atob(element.textContent), (letter) => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).json();
}
