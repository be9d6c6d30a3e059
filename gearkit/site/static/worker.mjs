// Python behind a page: starts Pyodide from the site's own files, lays the kit out, runs the page's cells one after the other.

import { fromImage, imageIn, layOut, unpacked } from "./python_files.mjs";

const here = new URL(".", self.location.href);
// The learner's folder in the file system that Python has in the page; nothing of the machine is in it.
const HOME = "/learner";
const IMAGE = "IMAGE_VERSION";
// An image was made in a folder that was another one, without what is held ready, and holds the chance that it was made with, the
// same for every learner.
const BEGIN = `
import random, sys
for path in [path for path in sys.path_importer_cache if path.startswith("/kit")]:
    del sys.path_importer_cache[path]
if "sitecustomize" in sys.modules:
    sys.modules["sitecustomize"].hold("/kit")
random.seed()
`;
let bridge = null;

async function fetched(name) {
  const answer = await fetch(new URL(name, here));
  if (!answer.ok) throw new Error(`${name}: ${answer.status}`);
  return unpacked(await answer.arrayBuffer());
}

// A slow machine takes long, and each step says that it is still at work.
const atWork = () => self.postMessage({ what: "step" });

// archives: what is laid out before Python starts, which finds it there.
async function python(archives) {
  const image = IMAGE && await fetched("python/image.bin").then((whole) => imageIn(whole, IMAGE), () => null);
  atWork();
  const { loadPyodide } = await import(new URL("python/pyodide.mjs", here).href);
  const fsInit = async (files) => { for (const archive of await archives.catch(() => [])) layOut(archive, files, "/kit"); };
  const env = { HOME, GEARKIT_RECORD: `${HOME}/my_record.json`, PYTHONPATH: "/kit" };
  const options = { indexURL: new URL("python/", here).href, env, fsInit };
  if (image) {
    try {
      const { default: create } = await import(new URL("python/pyodide.asm.mjs", here).href);
      return { python: await loadPyodide({ ...options, ...fromImage(image, create) }), from: "image" };
    } catch (fault) { console.warn("Python starts without its memory image:", String(fault).slice(-400)); }
  }
  return { python: await loadPyodide(options), from: "start" };
}

async function boot({ record, files, cells, extras, language }) {
  const archives = Promise.all(["python/kit.bin", ...extras].map(fetched));
  archives.catch(() => {});
  const { python: started, from } = await python(archives);
  await archives;
  atWork();
  if (from === "image") started.runPython(BEGIN);
  atWork();
  const { Bridge } = started.pyimport("gearkit.site.browser_python.bridge");
  bridge = Bridge((text) => self.postMessage({ what: "said", text }), JSON.stringify({ record, files, language }));
  for (const cell of cells) {
    bridge.run_cell(JSON.stringify(cell));
    atWork();
  }
  self.postMessage({ what: "ready", from });
}

self.onmessage = ({ data }) => {
  if (data.what === "boot") boot(data).catch((fault) => self.postMessage({ what: "failed", words: String(fault).slice(-400) }));
  else if (data.what === "panel") bridge.take(data.text);
  else if (data.what === "read") bridge.read(data.text);
  else if (data.what === "record") bridge.take_record(data.text);
};
