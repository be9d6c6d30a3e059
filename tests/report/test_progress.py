"""Progress from sheet to sheet: shares only of groups that are large enough, and marks of the others."""

from __future__ import annotations

import re

from graders.report.pages import reliability_sections
from graders.report.pages.plots import progress

SHEETS = ["One", "Two"]


def words(html: str) -> str:
    return " ".join(re.sub(r"<style.*?</style>|<[^>]*>", " ", html, flags=re.DOTALL).split())


def test_two_learners_have_no_percentage_anywhere() -> None:
    shown = reliability_sections.progress_over_sheets({"E": [[(12, 20), (15, 20)], [(3, 8)]]}, SHEETS, "Progress")
    assert "%" not in shown
    assert "percent" not in shown.lower()
    assert "<svg" not in shown
    assert "E: One: 13.5 of 20 marks (2 learners); Two: 3 of 8 marks (1 learner)" in words(shown)


def test_a_large_group_has_its_line_and_a_small_one_its_marks() -> None:
    large = [[(10.0, 20.0)] * 3 + [(20.0, 20.0)] * 3, [(4.0, 8.0)] * 5]
    shown = reliability_sections.progress_over_sheets({"D": large, "E": [[(1.0, 20.0)], []]}, SHEETS, "Progress")
    assert progress({"D": [0.75, 0.5]}, SHEETS, "Progress") in shown
    assert "E: One: 1 of 20 marks (1 learner)" in words(shown)
    assert "5%" not in words(shown).replace("75%", "")


def test_a_sheet_that_few_of_a_large_group_handed_in_is_no_point_of_its_line() -> None:
    shown = reliability_sections.progress_over_sheets({"D": [[(10.0, 20.0)] * 5, [(8.0, 8.0)] * 4]}, SHEETS, "Progress")
    assert progress({"D": [0.5, None]}, SHEETS, "Progress") in shown
    assert "D: Two: 8 of 8 marks (4 learners)" in words(shown)


def test_small_groups_that_are_enough_together_have_one_line() -> None:
    groups = {"D": [[(10.0, 20.0)] * 3] * 2, "E": [[(20.0, 20.0)] * 3] * 2}
    shown = reliability_sections.progress_over_sheets(groups, SHEETS, "Progress")
    assert progress({reliability_sections.EVERYBODY: [0.75, 0.75]}, SHEETS, "Progress") in shown
    assert "D: One: 10 of 20 marks (3 learners)" in words(shown)
