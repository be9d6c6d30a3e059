"""The learner's own shelf of lessons: copied from the kit, brought up to date, and never written over.

The home page of the course is made anew each time, and a record is begun, so that numbers are the learner's own from the
first moment on. A list of what was handed over (file and fingerprint) lies on the shelf. A notebook that is still as it was handed
over may be replaced by a newer one. One that its owner has run or changed stays, and the newer one is put beside it.
Records and all other files are not touched.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from gearkit import __version__
from gearkit.lesson.course import glossary, home
from gearkit.lesson.course.lab import WHEN, WINDOW_IN
from gearkit.lesson.course.language import changed_over, language_of
from gearkit.lesson.course.links import HOME
from gearkit.lesson.record import Record, is_whole, record_path
from gearkit.text import places
from gearkit.words.errors import UsageError
from gearkit.words.say import language_code, languages, say, say_n, speaking_language

DEFAULT_FOLDER = "gearkit-lessons"
_LAB = "gearkit.lesson.course.lab"
# Seconds from JupyterLab's start until its first page is open on most machines.
_UNTIL_OPEN = 20.0
_LIST = ".handed_over.json"
_WINDOW = ".jupyterlab"
# In the list, behind a file's name: what its copy was made of.
_ORIGIN = " was made of"


@dataclass(frozen=True)
class HandedOver:
    """What handing over did.

    Args:
        folder: the learner's folder.
        new: notebooks that were not there before.
        updated: untouched notebooks that were replaced by a newer version.
        beside: newer versions put beside a notebook that its owner has worked in.
    """

    folder: Path
    new: tuple[Path, ...]
    updated: tuple[Path, ...]
    beside: tuple[Path, ...]

    def words(self) -> str:
        """Return what happened, in a few sentences."""
        told = [say("Lessons are in {folder}.", folder=self.folder)]
        if self.new:
            told.append(say_n("{count} new.", "{count} new.", len(self.new)))
        if self.updated:
            told.append(say_n("{count} brought up to date.", "{count} brought up to date.", len(self.updated)))
        for path in self.beside:
            told.append(say("Your own copy was kept; the new version is {name}.", name=path.relative_to(self.folder)))
        return " ".join(told)


def hand_over(to: Path | None = None) -> Path:
    """Copy the lessons into the learner's folder and return it.

    Args:
        to: the folder; made when missing. None is ``gearkit-lessons`` in the home folder.
    """
    return fill(to).folder


def fill(to: Path | None = None, *, pictures: bool = True, language: str = "") -> HandedOver:
    """Copy the lessons into the learner's folder, never over the learner's work.

    Args:
        to: the folder; made when missing. None is ``gearkit-lessons`` in the home folder.
        pictures: whether the glossary gets its pictures at once; whoever fills again later gives them to it.
        language: the code of the language that the lessons are to be in from now on; "" for the one chosen before.

    Raises:
        UsageError: the folder cannot be made or written, or there is no such language.
    """
    folder = _made(to)
    code = language or _language_of(folder)
    with speaking_language(code) if code else contextlib.nullcontext():
        return _filled(folder, pictures, language)


def _language_of(folder: Path) -> str:
    """The language that was chosen for a shelf; "" where none was."""
    path = record_path(folder)
    record = Record(path) if is_whole(path) else None
    return language_of(record) if record and record.language else ""


def _filled(folder: Path, pictures: bool, language: str) -> HandedOver:
    source = places.lessons()
    new: list[Path] = []
    updated: list[Path] = []
    beside: list[Path] = []
    try:
        listed = _read_list(folder)
        for notebook in sorted(source.rglob("*.ipynb")):
            if ".ipynb_checkpoints" in notebook.parts:
                continue
            name = notebook.relative_to(source)
            _place(notebook, folder, name, listed, (new, updated, beside), pictures)
        _write(folder / _LIST, json.dumps(listed, indent=1, sort_keys=True).encode())
        _begin(folder, language)
    except OSError as fault:
        raise _not_there(folder, fault) from None
    return HandedOver(folder, tuple(new), tuple(updated), tuple(beside))


def _made(to: Path | None) -> Path:
    """The learner's folder, made when missing."""
    folder = (to or Path.home() / DEFAULT_FOLDER).expanduser().resolve()
    source = places.lessons().resolve()
    if folder == source or source in folder.parents:
        raise UsageError(f"{folder} belongs to the kit itself; choose a folder of your own, such as ~/{DEFAULT_FOLDER}.")
    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as fault:
        raise _not_there(folder, fault) from None
    return folder


def _not_there(folder: Path, fault: OSError) -> UsageError:
    return UsageError(
        f"{folder}: the lessons cannot be put there ({fault.strerror or fault}). Choose another folder with --to."
    )


def _begin(folder: Path, language: str) -> None:
    """Begin the record and make the home page from it; a damaged record is left for a lesson, which says what it does."""
    path = record_path(folder)
    if path.exists() and not is_whole(path):
        return
    record = Record(path)
    record.begin()
    if language:
        record.choose_language(language)
    home.renew(folder, record)


