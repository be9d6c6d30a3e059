"""The mark sheet as CSV and JSON: nothing shifts, nothing runs, nothing is lost on the way back."""

from __future__ import annotations

import csv
import json
import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.words.errors import UsageError
from graders.report import mark_files
from tests.report.sheets import ROSTER, marked_sheet

TEXT = st.text(alphabet=st.characters(blacklist_categories=("Cs",), blacklist_characters="\x00"), max_size=30)


@settings(max_examples=200, deadline=None)
@given(st.one_of(TEXT, TEXT.map("=".__add__), TEXT.map("'".__add__), TEXT.map("'+".__add__)))
def test_guarding_a_cell_is_undone_exactly_and_leaves_no_formula(text):
    safe = mark_files.guarded(text)
    assert mark_files.unguarded(safe) == text
    assert not re.match(r"[=+\-@\t\r\n]", safe)


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(TEXT, TEXT), max_size=6))
def test_any_names_come_back_from_the_csv(tmp_path_factory, pairs):
    path = tmp_path_factory.mktemp("csv") / "marks.csv"
    rows = [{"name": name, "note": note} for name, note in pairs]
    path.write_bytes(mark_files.csv_text(("name", "note"), rows).encode())
    assert mark_files.read_csv(path) == rows


def test_a_comma_in_a_name_does_not_shift_the_columns(tmp_path):
    mark_files.write_csv(marked_sheet(), ROSTER, tmp_path / "marks.csv")
    first = mark_files.read_csv(tmp_path / "marks.csv")[0]
    assert first["name"] == "Achterberg, Ilse"
    assert [float(first[column]) for column in ("score", "final", "L02-03")] == [10, 10, 5]


def test_the_csv_holds_penalty_final_mark_and_flags_of_a_late_learner(tmp_path):
    mark_files.write_csv(marked_sheet(), ROSTER, tmp_path / "marks.csv")
    late = mark_files.read_csv(tmp_path / "marks.csv")[2]
    assert [float(late[column]) for column in ("score", "penalty", "final", "max")] == [2.5, 1.0, 1.5, 10.0]
    assert "sheet (1).ipynb" in late["flags"]


def test_who_handed_in_nothing_stands_in_the_csv_without_marks(tmp_path):
    mark_files.write_csv(marked_sheet(), ROSTER, tmp_path / "marks.csv")
    last = mark_files.read_csv(tmp_path / "marks.csv")[-1]
    assert (last["learner"], last["name"], last["flags"], last["score"]) == ("fh005", "Quist Pernille", "not handed in", "")


def test_a_name_that_is_a_formula_is_guarded_in_the_file(tmp_path):
    mark_files.write_csv(marked_sheet(), ROSTER, tmp_path / "marks.csv")
    with (tmp_path / "marks.csv").open(encoding="utf-8-sig", newline="") as stream:
        names = [row[1] for row in csv.reader(stream)]
    assert "'=cmd|' /C calc'!A1" in names


def test_the_csv_opens_as_utf8_in_spreadsheets(tmp_path):
    mark_files.write_csv(marked_sheet(), ROSTER, tmp_path / "marks.csv")
    data = (tmp_path / "marks.csv").read_bytes()
    assert data.startswith(b"\xef\xbb\xbf")
    assert "Núñez-Okafor".encode() in data


def test_the_json_is_the_mark_sheet(tmp_path):
    mark_files.write_json(marked_sheet(), tmp_path / "marks.json")
    assert json.loads((tmp_path / "marks.json").read_text(encoding="utf-8")) == marked_sheet().to_json()


def test_an_empty_file_is_refused_with_what_was_expected(tmp_path):
    (tmp_path / "marks.csv").write_text("")
    with pytest.raises(UsageError, match=r"is empty; expected a first line"):
        mark_files.read_csv(tmp_path / "marks.csv")
