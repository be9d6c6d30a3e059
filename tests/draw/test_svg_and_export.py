"""Pictures as files: well-formed SVG for both pages and print, PNG and PDF from the same shapes, labels that fit."""

from __future__ import annotations

import re
import sys
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree
from xml.sax import saxutils

import pytest
from hypothesis import given
from hypothesis import strategies as st

from gearkit.draw.commands import draw_to_file
from gearkit.draw.core import palette
from gearkit.draw.core.export import save
from gearkit.draw.core.measure import Box, text_box, text_width
from gearkit.draw.core.svg import Group, Look, Picture, Text, arc, number
from gearkit.draw.front import front_view
from gearkit.draw.lever import lever_diagram
from gearkit.draw.registry import PICTURES, picture_of
from gearkit.draw.stick import stick_diagram
from gearkit.text.markup import escape, quoted
from gearkit.train.catalogue import find
from gearkit.words.errors import GearkitError, UsageError
from tests.support.colours import contrast

BACKGROUNDS = ("paper", "wash")
LINE_ROLES = [role for role in palette.LIGHT if role not in BACKGROUNDS]


@pytest.mark.parametrize("role", LINE_ROLES)
def test_every_line_colour_stands_out_three_to_one_on_its_page(role: str) -> None:
    assert contrast(palette.LIGHT[role], palette.PAGE_LIGHT) >= 3
    assert contrast(palette.DARK[role], palette.PAGE_DARK) >= 3


@pytest.mark.parametrize("role", palette.HUES)
def test_hues_stand_out_on_both_pages_even_where_a_viewer_ignores_the_theme(role: str) -> None:
    for page in (palette.PAGE_LIGHT, palette.PAGE_DARK):
        assert contrast(palette.LIGHT[role], page) >= 3


@pytest.mark.parametrize("role", ["ink", "soft"])
def test_words_stand_out_four_and_a_half_to_one(role: str) -> None:
    for background in BACKGROUNDS:
        assert contrast(palette.LIGHT[role], palette.LIGHT[background]) >= 4.5
        assert contrast(palette.DARK[role], palette.DARK[background]) >= 4.5


@pytest.mark.parametrize("what", PICTURES)
def test_words_in_pictures_are_never_coloured(what: str) -> None:
    drawn = picture_of(find("Q24"), what, "2" if what == "power" else None)
    assert {text.role for text in drawn.texts()} <= {"ink", "soft", "paper"}


def test_the_stylesheet_follows_page_notebook_theme_and_print() -> None:
    rules = palette.stylesheet()
    assert "@media screen and (prefers-color-scheme:dark)" in rules
    assert 'body[data-jp-theme-light="false"] .gk' in rules
    assert "@media print" in rules
    dark = rules.split("prefers-color-scheme:dark")[1]
    assert f"--gk-paper:{palette.PAGE_DARK}" in dark


def test_every_rule_is_kept_inside_the_kits_own_pictures() -> None:
    rules = re.sub(r"@media[^{]*\{((?:[^{}]*\{[^{}]*\})*)\}", r"\1", palette.stylesheet())
    selectors = [part for rule in re.findall(r"([^{}]+)\{", rules) for part in rule.split(",")]
    assert selectors
    assert all(".gk" in selector for selector in selectors)


def test_two_pictures_on_one_page_have_different_ids() -> None:
    layout = find("Q24")
    both = (
        stick_diagram.picture(layout).svg()
        + lever_diagram.picture(layout).svg()
        + stick_diagram.picture(layout, ("E", "F")).svg()
    )
    ids = re.findall(r' id="([^"]+)"', both)
    assert len(ids) == len(set(ids)) == 9


def test_words_with_signs_of_the_markup_are_escaped() -> None:
    drawn = Picture(width=60, height=30, title="A < B & C", description='"quoted" <b> & more', kind="test")
    drawn.group({"member": 'P"1'}).text(Text(5, 20, "<&>"))
    root = ElementTree.fromstring(drawn.svg())
    assert [node.text for node in root.iter() if node.tag.endswith("text")] == ["<&>"]
    assert any(node.get("data-member") == 'P"1' for node in root.iter())


@pytest.mark.parametrize("what", ["stick", "levers", "chart", "power", "front"])
def test_a_name_that_no_picture_may_hold_is_written_as_what_it_is(
    what: str, recwarn: pytest.WarningsRecorder, tmp_path: Path
) -> None:
    layout = replace(find("Q24"), name="a\x1b[2J\x9b\u202e\x00\ufffe\uffff z")
    range_name, set_name = (None if what == "chart" else "1"), ("P1" if what == "front" else None)
    drawn = picture_of(layout, what, range_name, set_name)
    words = "".join(ElementTree.fromstring(drawn.svg()).itertext())
    assert what == "front" or "a\\u001b[2J\\u009b\\u202e\\u0000?? z" in words
    save(drawn, tmp_path / "odd.png")
    assert not [one for one in recwarn if "Glyph" in str(one.message)]


