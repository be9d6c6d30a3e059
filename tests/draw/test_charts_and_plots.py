"""Application chart, ratio chart and speed plot: every range and element in its place, in picture, text and table."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import log
from xml.etree import ElementTree

import pytest

from gearkit.draw.charts import chart, ratio_chart, speed_plot
from gearkit.draw.charts.plot_frame import DASHES, ROLES, Scale, Series
from gearkit.draw.core.wording import ratio_text
from gearkit.solve.ratios import chart as ratios_of
from gearkit.solve.speeds import speeds
from gearkit.text.phrases import decimal, member_label
from gearkit.train.catalogue import find
from gearkit.train.elements import Element, Range
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.terms import ElementKind, SourceKind
from tests.draw.pictures import catalogue_layouts, check_picture, many_layouts

CATALOGUE = pytest.mark.parametrize("layout", catalogue_layouts(), ids=lambda layout: layout.file)


@CATALOGUE
def test_the_chart_marks_exactly_the_applied_elements(layout: Layout) -> None:
    root = check_picture(chart.picture(layout))
    for item in layout.ranges:
        row = next(node for node in root.iter() if node.get("data-range") == item.name)
        marks = {node.get("data-element"): node.get("data-state") for node in row.iter() if node.get("data-element")}
        assert marks == {e.name: "applied" if e.name in item.engaged else "open" for e in layout.elements}


@CATALOGUE
def test_text_and_table_say_what_the_chart_shows(layout: Layout) -> None:
    rows = chart.text(layout).splitlines()[2:]
    table = ElementTree.fromstring(chart.html(layout))
    assert [row.split()[0] for row in rows] == [item.name for item in layout.ranges]
    heads = [head.text for head in table.iter("th") if head.get("scope") == "row"]
    assert heads == [item.name for item in layout.ranges]
    spoken = [node.get("aria-label") for node in table.iter("span")]
    assert spoken.count("applied") + spoken.count("holds") == sum(len(item.engaged) for item in layout.ranges)


@CATALOGUE
def test_the_ratio_chart_shows_every_ratio_and_step(layout: Layout) -> None:
    ratios = ratios_of(layout)
    drawn = ratio_chart.picture(layout)
    check_picture(drawn)
    said = [text.text for text in drawn.texts()]
    for row in ratios.forward:
        assert row.ratio is not None
        assert ratio_text(row.ratio.exact) in said
        if row.step is not None:
            assert ratio_text(row.step) in said


def test_equal_steps_have_equal_heights() -> None:
    drawn = ratio_chart.picture(find("Q48"))
    tops: dict[str, float] = {}
    for text in drawn.texts():
        tops.setdefault(text.text, text.y)
    steps = [(Fraction(r.ratio.exact), tops[ratio_text(r.ratio.exact)]) for r in ratios_of(find("Q48")).forward if r.ratio]
    heights = [(b[1] - a[1]) / log(a[0] / b[0]) for a, b in pairwise(steps)]
    assert max(heights) == pytest.approx(min(heights))


@CATALOGUE
def test_the_speed_plot_names_every_range_and_node(layout: Layout) -> None:
    drawn = speed_plot.picture(layout)
    check_picture(drawn)
    said = ", ".join(text.text for text in drawn.texts())
    for pset in layout.sets:
        for member in ("sun", "carrier", "ring"):
            assert member_label(f"{pset.name}.{member}") in said
    for item in layout.ranges:
        assert f"Range {item.name}:" in drawn.description or item.name in drawn.description.split("output: ")[-1]


def test_the_speed_plot_tells_the_speeds_in_words() -> None:
    layout = find("Q48")
    found = speeds(layout, layout.engaged_in("2")).members
    words = speed_plot.picture(layout).description
    assert f"ring 2 and carrier 3 {decimal(found['P2.ring'] or Fraction(0))}" in words
    assert "Not drawn, because the input does not fix the output: N." in words


@pytest.mark.parametrize("layout", many_layouts(), ids=lambda layout: layout.name)
def test_no_label_overlaps_for_a_random_layout(layout: Layout) -> None:
    check_picture(chart.picture(layout))
    check_picture(ratio_chart.picture(layout))
    check_picture(speed_plot.picture(layout))


def one_set(*ranges: Range) -> Layout:
    return Layout(
        "One set", (PlanetarySet("P1", sun_teeth=30, ring_teeth=66),), (("input", "P1.sun"), ("P1.carrier", "output")),
        (Element("B", ElementKind.BRAKE, ("P1.ring", "housing")),), ranges, Source(SourceKind.OWN, "invented for this test"),
    )  # fmt: skip


@pytest.mark.parametrize("ranges", [(), (Range("N", ()),)], ids=["no range", "neutral alone"])
def test_without_a_ratio_picture_and_words_say_that_there_is_nothing_to_plot(ranges: tuple[Range, ...]) -> None:
    for drawn in (ratio_chart.picture(one_set(*ranges)), speed_plot.picture(one_set(*ranges))):
        check_picture(drawn)
        assert "No range fixes the output, so there is nothing to plot." in [text.text for text in drawn.texts()]
        assert drawn.description == "No range fixes the output, so there is nothing to plot."


def test_range_names_of_twelve_letters_do_not_overlap() -> None:
    names = ("lowestofalll", "nexttolowest", "WWWWWWWWWWWW")
    check_picture(ratio_chart.picture(one_set(*(Range(name, ("B",)) for name in names))))


def test_what_creeps_is_not_told_as_standing_still() -> None:
    assert ratio_text(Fraction(1, 11608)) == "0.0000861"
    assert ratio_text(Fraction(0)) == "0.000"
    assert ratio_text(Fraction(-1, 2)) == "−0.500"


def test_twenty_lines_differ_without_colour() -> None:
    # A filled or an open mark of five shapes, and four dashes: no two of twenty lines share both.
    cues = {(number % 5, number % 2, Series(number).look.dash) for number in range(20)}
    assert len(cues) == 20
    assert len(DASHES) == 4
    assert len(ROLES) == 5


@pytest.mark.parametrize(("low", "high"), [(0.0, 1.0), (-3.4, 4.7), (-0.02, 0.03), (0.0, 250.0)])
def test_ticks_are_round_and_inside_the_axis(low: float, high: float) -> None:
    ticks = Scale(low, high, 300, 0).ticks()
    assert 2 <= len(ticks) <= 10
    assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks)
