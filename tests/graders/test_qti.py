"""Items packed for other systems: by the standard's names, with the marks and the sentences that the kit's own marking gives."""

from __future__ import annotations

import io
import json
import zipfile
from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
import qti_convert

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.judge import marking
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker
from gearkit.text import mathml
from gearkit.words.errors import UsageError
from graders.cli import main
from graders.packages.elements import page_part, text_of
from graders.packages.item import NotForOtherSystemsError, item_of
from graders.packages.package import write_package
from graders.sheets import sheets
from tests.support import qti_reader
from tests.support.amounts import amount

DRAWS = amount(5, 1)


def packed(variant: Variant) -> ET.Element:
    return ET.fromstring(text_of(item_of(variant, variant.item.id, "an item"), "3.0"))


def variants() -> Iterator[Variant]:
    for item in items.all_items():
        for draw in range(DRAWS):
            variant = practice(item, f"qti {draw}")
            if not variant.key.constraints:
                yield variant


def test_every_item_but_designs_can_be_packed_and_keeps_to_the_standards_names() -> None:
    left_out = []
    for variant in variants():
        try:
            assert qti_reader.faults(packed(variant)) == []
        except NotForOtherSystemsError as reason:
            left_out.append(f"{variant.item.id}: {reason}")
    assert left_out == []


def test_the_reader_itself_sees_misspelt_names_and_missing_fields() -> None:
    root = packed(practice(items.find("L03-02")))
    next(each for each in root.iter(f"{qti_reader.QTI}qti-text-entry-interaction")).attrib.pop("response-identifier")
    root.append(ET.Element(f"{qti_reader.QTI}qti-itembody"))
    found = "\n".join(qti_reader.faults(root))
    assert "lacks response-identifier" in found
    assert "qti-itembody" in found
    assert "are declared and" in found


def test_declared_answers_earn_all_marks_and_blanks_none() -> None:
    for variant in variants():
        root = packed(variant)
        full = qti_reader.score(root, qti_reader.right_answers(root))
        assert full.score == pytest.approx(qti_reader.most(root), abs=2e-3), variant.item.id
        assert full.said == (), variant.item.id
        assert qti_reader.score(root, dict.fromkeys(qti_reader.right_answers(root))).score == 0


def test_what_is_right_there_is_right_here_and_named_mistakes_are_told_there_too() -> None:
    """The declared answer, typed as text, is right by the kit's own marking; each named wrong number gets its sentence."""
    told = 0
    for variant in variants():
        root = packed(variant)
        answers = qti_reader.right_answers(root)
        names = {part.name: f"RESPONSE{place}" for place, part in enumerate(variant.parts, start=1)}
        checkers = variant.key.checkers
        if all(isinstance(checker, NumberChecker) for checker in checkers.values()):
            typed = {part.name: f"{answers[names[part.name]]:.10g}" for part in variant.parts}
            assert (
                marking.mark(variant, typed).score
                == marking.mark(variant, {n: t.right_text() for n, t in checkers.items()}).score
            )
        for form in variant.key.wrong_forms:
            wrong = dict(answers)
            for name, content in form.contents.items():
                checker = checkers[name]
                if isinstance(checker, NumberChecker):
                    wrong[names[name]] = float(Fraction(content))
                elif isinstance(checker, ChoiceChecker):
                    wrong[names[name]] = f"C{checker.choices.options.index(content) + 1}"
            if wrong == answers or any(isinstance(checkers[n], FormulaChecker) for n in form.contents):
                continue
            found = qti_reader.score(root, wrong)
            assert found.score < qti_reader.most(root), (variant.item.id, form.code)
            told += bool(found.said)
            if len(variant.parts) == 1 and not form.needs:
                assert found.said, (variant.item.id, form.code)
    assert told > 150 * DRAWS


def test_a_formula_becomes_a_choice_of_which_one_is_right() -> None:
    seen = 0
    for variant in variants():
        if not all(isinstance(checker, FormulaChecker) for checker in variant.key.checkers.values()):
            continue
        root = packed(variant)
        fields = list(root.iter(f"{qti_reader.QTI}qti-choice-interaction"))
        assert len(fields) == len(qti_reader.right_answers(root))
        for asked in fields:
            shown = ["".join(each.itertext()) for each in asked.iter(f"{qti_reader.QTI}qti-simple-choice")]
            assert len(set(shown)) == len(shown) >= 3, (variant.item.id, shown)
            (prompt,) = asked.iter(f"{qti_reader.QTI}qti-prompt")
            # The task above it asks to write one.
            assert "".join(prompt.itertext()).endswith("Which of these formulas is right?")
            seen += 1
    assert seen > 10


