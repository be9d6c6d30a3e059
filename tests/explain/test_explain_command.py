"""The command: what it prints, and what it answers to unusable input."""

from __future__ import annotations

import json

import pytest

from tests.support.commands import refused, run


def test_text_is_what_it_prints_unless_told_otherwise(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = run(capsys, "explain", "Q36", "2")
    assert (code, err) == (0, "")
    assert out.startswith("Quillbrook Q36: three sets, six ranges and reverse. Range 2: A and C applied\n")
    assert "i = 1 + R3/S3" in out


@pytest.mark.parametrize(("form", "start"), [("markdown", "## Quillbrook"), ("html", '<section class="story"')])
def test_other_forms_are_printed_on_request(capsys: pytest.CaptureFixture[str], form: str, start: str) -> None:
    code, out, _ = run(capsys, "explain", "Q36", "2", "--format", form)
    assert code == 0
    assert out.startswith(start)


def test_the_data_hold_every_step_with_what_it_uses_and_gives(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "explain", "Q36", "2", "--json")
    data = json.loads(out)
    assert code == 0
    assert data["range"] == "2"
    assert data["engaged"] == ["A", "C"]
    assert data["verdict"] == "range"
    assert data["ratio"] == {"exact": "152/59", "decimal": 152 / 59, "formula": "1 + R3/S3"}
    assert (data["carry_torque"], data["idle"], data["conflict"]) == (["P1", "P3"], ["P2"], [])
    assert [step["number"] for step in data["steps"]] == list(range(1, len(data["steps"]) + 1))
    (step,) = [step for step in data["steps"] if "P3.carrier" in step["gives"]]
    assert step["uses"] == ["P3.sun", "P3.ring"]
    assert step["gives"]["output"] == {"exact": "59/152", "decimal": 59 / 152}
    assert step["formulas"][1]["text"] == "59·1 + 93·0 = 152·n(carrier 3)"


def test_any_combination_of_elements_has_a_story(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = run(capsys, "explain", "Q36", "--applied", "A,B,C")
    assert code == 0
    assert "A, B and C cannot all do their work at once." in out
    assert json.loads(run(capsys, "explain", "Q36", "--applied", "A B C", "--json")[1])["conflict"] == ["A", "B", "C"]
    assert "Verdict: neutral" in run(capsys, "explain", "Q36", "--applied", "")[1]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (["Q36"], "Give a range of the layout (1, 2, 3, 4, 5, 6, R, N), or --applied"),
        (["Q36", "2", "--applied", "A"], "Give a range of the layout"),
        (["Q36", "9"], "no range '9'. It has: 1, 2, 3, 4, 5, 6, R, N."),
        (["Q36", "--applied", "A,Z"], "no element 'Z'. It has: A, B, C, D, E."),
        (["Q99", "1"], "No layout 'Q99'"),
    ],
)
def test_unusable_input_is_answered_in_words_on_the_error_stream(
    capsys: pytest.CaptureFixture[str], words: list[str], message: str
) -> None:
    assert message in refused(capsys, "explain", *words)
