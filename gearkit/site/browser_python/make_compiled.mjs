// Compiles what a page's Python loads: node make_compiled.mjs FOLDER. The folder holds Pyodide's files, kit.bin, python_files.mjs,
// compiling.py and load.py, what is loaded; python_stdlib.out and compiled.tar, the kit's modules, are written into it.

import { readFileSync, writeFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { pathToFileURL } from "node:url";

const folder = resolve(process.argv[2]);
const { loadPyodide } = await import(pathToFileURL(join(folder, "pyodide.mjs")));
const { layOut, unpacked } = await import(pathToFileURL(join(folder, "python_files.mjs")));
const env = { HOME: "/learner", GEARKIT_RECORD: "/learner/my_record.json", PYTHONHASHSEED: "0", PYTHONNODEBUGRANGES: "1" };
const python = await loadPyodide({ indexURL: `${folder}/`, env });
layOut(await unpacked(readFileSync(join(folder, "kit.bin"))), python.FS, "/kit");
python.runPython(readFileSync(join(folder, "load.py"), "utf-8"));
python.FS.mkdirTree("/made");
python.FS.writeFile("/made/compiling.py", readFileSync(join(folder, "compiling.py")));
python.runPython(`
import pathlib, sys, tarfile
sys.path.insert(0, "/made")
import compiling
root = next(path for path in sys.path if path.endswith(".zip"))
loaded = {module.__file__ for module in list(sys.modules.values()) if getattr(module, "__file__", None)}
wanted = {path.removeprefix(f"{root}/") for path in loaded if path.startswith(f"{root}/")}
pathlib.Path("/made/python_stdlib.out").write_bytes(compiling.library(pathlib.Path(root).read_bytes(), wanted, root))
with tarfile.open("/made/compiled.tar", "w", format=tarfile.USTAR_FORMAT) as archive:
    for path in sorted(pathlib.Path("/kit").rglob("*.py")):
        done = pathlib.Path("/made/one")
        done.write_bytes(compiling.compiled(path.read_bytes(), str(path)))
        archive.add(done, path.relative_to("/kit").as_posix() + "c")
`);
for (const name of ["python_stdlib.out", "compiled.tar"]) writeFileSync(join(folder, name), python.FS.readFile(`/made/${name}`));
process.exit(0);