@pytest.mark.parametrize(
    ("formula", "line"),
    [
        ("T*S/R", "T·S/R"),
        ("S1*R2/(R1*S2)", "S1·R2/(R1·S2)"),
        ("1 + R/S", "1 + R/S"),
        ("-(T*(-S - R)/R)", "−(T·(−S − R)/R)"),
        ("(S + R)/S", "(S + R)/S"),
        ("1 + (i2 - 1)/(1/(1 + r))", "1 + (i2 − 1)/(1/(1 + r))"),
        ("R/S/2", "(R/S)/2"),
    ],
)
def test_a_formula_in_one_line_says_what_the_fraction_said(formula: str, line: str) -> None:
    """Players without MathML show the parts of a fraction side by side, which reads as a product."""
    (shown,) = page_part(mathml.from_expression(formula))
    assert "".join(shown.itertext()) == line


def read_package(path: Path) -> dict[str, str]:
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        assert archive.namelist()[0] == "imsmanifest.xml"
        return {name: archive.read(name).decode("utf-8") for name in archive.namelist()}


def test_a_package_lists_every_file_and_is_the_same_each_time(tmp_path: Path) -> None:
    sheet = sheets.compose(["Q24"], "layout")
    done = write_package(sheet, tmp_path / "a.zip", variants=2)
    write_package(sheet, tmp_path / "b.zip", variants=2)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()
    files = read_package(tmp_path / "a.zip")
    manifest = ET.fromstring(files["imsmanifest.xml"])
    listed = {each.attrib["href"] for each in manifest.iter() if each.tag.endswith("}file")}
    assert listed == set(files) - {"imsmanifest.xml"}
    assert len([name for name in files if name.startswith("items/")]) == 2 * len(done.items)
    pictured = [name for name in files if name.endswith(".svg")]
    assert pictured
    test = ET.fromstring(files["test.xml"])
    referred = {each.attrib["href"] for each in test.iter() if each.tag.endswith("qti-assessment-item-ref")}
    assert referred == {name for name in files if name.startswith("items/")}


def test_somebody_elses_library_reads_the_package_and_brings_it_back(tmp_path: Path) -> None:
    """3.0 to 2.1 and back again by a library that shares nothing with the kit; the answers still score the same."""
    write_package(sheets.compose("lesson 3", "three"), tmp_path / "new.zip")
    for name, text in read_package(tmp_path / "new.zip").items():
        if name.startswith("items/"):
            there = qti_convert.convert_qti3_to_qti21(text)
            assert not there.warnings
            back = qti_convert.upgrade_qti2_to_qti3(there.xml)
            root = ET.fromstring(back.encode())
            answers = qti_reader.right_answers(root)
            assert answers == qti_reader.right_answers(ET.fromstring(text)), name
            assert qti_reader.score(root, answers).score == pytest.approx(qti_reader.most(root), abs=2e-3), name


def test_the_older_version_has_the_older_names(tmp_path: Path) -> None:
    write_package(sheets.compose("L03-02", "one"), tmp_path / "old.zip", version="2.1")
    text = read_package(tmp_path / "old.zip")["items/L03-02-1.xml"]
    assert "<assessmentItem " in text
    assert 'responseIdentifier="RESPONSE1"' in text
    assert "qti-" not in text


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["lesson 3", "-o", "out.txt"], "ends in .zip"),
        (["lesson 3", "-o", "out.zip", "--variants", "0"], "1 to 50"),
        (["L01-08", "-o", "out.zip"], "other systems cannot check"),
        (["lesson 77", "-o", "out.zip"], "77"),
    ],
)
def test_bad_wishes_are_told_and_nothing_is_written(
    words: list[str], said: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    assert main(["qti", *words]) == 2
    assert said in capsys.readouterr().err
    assert list(tmp_path.iterdir()) == []


def test_the_command_names_what_it_leaves_out_and_takes_a_sheets_own_file(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    sheet = tmp_path / "week.toml"
    assert main(["compose", "lesson 1", "-o", str(sheet)]) == 0
    capsys.readouterr()
    assert main(["qti", str(sheet), "-o", str(tmp_path / "week.zip"), "--json"]) == 1
    data = json.loads(capsys.readouterr().out)
    assert set(data["left_out"]) == {"L01-08"}
    assert io.BytesIO((tmp_path / "week.zip").read_bytes()).read(2) == b"PK"


def test_an_unknown_version_is_refused(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"3\.0 or 2\.1"):
        write_package(sheets.compose("lesson 3", "three"), tmp_path / "x.zip", version="1.2")
