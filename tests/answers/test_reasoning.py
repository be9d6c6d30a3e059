"""Worked solutions, reasons and pictures, checked another way: by reading the lines, by the tests' own rules, by the solver."""

from __future__ import annotations

import math
import re
from fractions import Fraction
from typing import Any

import pytest

from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.item import AnswerKind, Item
from gearkit.answers.items import find
from gearkit.answers.judge import marking
from gearkit.answers.offers import offered
from gearkit.answers.reasoning import lessons
from gearkit.answers.reasoning.sketches import LeverSketch, StickSketch
from gearkit.draw.lever.sketches import svgs_of
from gearkit.solve import mobility
from gearkit.solve.speeds import speeds
from gearkit.solve.teeth.assembly import assembly
from gearkit.train import catalogue
from tests.support.amounts import amount

DRAWS = amount(60, 12)
NUMBER = r"\(?\u2212?[\d.]+\)?"


def many(item: str | Item, number: int = DRAWS) -> list[Variant]:
    asked = find(item) if isinstance(item, str) else item
    return [variants.practice(asked, f"reasoning {count}") for count in range(number)]


def of_kind(kind: AnswerKind) -> list[Item]:
    return [item for item in lessons.ITEMS if item.kind is kind]


def lines(variant: Variant) -> list[str]:
    return re.findall(r"^- line \d+: (.*)$", variant.prompt, re.MULTILINE)


def plain(text: str) -> float:
    return float(text.replace("\u2212", "-").strip("()"))


def worth(text: str) -> float:
    """The value of one side of a line, worked out by Python."""
    text = re.sub(r"sin\((\d+)° / (\d+)\)", lambda m: str(math.sin(math.radians(int(m[1]) / int(m[2])))), text)
    text = text.replace("\u2212", "-").replace("×", "*").replace("π", str(math.pi))
    return float(eval(text, {"__builtins__": {}}))


def last_number(text: str) -> float:
    return plain(re.findall(NUMBER, text)[-1])


@pytest.mark.parametrize("item", [*of_kind(AnswerKind.WRONG_LINE), *of_kind(AnswerKind.NEXT_LINE)], ids=lambda item: item.id)
def test_the_arithmetic_of_every_line_holds_as_it_is_read(item: Item) -> None:
    checked = 0
    for variant in many(item):
        for line in lines(variant):
            found = re.match(rf"set \d: (.*) = (.*), so \w+ \d makes ({NUMBER}) turns", line)
            if found:
                checked += 1
                left, right = (re.sub(r"\$n_\w\$", f"({plain(found[3])})", side) for side in (found[1], found[2]))
                assert worth(left) == pytest.approx(worth(right), rel=2e-3, abs=0.1), (line, variant.prompt)
                continue
            for left, right in re.findall(r"((?:[\d.()×/+\u2212°π ]|sin)*[\d)]) = (\u2212?[\d.]+)", line):
                checked += 1
                assert worth(left) == pytest.approx(plain(right), rel=6e-4), (line, variant.prompt)
    assert checked >= DRAWS // 2