def _place(
    notebook: Path,
    folder: Path,
    name: Path,
    listed: dict[str, str],
    done: tuple[list[Path], list[Path], list[Path]],
    pictures: bool,
) -> None:
    new, updated, beside = done
    target = folder / name
    raw = notebook.read_bytes()
    # Explaining words and drawing pictures takes a moment, which nobody has to wait for while nothing has changed.
    origin, made_of = f"{name.as_posix()}{_ORIGIN}", f"{__version__} {language_code()} {pictures} {_fingerprint(raw)}"
    handed_over = listed.get(name.as_posix())
    if handed_over is not None and listed.get(origin) == made_of and target.exists():
        return
    content = glossary.own_copy(raw, name, pictures=pictures)
    shipped = _fingerprint(content)
    before = _before(listed.get(origin, ""), raw, name)
    listed[origin] = made_of
    if not target.exists():
        _write(target, content)
        new.append(target)
    elif _fingerprint(target.read_bytes()) in (handed_over, shipped):
        if _fingerprint(target.read_bytes()) != shipped:
            _write(target, content)
            updated.append(target)
    elif handed_over != shipped and before is not None:
        # Nothing but the language is new: what its owner did in it stays where it is.
        _write(target, changed_over(target.read_bytes(), before, content))
        updated.append(target)
    elif handed_over != shipped:
        twin = _free_twin(target, content)
        if twin is not None:
            _write(twin, content)
            beside.append(twin)
    listed[name.as_posix()] = shipped


def _before(made_of: str, raw: bytes, name: Path) -> bytes | None:
    """A notebook as it was handed over in another language; None where more than the language changed since."""
    words = made_of.split(" ")
    if len(words) != 4 or words[3] != _fingerprint(raw) or words[1] == language_code() or words[1] not in languages():
        return None
    with speaking_language(words[1]):
        return glossary.own_copy(raw, name, pictures=words[2] == str(True))


def _free_twin(target: Path, content: bytes) -> Path | None:
    """Return a free name for a newer version, or None where that version is there already."""
    for count in range(1, 1000):
        tail = "" if count == 1 else f" {count}"
        twin = target.with_name(f"{target.stem} (new version{tail}){target.suffix}")
        if not twin.exists():
            return twin
        if twin.read_bytes() == content:
            return None
    return None


def lab_command(folder: Path) -> list[str]:
    """Return the command that opens JupyterLab on a shelf, at the home page of the course.

    Args:
        folder: the learner's folder.
    """
    command = [sys.executable, "-m", _LAB, str(folder / HOME), f"--ServerApp.root_dir={folder}"]
    command.append(f"{WINDOW_IN}{folder / _WINDOW}")
    # Jupyter refuses to run as root unless told so; in a container the learner is often root.
    return [*command, "--allow-root"] if hasattr(os, "geteuid") and os.geteuid() == 0 else command


def open_lab(to: Path | None, tell: Callable[[HandedOver], None], language: str = "") -> int:
    """Put the lessons on the learner's shelf, open JupyterLab there, wait until it is closed, and return its exit code.

    JupyterLab is loaded while the lessons are copied, and starts when all are there.

    Args:
        to: the folder, as `fill` takes it.
        tell: gets what was handed over, before JupyterLab starts.
        language: as `fill` takes it.

    Raises:
        UsageError: the folder cannot be made or written, or JupyterLab cannot be started.
    """
    folder = _made(to)
    try:
        with tempfile.TemporaryDirectory(prefix="gearkit") as place:
            ready = Path(place) / "ready"
            command = lab_command(folder)
            with subprocess.Popen([*command[:3], WHEN, str(ready), *command[3:]], cwd=folder) as lab:
                try:
                    tell(fill(folder, pictures=False, language=language))
                except BaseException:
                    lab.terminate()
                    raise
                ready.touch()
                # Pictures of the glossary would keep the first page waiting, and nobody opens the glossary before that is up.
                with contextlib.suppress(subprocess.TimeoutExpired):
                    return lab.wait(_UNTIL_OPEN)
                fill(folder)
                return lab.wait()
    except KeyboardInterrupt:
        return 0
    except OSError as fault:
        raise UsageError(f"JupyterLab cannot be started ({fault.strerror}). Install it with: pip install jupyterlab") from None


def _fingerprint(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


def _read_list(folder: Path) -> dict[str, str]:
    try:
        held = json.loads((folder / _LIST).read_text(encoding="utf-8"))
    except (OSError, ValueError):
        # Without the list every notebook counts as its owner's work, which is the safe side.
        return {}
    return {str(key): str(value) for key, value in held.items()} if isinstance(held, dict) else {}


def _write(path: Path, content: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    handle, name = tempfile.mkstemp(prefix=f".{path.name}", suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(content)
        os.chmod(name, 0o644)
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise
