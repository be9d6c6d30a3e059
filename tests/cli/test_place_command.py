"""The command place: a placement into a layout's own file, nothing else in the file touched, the kit's own files kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from gearkit.draw.stick import placement
from gearkit.train import catalogue
from gearkit.train.placement_block import with_stored
from gearkit.words.errors import UsageError
from tests.support.commands import refused, run

COMMENT = "# The dean's favourite; measured twice.\n"


@pytest.fixture
def own(tmp_path: Path) -> Path:
    """A layout file of one's own, with a comment and without a placement."""
    text, _, _ = catalogue.find("pair_series").text.partition("[placement]")
    path = tmp_path / "mine.toml"
    path.write_text(COMMENT + text.rstrip("\n") + "\n", encoding="utf-8")
    return path


def test_a_placement_is_stored_and_every_other_letter_stays(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    before = own.read_text(encoding="utf-8")
    code, out, _ = run(capsys, "place", str(own), "--searches", "2")
    assert code == 0
    assert f"{own}: placement stored, " in out
    after = own.read_text(encoding="utf-8")
    assert after.startswith(before)
    layout = catalogue.read(own)
    found = placement.read(layout)
    assert found is not None
    assert found.faults.clashes == 0
    assert replace(layout, placement=None) == replace(catalogue.parse(before, layout.file), placement=None)


def test_a_placement_that_no_search_betters_is_left(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "place", str(own), "--searches", "2")
    kept = own.read_bytes()
    code, out, _ = run(capsys, "place", str(own), "--searches", "2")
    assert code == 0
    assert "left as it is" in out
    assert own.read_bytes() == kept


def test_a_placement_of_another_structure_is_exchanged(own: Path, capsys: pytest.CaptureFixture[str]) -> None:
    stale = own.read_text(encoding="utf-8").replace("[[range]]", '[placement]\nstructure = "of yore"\n\n[[range]]', 1)
    own.write_text(stale, encoding="utf-8")
    code, out, _ = run(capsys, "place", str(own), "--searches", "1")
    assert (code, "placement stored" in out) == (0, True)
    text = own.read_text(encoding="utf-8")
    assert "of yore" not in text
    assert text.startswith(COMMENT)
    assert placement.read(catalogue.read(own)) is not None


def test_a_layout_of_the_kit_keeps_its_file_and_goes_to_one_of_your_own(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    kits = catalogue.path_of("Q24")
    before = kits.read_bytes()
    assert "Name a file of your own" in refused(capsys, "place", "Q24")
    assert "Name a file of your own" in refused(capsys, "place", str(kits))
    mine = tmp_path / "my_q24.toml"
    code, _, _ = run(capsys, "place", "Q24", "-o", str(mine), "--searches", "1")
    assert code == 0
    assert kits.read_bytes() == before
    assert catalogue.read(mine).elements == catalogue.find("Q24").elements
    assert "exists already" in refused(capsys, "place", "Q24", "-o", str(mine))


def test_a_file_with_line_ends_of_another_system_keeps_them(own: Path) -> None:
    own.write_bytes(own.read_bytes().replace(b"\n", b"\r\n"))
    layout = catalogue.read(own)
    made = with_stored(layout, placement.place(layout).table(layout))
    assert "\n" not in made.text.replace("\r\n", "")


def test_a_placement_written_in_another_way_is_refused_and_not_guessed_at(own: Path) -> None:
    own.write_text('placement = {structure = "a"}\n' + own.read_text(encoding="utf-8"), encoding="utf-8")
    layout = catalogue.read(own)
    with pytest.raises(UsageError, match="not as the kit writes it"):
        with_stored(layout, placement.place(layout).table(layout))


@pytest.mark.parametrize("words", [("nowhere.toml",), ("Q24", "-o", "x.toml", "--searches", "0")])
def test_what_cannot_be_done_is_said(words: tuple[str, ...], capsys: pytest.CaptureFixture[str]) -> None:
    assert refused(capsys, "place", *words)
    assert not Path("x.toml").exists()
