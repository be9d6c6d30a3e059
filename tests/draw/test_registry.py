"""One list of pictures: what the command draws, a lesson shows, and the other way round."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from types import ModuleType

import pytest

from gearkit.draw import registry
from gearkit.draw.core.svg import Picture
from gearkit.draw.registry import PICTURES, Kind, RangeUse, picture_of
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.workbook import Lesson
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError
from tests.support.commands import refused, run

RANGES = [
    (what, name) for what, kind in PICTURES.items() for name in ("2", "") if name == "" or kind.ranges is not RangeUse.ALL
]


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    return open_lesson("07", tmp_path / "record.json")


@pytest.mark.parametrize(
    ("what", "range_name"), [(what, name) for what, name in RANGES if name or PICTURES[what].ranges is not RangeUse.MUST]
)
def test_a_lesson_shows_what_the_command_draws(
    what: str, range_name: str, lesson: Lesson, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "drawn.svg"
    code, _, _ = run(capsys, "draw", "Q36", "--what", what, "-o", str(file), *(("--range", range_name) if range_name else ()))
    assert code == 0
    assert lesson.show("Q36", what, range_name=range_name).svg == file.read_text(encoding="utf-8").rstrip("\n")


@pytest.mark.parametrize("what", registry.with_a_range())
def test_a_range_changes_every_picture_that_takes_one(what: str, lesson: Lesson) -> None:
    assert lesson.show("Q36", what, range_name=2).svg != lesson.show("Q36", what, range_name="3").svg


def test_the_front_view_of_a_range_says_how_its_members_turn(lesson: Lesson) -> None:
    assert "The sun turns in reverse" in lesson.show("Q48", "front", range_name="1", set_name="P2").words


@pytest.mark.parametrize(
    ("what", "options", "message"),
    [("power", {}, "'power' shows one range of Quillbrook Q36: .*; name one of: 1, 2, 3, 4, 5, 6, R"),
     ("chart", {"range_name": "2"}, "'chart' shows all ranges; leave the range out, or ask for stick, levers, power, cutaway or front"),
     ("stick", {"set_name": "P1"}, "shows the whole layout; leave the set out, or ask for front"),
     ("side", {}, "no picture 'side'; choose from: stick, levers, speeds, chart, ratios, power, cutaway, front"),
     ("stick", {"range_name": "9"}, "9")],
)  # fmt: skip
def test_lesson_and_command_refuse_in_the_same_words(
    what: str, options: dict[str, str], message: str, lesson: Lesson, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(UsageError, match=message) as fault:
        lesson.show("Q36", what, **options)
    words = [word for name, value in options.items() for word in (f"--{name.partition('_')[0]}", value)]
    if what in PICTURES:
        assert str(fault.value) in refused(capsys, "draw", "Q36", "--what", what, "-o", str(tmp_path / "x.svg"), *words)


def test_a_new_picture_is_one_entry_in_the_list(
    lesson: Lesson, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    module = ModuleType("new_picture")
    module.picture = lambda layout: Picture(title=f"New of {layout.name}", description="Nothing yet.", kind="new")
    monkeypatch.setitem(sys.modules, "new_picture", module)
    monkeypatch.setitem(PICTURES, "new", Kind("something new", "new_picture", RangeUse.ALL))
    assert lesson.show("Q36", "new").words.startswith("New of Quillbrook Q36")
    assert run(capsys, "draw", "Q36", "--what", "new", "-o", str(tmp_path / "new.svg"))[0] == 0
    assert "new: something new" in run(capsys, "draw", "--help")[1].replace("\n", " ").replace("  ", " ")
    with pytest.raises(UsageError, match="front, new"):
        picture_of(find("Q36"), "none")


def test_the_list_alone_loads_nothing_that_draws() -> None:
    told = "import sys, gearkit.draw.registry; print([name for name in sys.modules if name.startswith('gearkit.draw.')])"
    found = subprocess.run([sys.executable, "-c", told], capture_output=True, text=True, check=True, timeout=60)
    assert found.stdout.strip() == "['gearkit.draw.registry']"
