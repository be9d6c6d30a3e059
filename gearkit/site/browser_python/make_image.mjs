// Makes the memory image of a Python that has loaded the kit: node make_image.mjs FOLDER. The folder holds Pyodide's files,
// kit.bin, python_files.mjs and load.py, what is loaded; image.bin is written into it. Nothing of this machine is in the image.

import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const folder = resolve(process.argv[2]);
const { loadPyodide } = await import(pathToFileURL(join(folder, "pyodide.mjs")));
const { layOut, unpacked } = await import(pathToFileURL(join(folder, "python_files.mjs")));
const env = { HOME: "/learner", GEARKIT_RECORD: "/learner/my_record.json", PYTHONHASHSEED: "0", PYTHONPATH: "/kit" };
const archive = await unpacked(readFileSync(join(folder, "kit.bin")));
const python = await loadPyodide({ indexURL: `${folder}/`, _makeSnapshot: true, env, fsInit: async (files) => layOut(archive, files, "/kit") });
python.runPython(readFileSync(join(folder, "load.py"), "utf-8"));
writeFileSync(join(folder, "image.bin"), python.makeMemorySnapshot());
process.exit(0);