def answers_of(variant: Variant) -> float:
    """What a problem's own numbers lead to, by formulas of the tests' own."""
    prompt, option = variant.prompt, variant.item.option
    given = {name: float(text.replace("\u2212", "-")) for name, text in re.findall(r"\$([SRP]) = (\d+)\$", prompt)}
    if option == "third speed":
        speed = {
            name: plain(text)
            for name, text in re.findall(rf"[Tt]he (sun|ring|carrier)(?: turns)? at ({NUMBER}) r/min", prompt.split("?")[0])
        }
        s, r = given["S"], given["R"]
        if "carrier" not in speed:
            return (s * speed["sun"] + r * speed["ring"]) / (s + r)
        if "ring" in speed:
            return ((s + r) * speed["carrier"] - r * speed["ring"]) / s
        return ((s + r) * speed["carrier"] - s * speed["sun"]) / r
    if option == "ratio of a case":
        drive, hold = re.findall(r"The (\w+) drives, the (\w+) is held", prompt)[0]
        s, r = given["S"], given["R"]
        return {
            ("sun", "ring"): 1 + r / s,
            ("carrier", "ring"): s / (s + r),
            ("ring", "sun"): 1 + s / r,
            ("carrier", "sun"): r / (s + r),
            ("sun", "carrier"): -r / s,
            ("ring", "carrier"): -s / r,
        }[drive, hold]
    if option == "gap of planets":
        count, module = re.findall(r"(\d) planets, module ([\d.]+) mm", prompt)[0]
        return float(module) * ((given["S"] + given["P"]) * math.sin(math.pi / int(count)) - given["P"] - 2)
    if option == "efficiency of a set":
        drive = re.findall(r"The (\w+) drives with", prompt)[0]
        e = float(re.findall(r"held\) is ([\d.]+)\.", prompt)[0])
        a, b = (given["S"], given["R"]) if drive == "sun" else (given["R"], given["S"])
        return (a + e * b) / (a + b)
    if option == "how much too fast":
        i, n, out = (
            float(text) for text in re.findall(r"ratio ([\d.]+) is.*turns at ([\d.]+) r/min, the output at ([\d.]+)", prompt)[0]
        )
        return 100 * (n - i * out) / n
    if option == "upshift":
        a, b, n = (
            float(text) for text in re.findall(r"ratio ([\d.]+)\).*ratio ([\d.]+)\) with the engine at ([\d.]+)", prompt)[0]
        )
        return 100 * (1 - b / a) * (n > 0)
    if option == "road speed":
        i, n, f, r = (
            float(text)
            for text in re.findall(
                r"ratio is ([\d.]+); the engine turns at (\d+) r/min, the final drive is ([\d.]+), the rolling radius ([\d.]+)",
                prompt,
            )[0]
        )
        return n / i / f * 2 * math.pi * r * 60 / 1000
    assert variant.layout is not None
    engaged = re.findall(r"\((.*?) applied\)", prompt)[0].replace(" and ", ", ").split(", ")
    ratio = mobility.assess(variant.layout, engaged).ratio
    assert ratio is not None
    return float(ratio) if option == "ratio set by set" else float(ratio) - 1


@pytest.mark.parametrize("item", of_kind(AnswerKind.WRONG_LINE), ids=lambda item: item.id)
def test_a_solution_without_a_wrong_line_ends_at_the_right_number_and_one_with_does_not(item: Item) -> None:
    seen = set()
    for variant in many(item):
        right, ends = answers_of(variant), last_number(lines(variant)[-1])
        answer = marking.right_answer(variant)["answer"]
        seen.add(answer)
        if answer == "no line is wrong":
            assert ends == pytest.approx(right, rel=0.02, abs=0.05), variant.prompt
        else:
            assert ends != pytest.approx(right, rel=0.01), variant.prompt
    assert len(seen) > 2


@pytest.mark.parametrize("item", of_kind(AnswerKind.WRONG_LINE), ids=lambda item: item.id)
def test_what_stands_before_the_wrong_line_is_what_a_right_solution_says(item: Item) -> None:
    from gearkit.answers.reasoning.worked import lines_of
    from tests.support.reasoning import problem_of

    for variant in many(item, 12):
        answer = marking.right_answer(variant)["answer"]
        wrong = int(answer.split()[1]) - 1 if answer != "no line is wrong" else None
        right = [line.text for line in lines_of(problem_of(variant))]
        shown = lines(variant)
        assert shown[:wrong] == right[:wrong]
        if wrong is not None:
            assert shown[wrong] != right[wrong]


def engaged_in(prompt: str) -> list[str]:
    """What is applied and what holds in the range that a question names."""
    told = re.findall(r"\((.*?) applied(?:, (.*?) holding)?\)", prompt)[0]
    return [name for names in told for name in re.findall(r"\b[A-F]\b", names)]