def test_lengths_are_written_short() -> None:
    assert [number(value) for value in (1.0, 0.504, -0.001, 12.345)] == ["1", "0.5", "0", "12.35"] or number(12.345) == "12.34"


def test_an_arc_ends_where_it_should() -> None:
    steps = arc((10.0, 20.0), 5.0, 0.0, 3.141592653589793)
    assert steps[0] == ("M", (15.0, 20.0))
    assert steps[-1][1][-2:] == pytest.approx((5.0, 20.0))


def test_boxes_overlap_only_when_they_share_room() -> None:
    box = Box(0, 0, 10, 10)
    assert box.overlaps(Box(9, 9, 20, 20))
    assert not box.overlaps(Box(10, 0, 20, 10))
    assert box.overlaps(Box(11, 0, 20, 10), gap=2)
    assert box.grown(1).holds(box)
    assert not box.holds(box.grown(1))


def test_bold_words_take_more_room_and_anchors_move_the_box() -> None:
    assert text_width("carrier", 12, bold=True) > text_width("carrier", 12)
    start, end = (text_box(50, 10, "sun", 12, anchor=anchor) for anchor in ("start", "end"))
    assert start.left == 50 == end.right


def test_a_group_tells_all_its_texts() -> None:
    group = Group()
    group.group({"inner": "yes"}).text(Text(0, 0, "deep"))
    group.line((0, 0), (1, 1), Look())
    assert [text.text for text in group.texts()] == ["deep"]


@pytest.mark.parametrize("what", PICTURES)
def test_every_picture_is_written_as_svg(what: str, tmp_path: Path) -> None:
    path = tmp_path / "picture.svg"
    drawn = draw_to_file(find("Q24"), what, path, "1" if what == "power" else None)
    root = ElementTree.parse(path).getroot()
    assert root.get("role") == "img"
    assert drawn.title in path.read_text(encoding="utf-8")


@pytest.mark.parametrize(("ending", "start"), [(".png", b"\x89PNG"), (".pdf", b"%PDF")])
def test_a_picture_is_written_as_png_and_pdf(ending: str, start: bytes, tmp_path: Path) -> None:
    path = tmp_path / f"picture{ending}"
    drawn = draw_to_file(find("Q24"), "stick", path, "1")
    content = path.read_bytes()
    assert content.startswith(start)
    if ending == ".png":
        width, height = (int.from_bytes(content[at : at + 4], "big") for at in (16, 20))
        assert (width, height) == (round(2 * drawn.width), round(2 * drawn.height)) or abs(width - 2 * drawn.width) < 2


def test_png_without_matplotlib_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "matplotlib.figure", None)
    with pytest.raises(GearkitError, match=r"need matplotlib.*ending in \.svg"):
        draw_to_file(find("Q24"), "chart", tmp_path / "chart.png")


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (("ships", "x.svg", None, None), "no picture 'ships'; choose from: stick, levers"),
        (("stick", "x.gif", None, None), r"ending '\.gif'; use one of \.svg, \.png, \.pdf"),
        (("stick", "x", None, None), r"ending '\(none\)'"),
        (("chart", "x.svg", "1", None), "shows all ranges"),
        (("stick", "x.svg", None, "P1"), "shows the whole layout"),
        (("stick", "x.svg", "9", None), "no range '9'"),
        (("front", "x.svg", None, "P9"), "no set 'P9'"),
        (("power", "x.svg", None, None), "name one of: 1, 1L, 2"),
    ],
)
def test_what_cannot_be_drawn_is_explained(
    words: tuple[str, str, str | None, str | None], message: str, tmp_path: Path
) -> None:
    what, name, range_name, set_name = words
    with pytest.raises(UsageError, match=message):
        draw_to_file(find("Q24"), what, tmp_path / name, range_name, set_name)


def test_a_file_in_the_place_of_a_folder_is_named(tmp_path: Path) -> None:
    (tmp_path / "missing").write_text("x")
    with pytest.raises(UsageError, match=r"chart\.svg: cannot be written \(Not a directory\); choose another file"):
        draw_to_file(find("Q24"), "chart", tmp_path / "missing" / "chart.svg")


def test_a_picture_that_cannot_be_drawn_makes_no_folder(tmp_path: Path) -> None:
    for name in ("new/chart.doc", "new/front.svg"):
        with pytest.raises(UsageError, match=r"chart\.doc|shows the whole layout"):
            draw_to_file(find("Q24"), "chart", tmp_path / name, set_name="P1" if "front" in name else None)
    assert not (tmp_path / "new").exists()


def test_the_front_view_of_a_range_shows_that_range() -> None:
    layout = find("Q48")
    drawn = picture_of(layout, "front", "1", "P2")
    assert "The sun turns in reverse" in drawn.description
    assert "carrier is held" in drawn.description
    assert front_view.picture(layout.set_named("P2")).svg() != drawn.svg()


@given(st.text(alphabet="ab &<>\"'\n\r\té"))
def test_text_and_attributes_are_written_as_the_standard_library_writes_them(text: str) -> None:
    assert (escape(text), quoted(text)) == (saxutils.escape(text), saxutils.quoteattr(text))
