"""The wheels that notebooks in the browser run on: fetched by pip with fixed hashes, and told to Pyodide in its lock."""

from __future__ import annotations

import hashlib
import io
import json
import os
import re
import subprocess
import sys
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from gearkit import __version__
from gearkit.site.kit_archives import package, zipped
from gearkit.text import places
from gearkit.words.errors import UsageError

LISTED = Path(__file__).resolve().parent / "wheels.txt"
PYTHON = "3.14"
_FETCH_SECONDS = 600
_HASH = re.compile(r"^(\S+)==(\S+) --hash=sha256:(\w{64})$", re.MULTILINE)
# Import name and requirements of what Pyodide's own lock does not know, or knows otherwise.
_JOINS: Mapping[str, tuple[str, tuple[str, ...]]] = {
    "gearkit": ("gearkit", ("ipywidgets", "anywidget")),
    "ipywidgets": ("ipywidgets", ("comm", "ipython", "jupyterlab-widgets", "widgetsnbextension")),
    "anywidget": ("anywidget", ("ipywidgets", "psygnal", "typing-extensions")),
    "jupyterlab-widgets": ("jupyterlab_widgets", ()),
    "psygnal": ("psygnal", ()),
    "comm": ("comm", ("traitlets",)),
    "jedi": ("jedi", ()),
    "widgetsnbextension": ("widgetsnbextension", ()),
}
# The kernel asks for jedi by name, which would be two megabytes; IPython completes without it.
_NO_JEDI = ("jedi", "0.19.2", {"jedi/__init__.py": b'raise ImportError("jedi is not part of this site")\n'})
# Not for Pyodide: only their part in the page is taken.
_FOR_THE_PAGE = frozenset({"jupyterlite-pyodide-kernel"})


def fetched() -> dict[str, bytes]:
    """Return the listed wheels by the names of their files; what pip brought once is kept for the next time.

    Raises:
        UsageError: pip or its index cannot be reached, or a wheel is another one.
    """
    listed = {digest for _, _, digest in _HASH.findall(LISTED.read_text(encoding="utf-8"))}
    name = hashlib.sha256(LISTED.read_bytes()).hexdigest()[:16]
    folder = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "gearkit" / f"wheels-{name}"
    held = _sound(folder, listed)
    if len(held) != len(listed):
        _fetch(folder)
        held = _sound(folder, listed)
    if len(held) != len(listed):
        raise UsageError(
            f"{folder}: wheels are missing there, or others than the listed ones; remove the folder and try again."
        )
    return held


def _sound(folder: Path, listed: set[str]) -> dict[str, bytes]:
    read = {path.name: path.read_bytes() for path in sorted(folder.glob("*.whl"))}
    return {name: wheel for name, wheel in read.items() if hashlib.sha256(wheel).hexdigest() in listed}


def _fetch(folder: Path) -> None:
    command = [
        sys.executable, "-m", "pip", "download", "--quiet", "--disable-pip-version-check", "--no-deps", "--require-hashes",
        "--only-binary", ":all:", "--platform", "any", "--python-version", PYTHON, "--implementation", "py",
        "--dest", str(folder), "--requirement", str(LISTED),
    ]  # fmt: skip
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        subprocess.run(command, check=True, capture_output=True, text=True, timeout=_FETCH_SECONDS)
    except (OSError, subprocess.SubprocessError) as fault:
        told = (getattr(fault, "stderr", "") or "").strip().splitlines()
        why = told[-1] if told else "pip gave no answer"
        raise UsageError(
            f"What notebooks in the browser run on could not be fetched: {why}. It comes from the Python package index by pip: "
            "try again with a network, or leave --own-code out."
        ) from None


def for_pyodide(wheels: Mapping[str, bytes], lock: bytes) -> dict[str, bytes]:
    """Return the wheels that Pyodide takes, with its lock that lists exactly these.

    Args:
        wheels: as fetched.
        lock: Pyodide's own lock, from which requirements are taken.
    """
    page = _files_for_the_page(wheels)
    stand_in = {name: content for name, content in page.items() if name.startswith("widgetsnbextension-4")}
    kept = {name: wheel for name, wheel in wheels.items() if _package_of(name)[0] not in _FOR_THE_PAGE}
    kept |= stand_in | dict([_wheel(*_NO_JEDI), kit_wheel()])
    held = json.loads(lock)
    known = held["packages"]
    held["packages"] = {
        name: _entry(file, content, known.get(name, {}))
        for file, content in sorted(kept.items())
        for name in [_package_of(file)[0]]
    }
    return {**kept, "pyodide-lock.json": json.dumps(held, indent=0, sort_keys=True).encode()}


def _files_for_the_page(wheels: Mapping[str, bytes]) -> dict[str, bytes]:
    """Return small wheels that the kernel's part in the page brings along, by name."""
    inside = labextensions(wheels)["@jupyterlite/pyodide-kernel-extension"]
    return {Path(name).name: content for name, content in inside.items() if name.endswith(".whl")}


def _package_of(file: str) -> tuple[str, str]:
    name, version = file.split("-")[:2]
    return name.lower().replace("_", "-"), version


def _entry(file: str, content: bytes, known: Mapping[str, Any]) -> dict[str, object]:
    name, version = _package_of(file)
    if name in _JOINS:
        module, depends = _JOINS[name]
        known = {"depends": depends, "imports": [module]}
    return {
        "depends": list(known["depends"]), "file_name": file, "imports": list(known["imports"]),
        "install_dir": "site", "name": name, "package_type": "package", "sha256": hashlib.sha256(content).hexdigest(),
        "unvendored_tests": False, "version": version,
    }  # fmt: skip


def kit_wheel() -> tuple[str, bytes]:
    """Return the learner's part of this kit as a wheel: its name and its content."""
    held = dict(package("gearkit"))
    for path in sorted(places.datasets().rglob("*.toml")):
        held[f"gearkit/_data/datasets/{path.relative_to(places.datasets()).as_posix()}"] = path.read_bytes()
    return _wheel("gearkit", __version__, held)


def _wheel(name: str, version: str, files: Mapping[str, bytes]) -> tuple[str, bytes]:
    about = f"{name}-{version}.dist-info"
    held = {
        **files,
        f"{about}/METADATA": f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n".encode(),
        f"{about}/WHEEL": b"Wheel-Version: 1.0\nGenerator: gearkit\nRoot-Is-Purelib: true\nTag: py3-none-any\n",
    }
    record = f"{about}/RECORD"
    held[record] = "".join(f"{file},,\n" for file in sorted([*held, record])).encode()
    return f"{name}-{version}-py3-none-any.whl", zipped(held)


def labextensions(wheels: Mapping[str, bytes]) -> dict[str, dict[str, bytes]]:
    """Return the parts of JupyterLab's page that stand in wheels: by extension, content by file.

    Args:
        wheels: as fetched.
    """
    extensions: dict[str, dict[str, bytes]] = {}
    for wheel in wheels.values():
        with zipfile.ZipFile(io.BytesIO(wheel)) as archive:
            for name in archive.namelist():
                _, marker, inside = name.partition(".data/data/share/jupyter/labextensions/")
                if not marker or name.endswith("/"):
                    continue
                parts = inside.split("/")
                count = 2 if parts[0].startswith("@") else 1
                extensions.setdefault("/".join(parts[:count]), {})["/".join(parts[count:])] = archive.read(name)
    return extensions
