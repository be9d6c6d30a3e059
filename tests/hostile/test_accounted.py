"""After taking in and marking, every file handed in is told in one sentence somewhere the instructor looks."""

from __future__ import annotations

import io
import json
import os
import shutil
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.course.roster import Learner, Roster
from graders.demo import mishaps
from graders.mark import batch
from graders.mark.workers.worker import Settings
from graders.run.read import finding
from graders.run.read.finding import is_leftover
from graders.take_in import take_in
from graders.take_in.take_in import TakenIn
from tests.graders.classroom import CLASS, Classroom, right
from tests.hostile import file_cases
from tests.hostile.accounted import COUNTS, files_of, passed_over
from tests.hostile.cases import ITEMS, SHEET, Place
from tests.hostile.corpus import LIMITS
from tests.support.amounts import SHORT, amount

# Tens of megabytes each, or long to read, which the corpus hands in anyway.
LARGE = (
    # Long to read, and read some twenty times on the way.
    *(["a list without end, nine hundred deep"] if SHORT else []),
    "a file of seventy megabytes",
    "large files that come before the notebook",
    "a notebook that goes on with nothing",
    "archives in an archive that all swell",
    "an archive that swells",
    "twenty megabytes of output",
)


def silent(room: Classroom, source: Path) -> dict[str, list[str]]:
    """Take a folder in and mark it: what is told nowhere, by the outermost folder that it lay in."""
    taken = take_in.take_in(room.course, room.sheet.name, source, room_class(room), replace=True)
    said = (*taken.remarks, *taken.refused, *taken.unknown, *taken.chosen, *taken.aside)
    marked = batch.mark_sheet(room.course, room.sheet, settings=Settings(limits=LIMITS["warm"]))
    reasons = {failure.learner: failure.reason for failure in marked.failed}
    marks = {one.learner: one for one in marked.learners}
    missed = {}
    for folder in sorted(path for path in source.iterdir() if path.is_dir()):
        learner = folder.name
        here = [words for words in said if learner in words]
        flags = marks[learner].flags if learner in marks else ()
        if learner not in marks:
            # What lies under nobody's name may be somebody's by a name further in.
            here, flags = [*said], tuple(flag for one in marked.learners for flag in (*one.flags, reasons.get(one.learner, "")))
        files = [path for path in files_of(folder) if not is_leftover(f"{learner}/{path}")]
        # Take-in keeps files under plain names, without folders.
        own = (f"{room.sheet.name}.ipynb", *finding.BESIDE_THE_WORK, finding.RECORD)
        files = [
            plain if os.path.lexists(folder / path) and (plain := take_in.plain_name(path)) in own else path for path in files
        ]
        read = learner in taken.taken and learner not in reasons
        found = passed_over(files, room.sheet.name, [*here, *flags, reasons.get(learner, "")], read=read)
        missed |= {learner: found} if found else {}
    missed |= _leftovers(source, taken)
    return missed


def _leftovers(source: Path, taken: TakenIn) -> dict[str, list[str]]:
    """All hidden files are told in one sentence with their number; what lies in a learner's own archive, when it is marked."""
    hidden = [
        path
        for path in (path.relative_to(source).as_posix() for path in source.rglob("*") if not path.is_dir())
        if is_leftover(path)
    ]
    told = [int(number) for words in taken.aside for found in COUNTS.finditer(words) if (number := found[5])]
    return {} if sum(told) == len(hidden) else {"leftovers": hidden}


def room_class(room: Classroom) -> Roster:
    return (
        CLASS
        if room.sheet.name != SHEET
        else Roster(tuple(Learner(path.name, path.name) for path in sorted((room.course.folder / "handed_out").iterdir())))
    )


