// A lesson's page: panels live at once, from the states that were stored with the page.

import { Alone } from "./alone.js";
import { KeptRecord } from "./kept_record.js";
import { PageModel } from "./page_model.js";

// views: module -> what renders its panels
export function openPage(views) {
  storedData(document.getElementById("gk-stored")).then(({ panels }) => show(panels, views));
}

function show(stored, views) {
  const panels = new Map();
  const alone = new Alone(panels, new KeptRecord(shelf()));
  for (const [name, { state, ...more }] of Object.entries(stored)) {
    panels.set(name, { ...more, model: new PageModel(name, state, (message) => alone.hear(message)) });
  }
  alone.begin();
  for (const [name, { module, model }] of panels) {
    const place = document.getElementById(name);
    place.replaceChildren();
    views[module].render({ model, el: place });
  }
  document.documentElement.dataset.panels = "live";
}

// A large page holds its data compressed.
function storedData(element) {
  if (element.type === "application/json") return Promise.resolve(JSON.parse(element.textContent));
  const bytes = Uint8Array.from(atob(element.textContent), (letter) => letter.charCodeAt(0));
  return new Response(new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw"))).json();
}

function shelf() {
  try { return window.localStorage; } catch { return null; }
}
