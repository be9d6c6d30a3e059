// Python behind a page: starts Pyodide from the site's own files, unpacks the kit, runs the page's cells one after the other.

const here = new URL(".", self.location.href);
// The learner's folder in the file system that Python has in the page; nothing of the machine is in it.
const HOME = "/learner";
let bridge = null;

async function fetched(name) {
  const answer = await fetch(new URL(name, here));
  if (!answer.ok) throw new Error(`${name} could not be loaded (${answer.status})`);
  return answer.arrayBuffer();
}

async function boot({ record, files, cells, extras }) {
  const archives = Promise.all(["python/kit.zip", ...extras].map(fetched));
  const { loadPyodide } = await import(new URL("python/pyodide.mjs", here).href);
  const python = await loadPyodide({
    indexURL: new URL("python/", here).href,
    env: { HOME, GEARKIT_RECORD: `${HOME}/my_record.json` },
  });
  for (const archive of await archives) python.unpackArchive(archive, "zip", { extractDir: "/kit" });
  python.runPython("import sys; sys.path.insert(0, '/kit')");
  const { Bridge } = python.pyimport("gearkit.site.browser_python.bridge");
  bridge = Bridge((text) => self.postMessage({ what: "said", text }), JSON.stringify({ record, files }));
  for (const cell of cells) bridge.run_cell(JSON.stringify(cell));
  self.postMessage({ what: "ready" });
}

self.onmessage = ({ data }) => {
  if (data.what === "boot") boot(data).catch((fault) => self.postMessage({ what: "failed", words: String(fault).slice(-400) }));
  else if (data.what === "panel") bridge.take(data.text);
  else if (data.what === "read") bridge.read(data.text);
  else if (data.what === "record") bridge.take_record(data.text);
};