def test_the_one_reason_that_is_offered_as_right_is_the_one_true_statement_about_the_set() -> None:
    for variant in many("L07-22"):
        layout = variant.layout
        assert layout is not None
        engaged = engaged_in(variant.prompt)
        turning = speeds(layout, engaged).members
        true = []
        for letter, text in zip("abcd", variant.options, strict=False):
            name = re.findall(r"(sun|carrier|ring) (\d)", text)
            members = [f"P{number}.{member}" for member, number in name]
            element = next((one for one in layout.elements if text.startswith(f"{one.name} ")), None)
            if "is free" in text:
                touched = {end for one in layout.elements if one.name in engaged for end in one.between}
                shaft = next(shaft for shaft in layout.shafts if members[0] in shaft)
                true.append(letter) if len(shaft) == 1 and members[0] not in touched else None
            elif "holds" in text:
                true.append(letter) if turning[members[0]] == 0 and element and "housing" in element.between else None
            else:
                assert element is not None
                ends = [next((shaft for shaft in layout.shafts if end in shaft), (end,)) for end in element.between]
                joined = all(any(member in shaft for shaft in ends) for member in members) and ends[0] != ends[1]
                true.append(letter) if joined else None
        assert true == [marking.right_answer(variant)["answer"]], variant.prompt


def test_why_a_set_does_not_go_together_is_the_one_condition_that_fails() -> None:
    words = {"do not lie round one axis": "coaxial", "cannot be spaced equally": "equal_spacing", "would touch": "neighbours"}
    for variant in many("L04-23"):
        sun, planet, ring = (int(text) for text in re.findall(r"\$[SPR] = (\d+)\$", variant.prompt))
        planets = int(re.findall(r"and (\d) equally", variant.prompt)[0])
        found = assembly(sun, planet, ring, planets)
        right = variant.options["abcd".index(marking.right_answer(variant)["answer"])]
        (fails,) = [condition for part, condition in words.items() if part in right]
        assert [name for name in words.values() if not getattr(found, name)] == [fails]


@pytest.mark.parametrize("item", ["L02-23", "L05-23", "L06-24"])
def test_the_right_lever_obeys_the_speed_equation_and_shows_the_speeds_that_are_asked(item: str) -> None:
    for variant in many(item):
        (part,) = variant.parts
        letter = marking.right_answer(variant)["answer"]
        right = part.pictures["abcd".index(letter)]
        assert isinstance(right, LeverSketch)
        if variant.layout is None:
            s, r = (int(text) for text in re.findall(r"\$[SR] = (\d+)\$", variant.prompt))
            ns, nr = (
                Fraction(int(text.replace("\u2212", "-")), 1000) for text in re.findall(rf"at ({NUMBER}) r/min", variant.prompt)
            )
            wanted = (ns, (s * ns + r * nr) / (s + r), nr)
        else:
            engaged = engaged_in(variant.prompt)
            name = "P" + re.findall(r"lever of set (\d)", variant.prompt)[0]
            s, r = variant.layout.set_named(name).weights
            turning = speeds(variant.layout, engaged).members
            wanted = tuple(turning[f"{name}.{member}"] for member in ("sun", "carrier", "ring"))
        assert right.arrows == wanted
        assert right.places == (0, Fraction(r, r + s), 1)
        for place, sketch in enumerate(part.pictures):
            assert isinstance(sketch, LeverSketch)
            assert (sketch.arrows, sketch.places) == (right.arrows, right.places) or "abcd"[place] != letter


def test_the_right_stick_picture_has_the_ratio_that_is_asked() -> None:
    ratios = {
        ("sun", "ring"): "1 + R/S",
        ("carrier", "ring"): "S/(S + R)",
        ("ring", "sun"): "1 + S/R",
        ("carrier", "sun"): "R/(S + R)",
        ("sun", "carrier"): "-R/S",
        ("ring", "carrier"): "-S/R",
    }
    for variant in many("L03-24"):
        (part,) = variant.parts
        asked = re.findall(r"ratio is \$(.*?)\$", variant.prompt)[0]
        shown = [ratios[one.drive, one.hold] for one in part.pictures if isinstance(one, StickSketch)]
        assert [letter for letter, ratio in zip("abcd", shown, strict=True) if ratio == asked] == [
            marking.right_answer(variant)["answer"]
        ]


