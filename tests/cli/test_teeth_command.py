"""The command teeth: the best design with its proof, a layout file written, refusals."""

from __future__ import annotations

import json
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli import design
from gearkit.solve.ratios import chart
from gearkit.train import catalogue
from tests.support.commands import refused, run

TARGETS = 'format = 1\nlayout = "Q24"\n[targets]\n"1" = "2.603"\nR = "-2.507"\n'


@pytest.fixture
def targets(tmp_path: Path) -> str:
    file = tmp_path / "wanted.toml"
    file.write_text(TARGETS, encoding="utf-8")
    return str(file)


def test_the_json_holds_designs_and_the_proof(capsys: pytest.CaptureFixture[str], targets: str) -> None:
    code, out, _ = run(capsys, "teeth", targets, "--top", "3", "--json")
    found = json.loads(out)
    assert (code, found["proved"], len(found["designs"])) == (0, True, 3)
    best = found["designs"][0]
    first, second = best["teeth"]["P1"], best["teeth"]["P2"]
    assert Fraction(best["ratios"]["1"]["exact"]) == 1 + Fraction(second["ring"], second["sun"])
    assert Fraction(best["ratios"]["R"]["exact"]) == -Fraction(first["ring"], first["sun"])
    worst = max(abs(Fraction(error["exact"])) for error in best["errors"].values())
    assert Fraction(best["worst_error"]["exact"]) == worst
    assert best["worst_error"]["decimal"] <= found["designs"][1]["worst_error"]["decimal"]


def test_the_best_design_is_written_as_a_layout_that_has_its_ratios(
    capsys: pytest.CaptureFixture[str], targets: str, tmp_path: Path
) -> None:
    target = tmp_path / "new.toml"
    code, out, _ = run(capsys, "teeth", targets, "-o", str(target))
    assert code == 0
    assert f"best design written to {target}" in out
    assert "proved: none of the" in out
    rows = {row.name: row.ratio for row in chart(catalogue.read(target)).rows}
    assert rows["1"] is not None
    assert abs(rows["1"].exact / Fraction("2.6") - 1) < Fraction(1, 100)


def test_a_stated_tolerance_that_nothing_meets_is_a_finding(capsys: pytest.CaptureFixture[str], targets: str) -> None:
    code, _, err = run(capsys, "teeth", targets, "--within", "0.00001")
    assert code == 1
    assert "No design is within 0.000 % of every target" in err
    assert run(capsys, "teeth", targets, "--within", "5")[0] == 0


def test_the_example_works_as_it_stands(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "teeth", "q36_even_steps", "--top", "2")
    assert code == 0
    assert "next best" in out


def test_a_long_search_tells_how_far_it_is(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> None:
    times = iter([0.0, 1.0, 2.5, 2.6, 4.0])
    monkeypatch.setattr(design.time, "monotonic", lambda: next(times))
    progress = design.Progress()
    for boxes in (10, 20, 30, 40):
        progress.report(boxes, 0.01)
    progress.end()
    assert capsys.readouterr().err == "\r20 boxes looked at, best error 1.0000 %\r40 boxes looked at, best error 1.0000 %\n"


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["nowhere.toml"], "nowhere.toml: cannot be read"),
        (["q99"], "No targets 'q99'"),
        (["q36_even_steps", "--top", "0"], "Keep 0 designs"),
        (["q36_even_steps", "--top", "many"], "'many' is no whole number"),
    ],
)
def test_unusable_input_is_explained_without_a_traceback(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert message in refused(capsys, "teeth", *words)
