"""Every published range of every published layout, against the kit's solver."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.solve.mobility import assess
from gearkit.solve.ratios import chart, ratio
from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.terms import SourceKind, Verdict
from tests.published.printed import RULES, check_table, root_fits, rules_that_fit

LAYOUTS = {path.stem: catalogue.read(path) for path in sorted((datasets() / "published").glob("*.toml"))}
FIGURES = {case["layout"]: case for case in check_table("ratio_figures")}
PRINTED = [(name, item.name) for name, layout in LAYOUTS.items() for item in layout.ranges if item.published_ratio]


def exact(layout: Layout, range_name: str) -> Fraction:
    found = ratio(layout, layout.engaged_in(range_name))
    assert found is not None
    return found.exact


def test_the_published_folder_holds_the_four_layouts_with_a_source_each() -> None:
    assert len(LAYOUTS) == 4
    for layout in LAYOUTS.values():
        assert layout.source.kind is SourceKind.PUBLISHED
        assert layout.source.citation
        assert "ooked up" in layout.source.notes, "the notes say what was looked up and what not"
    assert len(PRINTED) == 5 + 7 + 9


@pytest.mark.parametrize(("name", "range_name"), PRINTED)
def test_the_printed_ratio_comes_out(name: str, range_name: str) -> None:
    layout = LAYOUTS[name]
    assert rules_that_fit(exact(layout, range_name), layout.range_named(range_name).published_ratio)


@pytest.mark.parametrize("name", [name for name, _ in dict(PRINTED).items()])
def test_one_rule_of_rounding_fits_every_printed_ratio_of_a_source(name: str) -> None:
    layout, rules = LAYOUTS[name], RULES
    for item in layout.ranges:
        rules &= rules_that_fit(exact(layout, item.name), item.published_ratio)
    assert rules == {"rounded"}


@pytest.mark.parametrize(
    ("name", "figure"), [(name, figure) for name, case in FIGURES.items() for figure in case["figure"]], ids=str
)
def test_a_figure_printed_beside_the_ratios_comes_out(name: str, figure: dict[str, object]) -> None:
    layout, printed = LAYOUTS[name], str(figure["printed"])
    of = [str(item) for item in figure["of"]]
    ratios = [exact(layout, range_name) for range_name in of]
    forward = sum(exact(layout, item.name) > 0 for item in layout.ranges)
    match figure["what"]:
        case "ratio":
            assert "rounded" in rules_that_fit(ratios[0], printed)
        case "step":
            # The source prints the step from reverse to first without its sign.
            assert "rounded" in rules_that_fit(abs(ratios[0] / ratios[1]), printed)
        case "spread":
            assert chart(layout).spread == ratios[0] / ratios[1]
            assert "rounded" in rules_that_fit(ratios[0] / ratios[1], printed)
        case "centre":
            assert root_fits(ratios[0] * ratios[1], 2, printed)
        case "mean step":
            assert root_fits(ratios[0] / ratios[1], forward - 1, printed)
        case other:
            pytest.fail(f"nothing checks a figure called {other}")


def test_the_steps_printed_between_neighbours_are_the_steps_of_the_chart() -> None:
    name = "eight_range_four_sets_five_elements"
    steps = {row.name: row.step for row in chart(LAYOUTS[name]).rows}
    printed = {figure["of"][0]: figure["printed"] for figure in FIGURES[name]["figure"] if figure["what"] == "step"}
    forward = [key for key in printed if key != "R"]
    assert forward == ["1", "2", "3", "4", "5", "6", "7"]
    for range_name in forward:
        step = steps[range_name]
        assert step is not None
        assert "rounded" in rules_that_fit(step, printed[range_name])


@pytest.mark.parametrize(
    ("name", "state"), [(name, state) for name, case in FIGURES.items() for state in case.get("state", [])], ids=str
)
def test_a_combination_that_the_source_calls_locked_cannot_be_driven(name: str, state: dict[str, object]) -> None:
    assert state["source_word"] == "locks"
    engaged = [str(item) for item in state["engaged"]]
    verdict = assess(LAYOUTS[name], engaged).verdict
    assert verdict in (Verdict.INPUT_LOCKED, Verdict.TIE_UP)
    assert verdict == state["verdict"]