def test_pictures_say_what_they_show_and_none_says_that_it_is_the_right_one() -> None:
    for item in of_kind(AnswerKind.PICTURE):
        for variant in many(item, 4):
            (part,) = variant.parts
            svgs = svgs_of(part.pictures)
            assert len({re.sub(r"gk-\w{10}", "", svg) for svg in svgs}) == 4
            for words, svg in zip(part.options, svgs, strict=True):
                assert f">{words}</desc>" in svg
                assert not re.search("right|wrong|correct", words.replace("to the right", ""))
            # The words of all four are made alike, so that their form tells nothing.
            assert (
                len(
                    {
                        re.sub(r"arrow [\d.]+ to the (right|left)|no arrow|sun|carrier|ring|[\d.]+", "#", words)
                        for words in part.options
                    }
                )
                <= 2
            )


def test_pictures_to_choose_among_can_be_read_two_in_a_row() -> None:
    wide = 308  # px, which a form gives each of them
    for item in of_kind(AnswerKind.PICTURE):
        for svg in svgs_of(variants.practice(item, "class").parts[0].pictures):
            width = float(re.findall(r'<svg[^>]* width="([\d.]+)"', svg)[0])
            smallest = min(map(float, re.findall(r'font-size="?([\d.]+)', svg)))
            assert smallest * min(1, wide / width) >= 11, (item.id, width, smallest)


def test_steps_are_told_in_the_one_order_in_which_each_needs_the_one_before() -> None:
    from tests.support.reasoning import problem_of

    for item in of_kind(AnswerKind.STEPS):
        for variant in many(item, 6):
            order = [variant.options["abcdef".index(letter)] for letter in marking.right_answer(variant)["answer"].split(", ")]
            stages = problem_of(variant).stages
            assert order == [stage.does for stage in stages]
            found: set[str] = set()
            for before, stage in zip([None, *stages], stages, strict=False):
                assert before is None or before.gives in stage.needs
                found.add(stage.gives)


def test_there_are_thirty_of_the_new_kinds_over_lessons_2_to_12() -> None:
    assert len(lessons.ITEMS) >= 30
    assert {item.lesson for item in lessons.ITEMS} == set(range(2, 13))
    kinds: set[Any] = {item.kind for item in lessons.ITEMS}
    assert kinds == {AnswerKind.WRONG_LINE, AnswerKind.STEPS, AnswerKind.NEXT_LINE, AnswerKind.REASON, AnswerKind.PICTURE}


JUDGING = {AnswerKind.WRONG_LINE, AnswerKind.STEPS, AnswerKind.NEXT_LINE, AnswerKind.REASON, AnswerKind.PICTURE}


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_any_layout_is_asked_the_same_as_in_the_lessons(name: str) -> None:
    found = [offer.item for offer in offered(catalogue.find(name)) if offer.kind in JUDGING]
    # Q24 has a one-way clutch, of which the reasons say nothing.
    assert {item.kind for item in found} == JUDGING - ({AnswerKind.REASON} if name == "Q24" else set())
    asked = {(item.prompt, item.hints, item.marks) for item in lessons.ITEMS}
    assert all((item.prompt, item.hints, item.marks) in asked for item in found)


def test_sets_with_names_are_told_by_them_in_lines_and_reasons_too_as_in_the_drawing() -> None:
    text = catalogue.dumps(catalogue.find("pair_two_suns"))
    renamed = catalogue.parse(re.sub(r"\bP2\b", "zag", re.sub(r"\bP1\b", "zig", text)))
    ours, theirs = (
        {offer.id: variants.practice(offer.item).question for offer in offered(layout) if offer.kind in JUDGING}
        for layout in (catalogue.parse(text), renamed)
    )
    assert set(ours) == set(theirs)
    assert len(ours) > 12
    assert sum("zig sun" in question or "zag set" in question for question in theirs.values()) > 3
    numbered = re.compile(r"\bP[12]\b|\b(?:set|sets|sun|ring|carrier) [12]\b")
    assert [found[0] for question in theirs.values() if (found := numbered.search(question))] == []
