"""Layout files are read, checked and written back unchanged; nothing is written half."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings

from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.train.checks import MOST_ELEMENTS, MOST_SETS
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import GearkitError, LayoutError, UsageError
from tests.support.layout_strategies import layouts

FILES = sorted(path for folder in ("layouts", "published") for path in (datasets() / folder).glob("*.toml"))
GOOD = (datasets() / "layouts" / "Q36.toml").read_text("utf-8")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_catalogue_file_is_written_back_byte_for_byte(path: Path, tmp_path: Path) -> None:
    target = tmp_path / "copy.toml"
    catalogue.write(catalogue.read(path), target)
    assert target.read_bytes() == path.read_bytes()


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_catalogue_layout_written_anew_reads_as_the_same_layout(path: Path) -> None:
    layout = catalogue.read(path)
    anew = catalogue.dumps(replace(layout, text=""))
    assert catalogue.parse(anew) == layout
    assert catalogue.parse(anew).placement == layout.placement


@given(layouts())
@settings(max_examples=120, deadline=None)
def test_any_layout_that_can_be_built_survives_writing_and_reading(layout: Layout) -> None:
    found = catalogue.parse(catalogue.dumps(layout))
    assert found == layout
    assert dict(found.placement or {}) == dict(layout.placement or {})


def test_comments_spacing_and_line_ends_survive() -> None:
    text = "# our bench unit\r\n" + GOOD.replace("\n", "\r\n") + "\r\n\r\n# end"
    assert catalogue.dumps(catalogue.parse(text)) == text


def test_a_byte_order_mark_survives(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.encode())
    layout = catalogue.read(path)
    assert layout == catalogue.parse(GOOD)
    catalogue.write(layout, path)
    assert path.read_bytes() == b"\xef\xbb\xbf" + GOOD.encode()


def test_a_fault_after_a_byte_order_mark_has_its_line(tmp_path: Path) -> None:
    path = tmp_path / "marked.toml"
    path.write_bytes(b"\xef\xbb\xbf" + GOOD.replace("format = 1", "format = 3").encode())
    with pytest.raises(LayoutError, match=r"marked\.toml, line 1: format: found 3"):
        catalogue.read(path)


def test_a_layout_with_other_teeth_is_written_with_those_teeth() -> None:
    layout = catalogue.find("Q36").with_teeth({"P2": (30, 66)})
    found = catalogue.parse(catalogue.dumps(layout))
    assert found.set_named("P2").teeth == (30, 66)
    assert found == layout


def test_a_long_decimal_quotient_survives() -> None:
    text = GOOD.replace("sun = 26\nring = 88", 'ring_to_sun = "3.384615384615"')
    layout = replace(catalogue.parse(text), text="")
    assert layout.set_named("P1").quotient == Fraction("3.384615384615")
    assert catalogue.parse(catalogue.dumps(layout)) == layout


def sized(sets: int, elements: int) -> str:
    lines = ["format = 1", 'name = "large"', "[source]", 'kind = "own"', 'citation = "made for a test"']
    for n in range(sets):
        lines += ["[[set]]", f'name = "P{n}"', "sun = 30", "ring = 66"]
    for n in range(elements):
        member = f"P{n % sets}.{('sun', 'carrier', 'ring')[n // sets % 3]}"
        lines += ["[[element]]", f'name = "E{n}"', 'kind = "brake"', f'between = ["{member}", "housing"]']
    return "\n".join(lines)


def test_eight_sets_and_sixteen_elements_are_accepted() -> None:
    layout = catalogue.parse(sized(8, 16))
    assert (len(layout.sets), len(layout.elements)) == (MOST_SETS, MOST_ELEMENTS) == (8, 16)


@pytest.mark.parametrize(
    ("sets", "elements", "message"),
    [
        (9, 3, r"\[\[set\]\]: found 9 tables; expected at most 8"),
        (8, 17, r"\[\[element\]\]: found 17 tables; expected at most 16"),
    ],
)
def test_one_more_is_refused(sets: int, elements: int, message: str) -> None:
    with pytest.raises(LayoutError, match=message):
        catalogue.parse(sized(sets, elements))


def test_sixty_four_ranges_are_accepted_and_one_more_is_refused() -> None:
    def ranges(count: int) -> str:
        return sized(2, 3) + "".join(f'\n[[range]]\nname = "{n}"\nengaged = ["E1"]' for n in range(count))

    assert len(catalogue.parse(ranges(64)).ranges) == 64
    with pytest.raises(LayoutError, match="found 65 tables; expected at most 64"):
        catalogue.parse(ranges(65))


def test_a_layout_built_in_python_is_checked_like_a_file() -> None:
    layout = catalogue.find("Q24")
    with pytest.raises(LayoutError, match=r"joins, entry 1: found 'P3\.ring'"):
        replace(layout, joins=(("P1.carrier", "P3.ring"),))
    with pytest.raises(LayoutError, match=r"\[\[set\]\]: found nothing"):
        replace(layout, sets=(), joins=(), elements=(), ranges=())


def test_a_name_of_the_catalogue_is_found_in_any_case_of_letters() -> None:
    assert catalogue.find("q36") == catalogue.find("Q36") == catalogue.read(datasets() / "layouts" / "Q36.toml")


def test_the_catalogue_lists_the_own_layouts_before_the_published_ones() -> None:
    names = [entry.name for entry in catalogue.entries()]
    assert names == [path.stem for path in FILES]
    assert names[:4] == ["Q24", "Q36", "Q48", "bench_set"]


def test_an_unknown_name_is_answered_with_the_names_there_are() -> None:
    with pytest.raises(UsageError, match=r"No layout 'Q99'.*Q24, Q36, Q48"):
        catalogue.find("Q99")


def test_a_missing_file_is_named(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"nowhere\.toml: cannot be read"):
        catalogue.read(tmp_path / "nowhere.toml")


def test_a_folder_is_no_layout_file(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match="cannot be read"):
        catalogue.read(tmp_path)


def test_text_that_is_not_utf8_is_placed_by_line(tmp_path: Path) -> None:
    path = tmp_path / "latin.toml"
    path.write_bytes(GOOD.replace("invented", "inv\u00e9nted").encode("latin-1"))
    with pytest.raises(LayoutError, match=r"latin\.toml, line 7: text: found byte 0xe9; expected text in UTF-8"):
        catalogue.read(path)


def test_a_huge_file_is_not_even_opened(tmp_path: Path) -> None:
    path = tmp_path / "huge.toml"
    path.write_bytes(b"#" * (catalogue.LARGEST_FILE + 1))
    with pytest.raises(UsageError, match="a layout file has at most"):
        catalogue.read(path)


def test_a_failed_write_leaves_the_old_file_and_no_draft(tmp_path: Path) -> None:
    target = tmp_path / "box.toml"
    target.mkdir()
    with pytest.raises(GearkitError, match=r"box\.toml is there and is no ordinary file; give the name of a file to write\."):
        catalogue.write(catalogue.find("Q24"), target)
    assert [path.name for path in tmp_path.iterdir()] == ["box.toml"]


def test_a_write_below_a_file_says_what_to_do(tmp_path: Path) -> None:
    (tmp_path / "none").write_text("x")
    with pytest.raises(GearkitError, match=r"cannot be written \(Not a directory\)\. Choose a folder that you may write to"):
        catalogue.write(catalogue.find("Q24"), tmp_path / "none" / "box.toml")


def test_parts_are_found_by_name_and_unknown_names_are_answered_with_the_known() -> None:
    layout = catalogue.find("Q24")
    assert layout.set_named("P2") == PlanetarySet("P2", sun_teeth=50, ring_teeth=86, planets=4)
    assert layout.element_named("F").between == ("P1.carrier", "housing")
    assert layout.range_named("1L").engaged == layout.engaged_in("1L") == ("E", "D")
    for call, message in (
        (layout.set_named, "no set 'X'. It has: P1, P2"),
        (layout.element_named, "no element 'X'. It has: A, B, C, D, E, F"),
        (layout.range_named, "no range 'X'. It has: 1, 1L, 2, 3, 4, R, N"),
    ):
        with pytest.raises(UsageError, match=message):
            call("X")


def test_joined_members_are_one_shaft() -> None:
    layout = catalogue.find("Q24")
    assert layout.shaft_of("P1.ring") == layout.shaft_of("P2.carrier") == layout.shaft_of("output")
    assert layout.shaft_of("input") != layout.shaft_of("output")
    assert layout.shafts[layout.shaft_of("housing")] == ("housing",)
    with pytest.raises(UsageError, match=r"no member 'P3\.sun'"):
        layout.shaft_of("P3.sun")
