// Compiles what a page's Python loads: node make_compiled.mjs FOLDER. The folder holds Pyodide's files, kit.bin, python_files.mjs,
// compiling.py, made_ready.py and load.py, what is loaded; python_stdlib.out, the library with the modules that are loaded compiled, and
// made_ready.bin, the modules of the kit, are written into it.

import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const folder = resolve(process.argv[2]);
const { loadPyodide } = await import(pathToFileURL(join(folder, "pyodide.mjs")));
const { layOut, unpacked } = await import(pathToFileURL(join(folder, "python_files.mjs")));
const env = { HOME: "/learner", GEARKIT_RECORD: "/learner/my_record.json", PYTHONHASHSEED: "0", PYTHONNODEBUGRANGES: "1" };
const python = await loadPyodide({ indexURL: `${folder}/`, env });
layOut(await unpacked(readFileSync(join(folder, "kit.bin"))), python.FS, "/kit");
python.FS.mkdirTree("/made");
for (const name of ["compiling.py", "made_ready.py"]) python.FS.writeFile(`/made/${name}`, readFileSync(join(folder, name)));
python.runPython(`
import sys
sys.path.insert(0, "/made")
import compiling
texts = compiling.record_methods()
`);
python.runPython(readFileSync(join(folder, "load.py"), "utf-8"));
python.runPython(`
import pathlib
root = next(path for path in sys.path if path.endswith(".zip"))
whole = pathlib.Path(root).read_bytes()
files = [getattr(module, "__file__", None) or "" for module in [*sys.modules.values()]]
# Notebooks in the browser start from the same library and know nothing of the kit, so none of its modules stands elsewhere.
loaded = {path.removeprefix(f"{root}/") for path in files if path.startswith(f"{root}/")}
sources = {}
for path in sorted(pathlib.Path("/kit").rglob("*.py")):
    parts = path.relative_to("/kit").with_suffix("").parts
    sources[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = (str(path), path.read_bytes())
pathlib.Path("/made/python_stdlib.out").write_bytes(compiling.library(whole, loaded, root))
pathlib.Path("/made/made_ready.bin").write_bytes(compiling.made_ready(sources, texts))
beginning = pathlib.Path("/made/made_ready.py")
pathlib.Path("/made/sitecustomize.pyc").write_bytes(compiling.compiled(beginning.read_bytes(), "/kit/sitecustomize.py"))
`);
for (const name of ["python_stdlib.out", "made_ready.bin", "sitecustomize.pyc"]) writeFileSync(join(folder, name), python.FS.readFile(`/made/${name}`));
process.exit(0);
