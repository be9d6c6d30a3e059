"""What a lesson asks a learner to find can be found with the controls that stand there, and what it says does not contradict itself."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

from gearkit.draw.cutaway import half_section
from gearkit.solve.loads.torques import torques
from gearkit.text import places
from gearkit.train import catalogue
from graders.unit.facts import Facts
from tests.lesson import pinned_numbers

LESSONS = places.lessons()
SLIDERS = Path(places.__file__).parents[1] / "lesson" / "panels" / "static" / "one_set.js"


def cell(lesson: str, name: str) -> str:
    """The source of a cell of a lesson, in one line."""
    cells = pinned_numbers.cells_of(next(LESSONS.glob(f"{lesson}_*/*.ipynb")))
    return " ".join(next(each.source for each in cells if each.name == name).split())


def limits(name: str) -> range:
    """The values of a slider of the panel of one set."""
    found = re.search(rf'slider\("{name}", say\("[^"]+"\), (\d+), (\d+), 1\)', SLIDERS.read_text(encoding="utf-8"))
    assert found
    return range(int(found[1]), int(found[2]) + 1)


def larger_forward(sun: int, planet: int) -> bool:
    """Whether the smaller forward reduction of a set is larger than its reverse."""
    ring = sun + 2 * planet
    return 1 + Fraction(sun, ring) > Fraction(ring, sun)


def test_the_two_ratios_that_lesson_3_asks_for_change_places_within_the_slider() -> None:
    asked = cell("03", "l03-then")
    assert "$1 + S/R$ and $-R/S$" in asked
    assert "Change $S$ until" in asked
    start = re.search(r"sun=(\d+), planet=(\d+)", cell("03", "l03-predict-panel"))
    assert start
    sun, planet = int(start[1]), int(start[2])
    assert not larger_forward(sun, planet)
    assert any(larger_forward(other, planet) for other in limits("sun"))


def test_lesson_7_says_what_lesson_11_builds_on_engine_braking() -> None:
    assert "does not brake" in cell("07", "l07-reverse")
    assert "(lesson 7)" in cell("11", "l11-discuss")
    q24 = Facts(catalogue.find("Q24"), "Q24")
    assert "1" in q24.coasting
    assert "1L" not in q24.coasting


def test_lesson_15_says_of_torque_alone_that_the_slipping_wheel_gets_no_more() -> None:
    half, power = cell("15", "l15-half"), cell("15", "l15-power")
    assert "takes nearly all the power" in power
    assert "power does not" not in half
    assert "both get the same" in half


def test_only_two_sets_of_the_q36_reverse_in_sixth() -> None:
    q36 = catalogue.find("Q36")
    found = torques(q36, q36.engaged_in("6"), basic_efficiency=1)
    assert [name for name in ("P1", "P2", "P3") if found.members[f"{name}.sun"]] == ["P1", "P2"]
    assert "each of the first two sets is a plain reversal" in cell("06", "l06-two-held")


def test_lesson_8_says_of_the_cutaway_only_what_screen_and_paper_show() -> None:
    said = cell("08", "l08-solid-words")
    printed = half_section.picture(catalogue.find("Q24"), catalogue.find("Q24").engaged_in("R"))
    # The band is a part of the live cutaway alone; what the printed one has for it stands in its key.
    for sentence in re.findall(r"[^.]*\byellow\b[^.]*\.", said):
        assert "On the screen" in sentence
    assert "heavy outline" in next(sentence for sentence in re.findall(r"[^.]+\.", said) if "On paper" in sentence)
    assert "power path" in [text.text for text in printed.texts()]
