"""Starts JupyterLab for a learner: loaded while the lessons are copied, and without what lessons have no use for.

``python -m gearkit.lesson.course.lab`` takes JupyterLab's own options, and before them ``--when FILE``: it loads at once and
starts as soon as that file is there.
"""

from __future__ import annotations

import json
import logging
import os
import sys
import time
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

WHEN = "--when"
# Each is loaded only where it is found: what jsonschema takes to check addresses in letters of all languages (it builds 38
# grammars, 1.2 of the 2.8 s of processor time that JupyterLab's server takes to load) and spans of time, and a command of httpx.
_NOT_NEEDED = ("rfc3987_syntax", "isoduration", "httpx._main")
# Marking, terminals, editors' language servers and the other notebook page; a part that is not installed is passed over.
_SWITCHED_OFF = (
    "nbgrader.server_extensions.formgrader",
    "nbgrader.server_extensions.validate_assignment",
    "nbgrader.server_extensions.assignment_list",
    "nbgrader.server_extensions.course_list",
    "jupyter_server_terminals",
    "jupyter_lsp",
    "notebook",
    "notebook_shim",
)
# What learners have no use for in the page is switched off for the lessons alone: whoever marks in the same Jupyter keeps it.
SETTINGS = Path(__file__).resolve().parent / "jupyter"
# Before the folder in which JupyterLab keeps how a shelf's window was left.
WINDOW_IN = "--LabApp.workspaces_dir="
# The home page leads everywhere; an open list of files would leave a phone 60 px for it. Whoever opens one finds it open again.
# As JupyterLab's server calls its workspace "default".
_DEFAULT_WINDOW = "default-37a8.jupyterlab-workspace"
_FIRST_WINDOW = {
    "data": {
        "layout-restorer:data": {
            side: {"collapsed": True, "visible": visible, "widgets": []} for side, visible in (("left", True), ("right", False))
        }
    },
    "metadata": {"id": "default"},
}
_LONGEST_WAIT = 60.0
_UNTIL_EXPORT = 5.0


def options() -> list[str]:
    """Return the options with which JupyterLab is started for a learner."""
    off = [f"--ServerApp.jpserver_extensions={name}=False" for name in _SWITCHED_OFF]
    # Parts are added by whoever looks after the machine; asking the net which there are takes 0.2 s to make ready.
    return [*off, f"--LabApp.app_settings_dir={SETTINGS}", "--LabApp.extension_manager=readonly"]


def main(words: Sequence[str]) -> None:
    """Load JupyterLab, wait for the file if one was named, and run it.

    Args:
        words: what follows the command.
    """
    loaded: dict[str, object] = vars(sys)["modules"]
    for name in _NOT_NEEDED:
        # Python takes a module that is there as None for one that is not installed.
        loaded.setdefault(name, None)
    from jupyterlab.labapp import main as run

    own = list(words)
    if own[:1] == [WHEN]:
        _wait_for(Path(own[1]))
        own = own[2:]
    for word in own:
        if word.startswith(WINDOW_IN):
            begin_window(Path(word.removeprefix(WINDOW_IN)))
    sys.argv[1:] = [*options(), *own]
    if os.name == "posix":
        from gearkit.lesson.course import kernel_waiting

        kernel_waiting.offer()
        sys.argv.append(f"--KernelProvisionerFactory.default_provisioner_name={kernel_waiting.NAME}")
    _export_later()
    run()
    _end()


def _export_later() -> None:
    """Have the list of what a notebook can be exported as wait: making it takes a second of processor time, in which the first
    notebook and its kernel would have to wait. JupyterLab shows the menu when the list is there."""
    import asyncio

    from jupyter_server.services.nbconvert.handlers import NbconvertRootHandler
    from tornado.web import authenticated

    make_list = NbconvertRootHandler.get

    async def later(self: NbconvertRootHandler) -> None:
        await asyncio.sleep(_UNTIL_EXPORT)
        await make_list(self)

    NbconvertRootHandler.get = authenticated(later)


def begin_window(folder: Path) -> None:
    """Have JupyterLab open with its side bars shut the first time; how its owner left it stays.

    Args:
        folder: where the shelf keeps that.
    """
    if not any(folder.glob("*.jupyterlab-workspace")):
        folder.mkdir(parents=True, exist_ok=True)
        (folder / _DEFAULT_WINDOW).write_text(json.dumps(_FIRST_WINDOW), encoding="utf-8")


def _wait_for(file: Path) -> None:
    give_up = time.monotonic() + _LONGEST_WAIT
    while not file.exists() and time.monotonic() < give_up:
        time.sleep(0.02)


def _end() -> NoReturn:
    """End the process at once: a request that was being answered when the server stopped leaves a thread behind that waits for
    more for ever, and Python would wait for it."""
    logging.shutdown()
    os._exit(0)


if __name__ == "__main__":
    main(sys.argv[1:])
