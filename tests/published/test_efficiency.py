"""Published torque ratios and efficiencies of a whole transmission, against the kit's losses."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest

from gearkit.solve.loads.torques import Torques, torques
from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.words.terms import LoadState
from tests.published.printed import check_table, rules_that_fit

FIGURES = [(case["layout"], figure) for case in check_table("efficiency") for figure in case["figure"]]


def worked_out(name: str, figure: dict[str, Any]) -> Torques:
    layout = catalogue.read(datasets() / "published" / f"{name}.toml")
    found = torques(layout, layout.engaged_in(figure["range"]), basic_efficiency=Fraction(figure["basic_efficiency"]))
    assert found.state is LoadState.SETTLED
    return found


def label(value: object) -> str:
    return f"{value['range']} at {value['basic_efficiency']}" if isinstance(value, dict) else str(value)


@pytest.mark.parametrize(("name", "figure"), FIGURES, ids=label)
def test_the_printed_torque_ratio_and_efficiency_come_out_unless_flagged(name: str, figure: dict[str, Any]) -> None:
    found = worked_out(name, figure)
    assert found.output_torque is not None
    assert found.efficiency is not None
    torque_fits = "rounded" in rules_that_fit(-found.output_torque, figure["torque_ratio"])
    efficiency_fits = "rounded" in rules_that_fit(found.efficiency, figure["efficiency"])
    if "flag" in figure:
        assert not torque_fits, "the torque ratio comes out, so the flag is out of date"
        assert not efficiency_fits, "the efficiency comes out, so the flag is out of date"
    else:
        assert torque_fits, f"printed {figure['torque_ratio']}, worked out {float(-found.output_torque)}"
        assert efficiency_fits, f"printed {figure['efficiency']}, worked out {float(found.efficiency)}"


def test_both_columns_are_there_for_every_range_and_few_are_flagged() -> None:
    assert len(FIGURES) == 2 * 9
    flagged = {(figure["range"], figure["basic_efficiency"]) for _, figure in FIGURES if "flag" in figure}
    assert flagged == {(name, column) for name in ("3", "5") for column in ("0.98", "0.97")}


@pytest.mark.parametrize(("name", "figure"), [pair for pair in FIGURES if "flag" in pair[1]], ids=label)
def test_a_flagged_figure_is_off_by_no_more_than_its_flag_says(name: str, figure: dict[str, Any]) -> None:
    found = worked_out(name, figure)
    assert found.efficiency is not None
    off = abs(Fraction(figure["efficiency"]) / found.efficiency - 1)
    if "0.2 %" in figure["flag"]:
        assert Fraction(15, 10_000) < off < Fraction(25, 10_000)
    else:
        assert "last digit" in figure["flag"]
        assert off < Fraction(2, 10_000)