def test_every_file_of_the_hostile_hand_ins_is_told_when_they_are_taken_in_and_marked(tmp_path: Path) -> None:
    cases = [case for case in file_cases.CASES if case.name not in LARGE]
    learners = [Learner(f"h{place:03d}", f"h{place:03d}") for place in range(len(cases))]
    learners += [Learner(f"g{place:03d}", f"g{place:03d}") for place in range(20)]
    room = Classroom(tmp_path, ",".join(ITEMS), SHEET, roster=Roster(tuple(learners)))
    for place, case in enumerate(cases):
        case.make(Place(room, f"h{place:03d}", "g000", 9))
    source = tmp_path / "in"
    source.mkdir()
    for folder in sorted(room.course.submitted.iterdir()):
        (folder / SHEET).rename(source / folder.name)
    shutil.rmtree(room.course.submitted)
    names = {f"h{place:03d}": case.name for place, case in enumerate(cases)}
    assert {names.get(learner, learner): files for learner, files in silent(room, source).items()} == {}


@pytest.mark.parametrize("zipped", [False, True])
def test_every_file_of_the_demos_mishaps_is_told(tmp_path: Path, zipped: bool) -> None:
    names = [f"m{place:02d}" for place in range(len(mishaps.MISHAPS))]
    room = Classroom(tmp_path, ",".join(ITEMS), SHEET, roster=Roster(tuple(Learner(name, name) for name in names)))
    for name, mishap in zip(names, mishaps.MISHAPS.values(), strict=True):
        files = mishap.files(room.copy(name, right), SHEET) | {"essay.docx": b"x", ".DS_Store": b"x"}
        folder = tmp_path / "in" / name
        folder.mkdir(parents=True)
        for path, data in ({"work.zip": _zip(files)} if zipped else files).items():
            (folder / path).write_bytes(data)
    assert silent(room, tmp_path / "in") == {}


def _zip(files: dict[str, bytes]) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for path, data in files.items():
            archive.writestr(path, data)
    return out.getvalue()


FOLDERS = st.sampled_from(["", "deep/", "a/b/c/d/e/", "s3/", "__MACOSX/", "x.zip/", "my work/"])
FILES = st.sampled_from(
    [
        "A1.ipynb",
        "A1 (1).ipynb",
        "B.IPYNB",
        "essay.docx",
        "plot.png",
        ".hidden",
        "A1.ipynb~",
        "my_record.json",
        "notes.txt",
        "timestamp.txt",
        "s2.ipynb",
        "\u202egnp.ipynb",
        "a\nb.pdf",
        "x" * 90 + ".odt",
    ]
)
CONTENTS = st.sampled_from(
    [b"", b"{", b'{"cells": []}', b"PK\x03\x04", b"right", _zip({"A1.ipynb": b"{", "c.txt": b"", ".h": b""})]
)
TREE = st.dictionaries(st.tuples(st.sampled_from(["s1", "s2", "group", "Zed_7_assignsubmission_file_"]), FOLDERS, FILES), CONTENTS,
                       min_size=1, max_size=9)  # fmt: skip


def test_every_file_of_any_source_is_told(tmp_path_factory: pytest.TempPathFactory) -> None:
    room = Classroom(tmp_path_factory.mktemp("any"), "L03-02")
    sound = json.dumps(room.copy("s1", right)).encode()

    @settings(max_examples=amount(150, 10), deadline=None)
    @given(TREE)
    def all_told(tree: dict[tuple[str, str, str], bytes]) -> None:
        source = tmp_path_factory.mktemp("in")
        for (first, inside, name), data in tree.items():
            path = source / first / inside / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(sound if data == b"right" else data)
        for folder in (room.course.submitted, room.course.folder / "replaced"):
            shutil.rmtree(folder, ignore_errors=True)
        assert silent(room, source) == {}

    all_told()


def test_a_file_that_no_sentence_tells_of_is_noticed() -> None:
    """The check can fail: without its sentence each of these is passed over."""
    said = ["Left aside: 'a.txt', 'b.txt' and 1 more files.", "'c.ipynb' in 'work.zip' cannot be unpacked (damaged)."]
    files = ["a.txt", "b.txt", "d.txt", "work.zip/c.ipynb", "H1.ipynb"]
    assert passed_over(files, "H1", said, read=True) == []
    assert passed_over(files, "H1", said, read=False) == ["d.txt", "H1.ipynb"]
    assert passed_over(files, "H1", said[1:], read=True) == ["a.txt", "b.txt", "d.txt"]
    assert passed_over(files, "H1", said[:1], read=True) == ["d.txt", "work.zip/c.ipynb"]
