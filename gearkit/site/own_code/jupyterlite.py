"""JupyterLite beside the pages: built by its own builder from parts of fixed versions, with nothing that a lesson has no use for.

It shares Pyodide, the service worker and the learner's record with the pages.
"""

from __future__ import annotations

import hashlib
import importlib.metadata
import importlib.util
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote

from gearkit.site.own_code import wheels
from gearkit.site.page import modules_of
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import say

FOLDER = "own_code"
HOME, START, WORKER = f"{FOLDER}/tree/index.html", f"{FOLDER}/start.js", f"{FOLDER}/service-worker.js"
VERSION = "0.8.6"
# SHA-256 of the program that the library unpacks.
_PROGRAM = f"jupyterlite-app-{VERSION}.tgz"
_PROGRAM_HASH = "5562fc46f13702df7dec1b784114598d234fc0805e83b405d30b3cec30a7d5ad"
_APPS = ("notebooks", "tree")
_BUILD_SECONDS = 600
# Of all files, in seconds since 1970: the first day of 2026, because the list of files tells how old each is.
_DATE = 1_767_225_600
_KERNEL = "@jupyterlite/pyodide-kernel-extension"
# Files for builders of JupyterLite, and fonts in forms that no browser of the last ten years asks for.
_UNUSED = ("rspack.", "doc/", "jupyterlite.schema", "bootstrap.js")
_ICONS = ("favicon-notebook", "favicon-busy-1", "favicon-file", "favicon-terminal")
_OLD_FONTS = ("fa-brands-400", "fa-regular-400", "fa-solid-900")
_STARTED_BY = "'../config-utils.js"


def address_of(path: str, root: str) -> str:
    """Return the address at which a notebook opens.

    Args:
        path: where it lies on the shelf.
        root: the way from the page to the site's first page, such as "../".
    """
    return f"{root}{FOLDER}/notebooks/index.html?path={quote(path)}"


def missing() -> str:
    """Return why notebooks cannot be laid beside the pages here, in a sentence; "" where they can."""
    try:
        # Looking for pip as a module would switch setuptools' stand-in for distutils off for the whole process.
        importlib.metadata.version("pip")
        spec = importlib.util.find_spec("jupyterlite_core")
    except importlib.metadata.PackageNotFoundError:
        spec = None
    if spec is None:
        return 'Notebooks in the browser need more than is installed here. Install it with: pip install "gearkit[own-code]"'
    return ""


def build(notebooks: Mapping[str, bytes], lock: bytes) -> dict[str, bytes]:
    """Return JupyterLite's files by their addresses in the site.

    Args:
        notebooks: what lies on its shelf, by name.
        lock: Pyodide's own lock.

    Raises:
        UsageError: the extra is not installed, has another version, or wheels cannot be had.
        GearkitError: the builder fails.
    """
    if why := missing():
        raise UsageError(why)
    _check_program()
    held = wheels.fetched()
    with tempfile.TemporaryDirectory(prefix="gearkit-own-code-") as folder:
        work = Path(folder)
        _lay_out(work, notebooks, held)
        _run(work)
        built = {path.relative_to(work / "built").as_posix(): path.read_bytes() for path in (work / "built").rglob("*")
                 if path.is_file()}  # fmt: skip
    kept = {name: content for name, content in built.items() if not _unused(name)}
    for app in _APPS:
        kept[f"{app}/index.html"] = _started_by_us(kept[f"{app}/index.html"])
    # Notebook's page asks for icons that JupyterLite leaves out.
    kept |= {f"static/favicons/{name}.ico": kept["notebooks/favicon.ico"] for name in _ICONS}
    kept["start.js"] = f"{modules_of(['cells_start'])}export const {{ begin }} = module_cells_start;\n".encode()
    kept |= {f"wheels/{name}": content for name, content in wheels.for_pyodide(held, lock).items()}
    return {f"{FOLDER}/{name}": content for name, content in kept.items()}


def _check_program() -> None:
    import jupyterlite_core

    program = Path(jupyterlite_core.__file__).parent / _PROGRAM
    fingerprint = hashlib.sha256(program.read_bytes()).hexdigest() if program.is_file() else ""
    if fingerprint != _PROGRAM_HASH:
        raise UsageError(
            f"jupyterlite-core {jupyterlite_core.__version__} is installed, and the site takes {VERSION} as it was tested. "
            'Install that with: pip install "gearkit[own-code]"'
        )


