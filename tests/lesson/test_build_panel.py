"""A layout put together part by part: what is taken, what is refused with the reason, what goes with what, and the file."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest

from gearkit.lesson.opening import open_lesson
from gearkit.lesson.trains.build_panel import BuildPanel, lines_of
from gearkit.solve import ratios
from gearkit.solve.teeth.new_layout import Typed, new_layout
from gearkit.train.catalogue import entries, find
from gearkit.words.errors import GearkitError, UsageError


def two_range_set() -> BuildPanel:
    panel = BuildPanel()
    for kind, line in (
        ("sets", "P1 single 30/66, 3 planets"),
        ("joins", "input = P1.sun"),
        ("joins", "output = P1.carrier"),
        ("elements", "A brake P1.ring"),
        ("elements", "K clutch P1.sun P1.ring"),
    ):
        panel.add(kind, line)
    return panel


def test_parts_become_a_layout_that_drives_and_its_file_says_the_same(tmp_path: Path) -> None:
    panel = BuildPanel()
    assert panel.words() == "No set yet. Add the first one."
    panel = two_range_set()
    # By hand: ring held, 1 + R/S; joined, all as one.
    assert panel.found["drives"] == [["3.200", "A"], ["1.000", "K"]]
    assert panel.found["warnings"] == []
    panel.add("ranges", "1: A")
    panel.add("ranges", "2: K")
    assert panel.found["chart"] == [["1", "A", "range", "3.200"], ["2", "K", "range", "1.000"]]
    file = panel.save(str(tmp_path / "mine.toml"))
    assert [row.ratio.exact for row in ratios.chart(find(file)).rows if row.ratio] == [Fraction(16, 5), Fraction(1)]
    panel.add("ranges", "N")
    assert "range 1: ratio 3.200; range 2: ratio 1.000; range N: neutral." in panel.words()
    assert panel.save(str(file)) == file
    assert "N" in [item.name for item in find(file).ranges]


def test_what_does_not_fit_is_refused_and_nothing_changes() -> None:
    panel = two_range_set()
    before = (panel.sets, panel.joins, panel.elements, dict(panel.found))
    for kind, line, why in (
        ("sets", "P1 30/66", "P1"),
        ("sets", "P2 ?", "give its teeth"),
        ("sets", "P2 single 60/30", "ring"),
        ("joins", "input", "members that are one shaft"),
        ("elements", "B brake P9.ring", "P9"),
        ("elements", "A brake P1.sun", "A"),
        ("ranges", "1: Z", "Z"),
        ("wheels", "1", "no kind of part 'wheels'"),
    ):
        with pytest.raises(GearkitError, match=why):
            panel.add(kind, line)
        assert (panel.sets, panel.joins, panel.elements, dict(panel.found)) == before
    with pytest.raises(UsageError, match="Add a set first"):
        BuildPanel().add("joins", "input = output")


def test_with_a_set_goes_what_acts_on_it_and_with_an_element_its_place_in_the_ranges() -> None:
    panel = two_range_set()
    panel.add("ranges", "1: A")
    panel.add("sets", "P2 double 30/70")
    panel.add("elements", "C brake P2.ring")
    panel.remove("sets", 1)
    assert panel.elements == ["A brake P1.ring", "K clutch P1.sun P1.ring"]
    assert panel.told == "Taken out: P2 double 30/70; with it C brake P2.ring."
    panel.remove("elements", 0)
    assert panel.ranges == ["1:"]
    assert panel.found["warnings"] == [
        "Range 1: with nothing applied input and output are free of each other.",
        "K: this clutch is never applied in any range.",
    ]
    with pytest.raises(UsageError, match="no part 9 among the sets"):
        panel.remove("sets", 8)


def test_a_file_that_is_somebody_elses_is_never_replaced(tmp_path: Path) -> None:
    other = tmp_path / "other.toml"
    other.write_text("mine", "utf-8")
    panel = two_range_set()
    with pytest.raises(UsageError, match="there already and is left as it is"):
        panel.save(str(other))
    with pytest.raises(UsageError, match=r"ends in \.toml"):
        panel.save(str(tmp_path / "mine.svg"))
    with pytest.raises(UsageError, match="no layout to save"):
        BuildPanel().save(str(tmp_path / "new.toml"))
    assert other.read_text("utf-8") == "mine"
    # What was changed by hand since it was saved is somebody's work too.
    own = panel.save(str(tmp_path / "own.toml"))
    own.write_text(own.read_text("utf-8") + "# by hand\n", "utf-8")
    with pytest.raises(UsageError, match="left as it is"):
        panel.save(str(own))


def test_the_browser_is_told_why_something_was_not_taken(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    panel = two_range_set()
    panel._on_message(panel, {"do": "add", "kind": "ranges", "line": "1: Z"}, [])
    assert "'Z'" in panel.trouble
    panel._on_message(panel, {"do": "add", "kind": "ranges", "line": "1: A"}, [])
    assert (panel.trouble, panel.ranges) == ("", ["1: A"])
    panel._on_message(panel, {"do": "save", "file": " first.toml "}, [])
    assert panel.told.startswith("Saved as first.toml")
    (tmp_path / "folder.toml").mkdir()
    panel._on_message(panel, {"do": "save", "file": "folder.toml"}, [])
    assert "left as it is" in panel.trouble
    assert (tmp_path / "first.toml").is_file()


def test_every_plain_layout_comes_back_from_its_lines() -> None:
    for entry in entries():
        lines = {kind: tuple(each) for kind, each in lines_of(entry.layout).items()}
        made = new_layout(Typed(entry.layout.name, **lines)).layout
        assert [row.ratio.exact if row.ratio else row.mobility.verdict for row in ratios.chart(made).rows] == [
            row.ratio.exact if row.ratio else row.mobility.verdict for row in ratios.chart(entry.layout).rows
        ], entry.name


def test_a_lesson_goes_on_from_a_layout_and_refuses_one_with_machines(tmp_path: Path) -> None:
    lesson = open_lesson("13", tmp_path / "r.json")
    panel = lesson.build_layout("Q24")
    assert [row[3] for row in panel.found["chart"]][:3] == ["2.720", "2.720", "1.453"]
    # The stored placement is used, so the picture is the layout's own.
    [drawing] = panel.pictures()
    assert 'data-plates="F"' in drawing
    assert ElementTree.fromstring(drawing).get("role") == "img"
    with pytest.raises(UsageError, match="one input and one output"):
        lesson.build_layout("power_split_one_set")
