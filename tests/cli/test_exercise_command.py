"""gearkit exercise: one exercise by itself, judged just as in the notebook and by the marker."""

from __future__ import annotations

import io
import json
import sys
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.judge import marking
from gearkit.cli.main import main
from gearkit.lesson.exercise import Exercise
from gearkit.lesson.record import Record
from gearkit.train import catalogue

FIELDS = ["item", "layout", "learner", "prompt", "numbers", "parts", "answer", "verdict", "score", "max", "mistakes", "comment"]
Capsys = pytest.CaptureFixture[str]


def said(capsys: Capsys, *words: str, code: int = 0) -> dict[str, Any]:
    found = main(["exercise", *words, "--json"])
    out, err = capsys.readouterr()
    assert found == code, err
    told: dict[str, Any] = json.loads(out)
    return told


def batch(
    capsys: Capsys, monkeypatch: pytest.MonkeyPatch, *lines: str | bytes, words: tuple[str, ...] = ()
) -> tuple[int, list[dict[str, Any]]]:
    raw = b"\n".join(line.encode() if isinstance(line, str) else line for line in lines)
    monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(raw), encoding="utf-8"))
    code = main(["exercise", "--batch", *words])
    return code, [json.loads(line) for line in capsys.readouterr().out.splitlines()]


def test_without_an_answer_the_exercise_is_shown_with_all_fields(capsys: Capsys) -> None:
    told = said(capsys, "L03-02", "--for", "Ann")
    assert list(told) == FIELDS
    assert (told["item"], told["layout"], told["learner"], told["max"]) == ("L03-02", None, "Ann", 2.0)
    assert (told["answer"], told["verdict"], told["score"], told["mistakes"], told["comment"]) == (None, None, None, [], "")
    for letter, text in told["numbers"].items():
        assert f"${letter} = {text}$" in told["prompt"]


@pytest.mark.parametrize(
    ("words", "shown", "as_data"),
    [
        (["L03-02", "--for", "Ann", "--answer", "1"], "the carrier is the output; S = ", "$S = "),
        (["L02-22"], "(In the speed equation S n_s + R n_r = (S + R) n_c every member", r"$S\,n_s + R\,n_r = (S + R)\,n_c$"),
        (["L12-03"], "\nQ36. Teeth: S_1 = ", "**Q36**. Teeth: $S_1 = "),
        (["L07-06"], "\nrow  A  B  C  D  E  F\n1    ", "| row | A | B | C | D | E | F |\n| --- |"),
        (["X06-RING-1-P2", "--layout", "Q24"], " shall have the ratio 78/29 exactly.", r"$\frac{78}{29}$"),
    ],
)
def test_a_terminal_shows_no_marks_of_formulas_or_bold_type_and_the_data_keep_them(
    words: list[str], shown: str, as_data: str, capsys: Capsys
) -> None:
    code = main(["exercise", *words])
    out = capsys.readouterr().out
    assert shown in out
    assert [mark for mark in ("$", "**", "`", "\\", "| ---") if mark in out] == []
    assert as_data in said(capsys, *words, code=code)["prompt"]


def test_a_learner_gets_the_same_numbers_for_ever_and_nobody_named_those_of_practice(capsys: Capsys) -> None:
    first, again = said(capsys, "L03-02", "--for", "Ann"), said(capsys, "L03-02", "--for", "Ann")
    assert first == again
    assert said(capsys, "L03-02")["numbers"] == said(capsys, "L03-02", "--for", "practice")["numbers"]
    assert len({json.dumps(said(capsys, "L03-02", "--for", f"learner {n}")["numbers"]) for n in range(20)}) > 10


def test_right_ends_with_0_and_wrong_with_1_and_a_mistake_has_its_name(capsys: Capsys) -> None:
    numbers = {name: int(text) for name, text in said(capsys, "L03-02")["numbers"].items()}
    sun, ring = numbers["S"], numbers["R"]
    right = said(capsys, "L03-02", "--answer", f"{sun + ring}/{sun}")
    assert (right["verdict"], right["score"], right["answer"]) == ("right", 2.0, f"{sun + ring}/{sun}")
    wrong = said(capsys, "L03-02", "--answer", f"-{ring}/{sun}", code=1)
    assert (wrong["verdict"], wrong["score"]) == ("wrong", 0.0)
    upside = said(capsys, "L03-02", "--answer", f"{sun}/{sun + ring}", code=1)
    assert "RECIP" in upside["mistakes"]
    assert said(capsys, "L03-02", "--answer", "three", code=1)["verdict"] == "unreadable"


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (["L99-01"], "There is no item 'L99-01'"),
        ([], "Name an item"),
        (["X00-01"], "made from a layout, and none was named"),
        (["X00-01", "--layout", "no-such-file.toml"], "no-such-file"),
        *(
            ([item, "--layout", layout], "graders items --layout LAYOUT lists what can be asked instead")
            for item, layout in (
                ("X06-RATIO-STEPS-1", "Q36"),
                ("X09-TORQUE-WITH-LOSSES-1", "Q36"),
                ("X07-WHY-A-SET", "bench_set"),
                ("X10-STEP-ORDER", "pair_series"),
            )
        ),
        (["L03-02", "--layout", "Q24"], "Made from it are X06-RATIO-1, "),
        (["--batch", "--answer", "3"], "leave --answer out"),
    ],
)
def test_what_cannot_be_used_ends_with_2_and_says_what_to_write(words: list[str], told: str, capsys: Capsys) -> None:
    assert main(["exercise", *words]) == 2
    out, err = capsys.readouterr()
    assert told in err
    assert out == ""
    assert "Traceback" not in err


