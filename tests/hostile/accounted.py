"""Checks that no file of a hand-in is passed over in silence: each is named in a sentence, or counted in one."""

from __future__ import annotations

import io
import os
import re
import zipfile
from collections.abc import Iterable, Iterator
from pathlib import Path

from graders.mark.submissions import writable
from graders.run.read.finding import BESIDE_THE_WORK, DEEPEST, RECORD
from graders.take_in.take_in import plain_name

# What a sentence says of files without their names.
COUNTS = re.compile(
    r"and (\d+) more files|(\d+) hidden file|holds (\d+) files; only the first|(\d+) more entries of|"
    r"archivers: (\d+) file|\(and (\d+) more like it\)|handed in (\d+) (?:notebooks|files)|(\d+) files? of (?:an)?other sheet"
)
# Sentences about an archive, or a folder, that was not looked into stand for all that it holds.
CLOSED = re.compile(
    r"put it by hand|Left: |Left out, since|cannot be opened|was not opened|was not followed|too deep|only the beginning was read"
)
TELLING = 25


def files_of(folder: Path) -> Iterator[str]:
    """Every file handed in, those in archives too, by its path inside the folder; links and pipes are files as well.

    Args:
        folder: a learner's folder, or a source that is taken in.
    """
    if folder.is_symlink():
        return
    for base, folders, names in os.walk(folder):
        links = [name for name in folders if (Path(base) / name).is_symlink()]
        for name in sorted([*names, *links]):
            path = Path(base) / name
            inside = path.relative_to(folder).as_posix()
            # Other files that are archives inside, such as a text processor's, stand for themselves.
            opened = (
                name not in (*BESIDE_THE_WORK, RECORD)
                and name.lower().endswith((".ipynb", ".zip", ".json", ".py", ".txt"))
                and path.is_file()
                and not path.is_symlink()
            )
            held = list(_entries(path.read_bytes(), inside)) if opened else []
            yield from held or [inside]


def _entries(data: bytes, inside: str, depth: int = DEEPEST) -> Iterator[str]:
    if data[:2] != b"PK" or not depth:
        return
    try:
        archive = zipfile.ZipFile(io.BytesIO(data))
    except (zipfile.BadZipFile, OSError, ValueError):
        return
    for entry in archive.infolist():
        path, held = f"{inside}/{entry.filename}", []
        if entry.filename.endswith(".zip"):
            try:
                held = list(_entries(archive.read(entry), path, depth - 1))
            except (zipfile.BadZipFile, NotImplementedError, RuntimeError, EOFError, OSError, ValueError):
                held = []
        yield from held or ([] if entry.is_dir() else [path])


def passed_over(files: Iterable[str], sheet: str, said: Iterable[str], *, read: bool) -> list[str]:
    """The files of which neither their name nor their number is told.

    Args:
        files: paths of files.
        sheet: name of the sheet, whose notebook is accounted for by its marks.
        said: every sentence that the instructor finds.
        read: whether answers were read from a notebook; where not, the sheet's own must be told as well.
    """
    sentences = list(said)
    told = " ".join(sentences)
    closed = " ".join(sentence for sentence in sentences if CLOSED.search(sentence))
    whole = " ".join(sentence for sentence in sentences if "Left aside: " in sentence or "holds no notebook, only" in sentence)
    silent = []
    # The sheet's own notebook is told by its marks, the time by its place in them, a sound record by the report; each once.
    own = {*BESIDE_THE_WORK, RECORD, *([f"{sheet}.ipynb"] if read else [])}
    for path in files:
        if path in own:
            own.remove(path)
            continue
        *above, last = path.split("/")
        named = any(_in_quotes(name) in told for name in (last, plain_name(path))) or any(
            _in_quotes(part) in closed or f"{_in_quotes(part)}'" in whole for part in above
        )
        if not named:
            silent.append(path)
    counted = sum(int(number) for found in COUNTS.finditer(told) for number in found.groups() if number)
    return silent if len(silent) > counted else []


def _in_quotes(part: str) -> str:
    """The beginning of a name as sentences show it; they cut long ones."""
    return writable(repr(part)[1:-1])[:TELLING]
