// In the notebooks' page: the record there and the one of the lessons' pages are one, sheets come over with their answers,
// and a link leads back to the page.

import { HANDED } from "./handed.js";
import { KEY, KeptRecord, shelf } from "./kept_record.js";
import { say } from "./words.js";

const FILE = "my_record.json";

export function offer() {
  let shared = {};
  window._JUPYTERLAB = window._JUPYTERLAB || {};
  window._JUPYTERLAB.gearkit = {
    init: (scope) => { shared = scope; },
    get: async () => () => ({ __esModule: true, default: { id: "gearkit:record", autoStart: true, activate: (app) => activate(app, shared) } }),
  };
}

async function activate(app, shared) {
  const { contents } = app.serviceManager;
  await takeSheets(contents);
  await new OneRecord(contents).begin();
  app.restored.then(() => addLink(app, shared));
}

async function takeSheets(contents) {
  for (const key of Object.keys(localStorage).filter((name) => name.startsWith(HANDED))) {
    const { back, notebook } = JSON.parse(localStorage.getItem(key));
    const path = key.slice(HANDED.length);
    // A notebook that lies there already may hold work, and stays.
    if (notebook && !(await modelOf(contents, path))) await contents.save(path, { type: "notebook", format: "json", content: notebook });
    localStorage.setItem(key, JSON.stringify({ back }));
  }
}

async function modelOf(contents, path) {
  try { return await contents.get(path, { content: true }); } catch { return null; }
}

class OneRecord {
  constructor(contents) {
    this.contents = contents;
    this.record = new KeptRecord(shelf());
    this.turn = Promise.resolve();
  }

  async begin() {
    this.record.begin();
    this.contents.fileChanged.connect((_, { newValue }) => { if (newValue && newValue.path === FILE) this.join(); });
    window.addEventListener("storage", ({ key }) => { if (key === KEY) this.join(); });
    await this.join();
  }

  // Both sides get what they lack, one change after the other.
  join() {
    this.turn = this.turn.then(() => this.joined()).catch((fault) => console.error("my_record.json", fault));
    return this.turn;
  }

  async joined() {
    const model = await modelOf(this.contents, FILE);
    const text = model ? textIn(model) : "";
    // A damaged file is set aside by Python, which says so.
    if (text && this.record.join(text) === null) return;
    if (!text || this.record.lackedBy(text)) {
      await this.contents.save(FILE, { type: "file", format: "text", mimetype: "application/json", content: this.record.text });
    }
  }
}

// What Python wrote under another name first comes as bytes, what the page wrote as text or as what it says.
function textIn({ content, format }) {
  if (format === "base64") return new TextDecoder().decode(Uint8Array.from(atob(content), (letter) => letter.charCodeAt(0)));
  return typeof content === "string" ? content : JSON.stringify(content);
}

async function addLink(app, shared) {
  const widgets = shared["@lumino/widgets"];
  if (!widgets) return;
  const { Widget } = (await Object.values(widgets)[0].get())();
  const place = new Widget();
  place.id = "gk-back";
  const path = new URLSearchParams(location.search).get("path") || "";
  const [address, words] = backFrom(path, JSON.parse(localStorage.getItem(HANDED + path) || "{}"));
  const link = Object.assign(document.createElement("a"), { href: new URL(address, site()).href, textContent: words });
  link.style.cssText = "display:inline-block;padding:.35rem .8rem;color:var(--jp-content-link-color,#0b63ad)";
  place.node.append(link);
  app.shell.add(place, "top", { rank: 10000 });
  document.head.append(Object.assign(document.createElement("style"), { textContent: NARROW }));
  const low = Object.assign(document.createElement("p"), { className: "gk-low" });
  low.append(link.cloneNode(true));
  document.body.append(low);
}

// A narrow window has no room for the line at the top, and the link stands at the foot.
const NARROW = ".gk-low { display: none } @media (max-width: 760px) { .gk-low { display: block; position: fixed; left: .5rem; bottom: .5rem; z-index: 100; "
  + "margin: 0; font: 15px system-ui, sans-serif; background: var(--jp-layout-color1, #fff); border: 1px solid var(--jp-border-color1, #868e97); border-radius: 4px } }";

function site() { return new URL("../../", location.href); }

// The page that belongs to a notebook, and the words of the link to it.
export function backFrom(path, { back }) {
  if (back) return [back, say("← Back to the sheet's page")];
  const [folder, ...rest] = path.split("/");
  if (rest.length && folder === "units") return [`units/${rest[0]}.html`, say("← Back to the lesson's page")];
  return rest.length ? [`${folder}.html`, say("← Back to the lesson's page")] : ["index.html", say("← Back to the course")];
}