def test_any_layout_file_gives_its_exercises(capsys: Capsys) -> None:
    file = str(catalogue.path_of("Q24"))
    told = said(capsys, "X00-01", "--layout", file)
    assert told["layout"] == file
    assert told["parts"][0]["name"] == "r_1"
    assert said(capsys, "X00-02", "--layout", "Q24")["parts"][0]["options"]


@pytest.mark.parametrize("item", items.all_items(), ids=lambda item: item.id)
def test_terminal_notebook_and_marker_judge_every_item_alike(item: items.Item, capsys: Capsys, tmp_path: Path) -> None:
    record = Record(tmp_path / "record.jsonl")
    notebook = Exercise(item, record)
    name = f"{record.seed}/1"
    variant = practice(item, name)
    answers = [marking.right_answer(variant), *(marking.wrong_texts(variant, form) for form in variant.key.wrong_forms[:3])]
    for texts in answers:
        notebook.write(texts)
        in_notebook, by_marker = notebook.check(), marking.mark(variant, texts)
        assert in_notebook == by_marker
        text = "; ".join(f"{part} = {one}" for part, one in texts.items()) if len(texts) > 1 else next(iter(texts.values()))
        told = said(capsys, item.id, "--for", name, "--answer", text, code=int(by_marker.verdict != "right"))
        assert told["prompt"] == notebook.variant.prompt
        assert (told["verdict"], told["score"], told["max"], told["mistakes"], told["comment"]) == (
            by_marker.verdict,
            round(float(by_marker.score), 6),
            float(by_marker.max),
            list(dict.fromkeys(slip.code for slip in by_marker.mistakes)),
            by_marker.comment,
        )


def test_a_batch_answers_line_by_line_and_a_bad_line_spoils_no_other(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    numbers = said(capsys, "L03-02", "--for", "Ann")["numbers"]
    right = f"{int(numbers['S']) + int(numbers['R'])}/{numbers['S']}"
    good = json.dumps({"item": "L03-02", "learner": "Ann", "answer": right, "id": 7})
    deep = "[" * 50_000
    code, told = batch(
        capsys,
        monkeypatch,
        good,
        "no JSON",
        "",
        b"\xff\xfe",
        deep,
        '{"answer": "3"}',
        '{"item": "L03-02", "answer": true}',
        '{"item": "L03-02", "layout": "nowhere.toml"}',
        '{"item": "L03-02"}',
        good,
    )
    assert code == 2
    assert [line.get("verdict", "error" if "error" in line else None) for line in told] == [
        "right",
        "error",
        "error",
        "error",
        "error",
        "error",
        "error",
        None,
        "right",
    ]
    assert [line["line"] for line in told if "error" in line] == [2, 4, 5, 6, 7, 8]
    assert list(told[0]) == [*FIELDS, "id"]
    assert told[0] == told[-1]
    assert "expected text" in told[5]["error"]


def test_a_batch_of_right_answers_ends_with_0_and_one_wrong_one_makes_it_1(
    capsys: Capsys, monkeypatch: pytest.MonkeyPatch
) -> None:
    assert batch(capsys, monkeypatch, '{"item": "L03-02"}')[0] == 0
    assert batch(capsys, monkeypatch, '{"item": "L03-02"}', '{"item": "L03-02", "answer": "1/77"}')[0] == 1


def test_a_number_in_json_keeps_the_digits_that_were_written(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    _, (told,) = batch(capsys, monkeypatch, '{"answer": 3.50}', words=("L03-02",))
    assert told["answer"] == "3.50"


def test_parts_may_come_one_by_one(capsys: Capsys, monkeypatch: pytest.MonkeyPatch) -> None:
    variant = practice(items.find("L03-01"), "Ann")
    line = json.dumps({"item": "L03-01", "learner": "Ann", "answer": marking.right_answer(variant)})
    code, (told,) = batch(capsys, monkeypatch, line)
    assert (code, told["verdict"]) == (0, "right")