def _lay_out(work: Path, notebooks: Mapping[str, bytes], held: Mapping[str, bytes]) -> None:
    for name, content in notebooks.items():
        _put(work / "contents" / name, content)
    extensions = {**wheels.labextensions(held), "gearkit": _our_extension()}
    for name, files in extensions.items():
        for file, content in files.items():
            _put(work / "extensions" / name / file, content)
    settings = {
        "LiteBuildConfig": {
            "apps": list(_APPS), "contents": [str(work / "contents")], "output_dir": str(work / "built"),
            "cache_dir": str(work / "cache"), "ignore_sys_prefix": True, "no_sourcemaps": True, "no_unused_shared_packages": True,
            "federated_extensions": [str(work / "extensions" / name) for name in extensions], "source_date_epoch": _DATE,
        },
    }  # fmt: skip
    here = {
        "pyodideUrl": "./../python/pyodide.mjs",
        "pipliteUrls": [f"./extensions/{_KERNEL}/static/pypi/all.json"],
        "disablePyPIFallback": True,
        "loadPyodideOptions": {"lockFileURL": "wheels/pyodide-lock.json"},
    }
    page = {
        "appName": say("Planetary automatic transmissions"), "appUrl": "./tree", "litePluginSettings": {f"{_KERNEL}:kernel": here},
        # It would tell the age of the files, which have a date for all.
        "disabledExtensions": ["@jupyter-notebook/notebook-extension:checkpoints"],
    }  # fmt: skip
    _put(work / "jupyter_lite_config.json", json.dumps(settings).encode())
    _put(work / "jupyter-lite.json", json.dumps({"jupyter-lite-schema-version": 0, "jupyter-config-data": page}).encode())


def _our_extension() -> dict[str, bytes]:
    script = f"{modules_of(['cells_extension'])}module_cells_extension.offer();\n"
    name = f"static/remoteEntry.{hashlib.sha256(script.encode()).hexdigest()[:16]}.js"
    about = {
        "name": "gearkit", "version": "0.0.0", "jupyterlab": {"extension": True, "_build": {"load": name, "extension": "./extension"}},
    }  # fmt: skip
    return {"package.json": json.dumps(about).encode(), name: script.encode()}


def _put(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    # Times of files stand in lists that the builder writes; a site made twice is the same bytes.
    os.utime(path, (_DATE, _DATE))


def _run(work: Path) -> None:
    # A folder of settings of one's own would bring other extensions and another look.
    private = {name: str(work / "home" / name.lower()) for name in ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_PATH")}
    command = [sys.executable, "-m", "jupyterlite_core", "build"]
    try:
        subprocess.run(
            command, cwd=work, env={**os.environ, **private, "SOURCE_DATE_EPOCH": str(_DATE)}, check=True, capture_output=True, text=True,
            timeout=_BUILD_SECONDS,
        )  # fmt: skip
    except (OSError, subprocess.SubprocessError) as fault:
        told = f"{getattr(fault, 'stdout', '') or ''}{getattr(fault, 'stderr', '') or ''}".strip()
        raise GearkitError(f"JupyterLite could not be built: {told[-600:] or fault}") from None


def _unused(name: str) -> bool:
    old_font = Path(name).stem.partition(".")[0] in _OLD_FONTS and not name.endswith(".woff2")
    return old_font or name.endswith(".map") or name.startswith(_UNUSED)


def _started_by_us(page: bytes) -> bytes:
    """Return a page that starts only when the site's service worker is in charge."""
    text = page.decode()
    before, marker, rest = text.partition(f"await import(\n          {_STARTED_BY}")
    if not marker:
        raise GearkitError(
            "JupyterLite's page starts otherwise than the site expects; use the version that it was tested with."
        )
    ending, _, after = rest.partition(");")
    main = f"{_STARTED_BY.replace('..', '.', 1)}{ending.strip()}"
    start = f"(await import('../start.js')).begin({json.dumps(VERSION)}, {main});"
    icon = '<link rel="icon" href="favicon.ico">'
    return f"{before}await {start}{after}".replace("<head>", f"<head>{icon}", 1).encode()
