"""Planets put into one set: the task agrees with the conditions of assembly, worked by hand."""

from __future__ import annotations

from math import pi, sin

import pytest

from gearkit.lesson.panels.task import TaskPanel
from gearkit.lesson.tasks.assembly import AssemblyTask


def panel_for(S: int, P: int, N: int) -> TaskPanel:
    panel = TaskPanel(AssemblyTask(), title="Predict: assembly")
    for name, value in (("S", S), ("P", P), ("N", N)):
        panel.choose(name, value)
    panel.predict({"spacing": "yes", "touch": "no"})
    return panel


@pytest.mark.parametrize(
    ("S", "P", "N"), [(30, 24, 3), (30, 24, 4), (30, 24, 5), (30, 24, 6), (30, 24, 7), (20, 36, 4), (17, 40, 5), (60, 14, 7)]
)
def test_spacing_and_clearance_are_as_by_hand(S: int, P: int, N: int) -> None:
    spacing = (S + S + 2 * P) % N == 0
    clear = (S + P) * sin(pi / N) > P + 2
    truth = panel_for(S, P, N).truth()
    assert truth == {"spacing": "yes" if spacing else "no", "touch": "no" if clear else "yes"}


def test_planets_that_do_not_fit_evenly_are_told_how_far_off_their_places_are() -> None:
    panel = panel_for(30, 24, 5)
    assert "(S + R)/N = 108/5 = 21.6, not whole" in panel.words()
    # 21.6 places a planet: the second lies 0.4 of a place from the nearest whole one, the third 0.2.
    assert "off by 0.4 of a place" in panel.found_html
    assert "off by 0.2 of a place" in panel.found_html


def test_planets_that_fit_evenly_are_all_in_their_places() -> None:
    panel = panel_for(30, 24, 6)
    assert "tips are 2.00 mm apart" in panel.words()
    assert "off by" not in panel.found_html
    assert panel.found_html.count("fits") >= 6


def test_other_tooth_counts_leave_the_case_open_and_other_planets_shut_it() -> None:
    panel = panel_for(30, 24, 4)
    panel.choose("P", 25)
    assert panel.is_open
    panel.choose("N", 3)
    assert not panel.is_open
