"""Somebody else's player of QTI items, for tests alone: its published package, run in Chromium, which loads and scores an item.

The player (npm package @citolab/qti-components, GPL-3.0) shares nothing with the kit and is never shipped with it. It comes
from the package registry by its ordinary client, once, in a fixed version with a fixed hash.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import subprocess
import tarfile
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path

from playwright.sync_api import Page

from tests.support.archives import unpack
from tests.support.qti_reader import Scored, Value

PACKAGE, VERSION = "@citolab/qti-components", "7.27.4"
_SCRIPT = "package/cdn/index.global.js"
_HASH = "d79d2f929900a3dced5770491980924acbd6588cad7d8e86594e2b515df79718"
_FETCH_SECONDS = 120
_SHOW = """async (xml) => {
  document.body.replaceChildren();
  const place = document.createElement("item-container");
  place.itemXML = xml;
  const around = document.createElement("qti-item");
  const there = new Promise((done) => around.addEventListener("qti-assessment-item-connected", (event) => done(event.detail)));
  around.append(place);
  document.body.append(around);
  window.item = await there;
}"""
_SCORE = """async (all) => {
  const told = [];
  for (const answers of all) {
    for (const variable of item.variables) {
      if (variable.identifier in answers) item.updateResponseVariable(variable.identifier, answers[variable.identifier]);
    }
    item.processResponse(true, false);
    told.push(await shown());
  }
  return told;
}"""
_SHOWN = """async () => {
  const told = [...item.querySelectorAll("qti-modal-feedback")];
  await Promise.all(told.map((each) => each.updateComplete));
  const open = told.filter((each) => each.shadowRoot.querySelector("dialog").open);
  return { score: item.variables.find((one) => one.identifier === "SCORE").value, said: open.map((one) => one.textContent) };
}"""


def script() -> Path:
    """Return the player's script; LookupError, in a sentence, where no registry can be reached."""
    cache = Path(os.environ.get("XDG_CACHE_HOME") or Path.home() / ".cache") / "gearkit" / f"qti-player-{VERSION}.js"
    if not cache.is_file():
        cache.parent.mkdir(parents=True, exist_ok=True)
        with tempfile.TemporaryDirectory(prefix="gearkit-player-") as folder:
            held = _fetched(Path(folder))
            shutil.move(held, cache)
    found = hashlib.sha256(cache.read_bytes()).hexdigest()
    assert found == _HASH, f"the player's script is another one (SHA-256 {found})"
    return cache


def _fetched(folder: Path) -> Path:
    client = shutil.which("npm")
    if client is None:
        raise LookupError("the player of QTI items comes from the npm registry, and its client npm is not installed here")
    try:
        wanted = [client, "pack", "--silent", f"{PACKAGE}@{VERSION}"]
        subprocess.run(wanted, cwd=folder, check=True, capture_output=True, timeout=_FETCH_SECONDS)
        (package,) = folder.glob("*.tgz")
    except (OSError, subprocess.SubprocessError, ValueError):
        raise LookupError("the player of QTI items could not be fetched: no npm registry can be reached from here") from None
    with tarfile.open(package) as archive:
        unpack(archive, folder, _SCRIPT)
    return folder / _SCRIPT


class Player:
    """The player on a page.

    Args:
        page: an empty page of Chromium.
    """

    def __init__(self, page: Page) -> None:
        self.page = page
        page.set_content("<!DOCTYPE html><html lang='en'><body></body></html>")
        page.add_script_tag(path=script())
        page.wait_for_function(
            '["qti-assessment-item", "item-container"].every((name) => customElements.get(name) !== undefined)'
        )
        page.evaluate(f"window.shown = {_SHOWN}; 0")

    def show(self, xml: str) -> None:
        """Show an item.

        Args:
            xml: the item's file.
        """
        self.page.evaluate(_SHOW, xml)

    def scores(self, answers: Sequence[Mapping[str, Value]]) -> list[Scored]:
        """Return what the shown item gives for each of several sets of answers.

        Args:
            answers: texts by response; None for an empty field.
        """
        asked = [{name: _as_text(each) for name, each in one.items()} for one in answers]
        return [_scored(each) for each in self.page.evaluate(_SCORE, asked)]

    def hand_in(self) -> Scored:
        """Return what the shown item gives for what stands in its fields."""
        self.page.evaluate("item.processResponse(true, false)")
        return _scored(self.page.evaluate("shown()"))


def _as_text(answer: Value) -> str | list[str] | None:
    if answer is None:
        return None
    return list(answer) if isinstance(answer, tuple) else f"{answer:.12g}" if isinstance(answer, float) else answer


def _scored(told: Mapping[str, object]) -> Scored:
    said = told["said"]
    assert isinstance(said, list)
    return Scored(float(str(told["score"])), tuple(said))
