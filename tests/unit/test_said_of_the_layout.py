"""What a made lesson says of unusual layouts: reasons, rows and numbers that are those of the layout, in words of good English."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import pypdf
import pytest

from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.predictions import opened
from gearkit.print import engine
from gearkit.text import places
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.terms import PinionKind
from graders.unit import handout, overview, unit
from graders.unit.facts import Facts
from graders.unit.lesson import assemble
from graders.unit.lesson.first_range import applied_words
from tests.support.amounts import amount
from tests.support.random_layouts import random_layout
from tests.unit import language
from tests.unit.test_lesson import drawn

_HEAD = 'format = 1\nname = "workshop train"\n[source]\nkind = "own"\ncitation = "made for a test"\n'


def layout(sets: list[str], joins: str, elements: list[tuple[str, str, str, str]], ranges: dict[str, str]) -> Layout:
    """A layout from lines: sets as name, pinions, sun, ring; elements as name, kind and two ends; ranges as letters."""
    text = _HEAD.replace("[source]", f"joins = {joins}\n[source]")
    for one in sets:
        name, pinions, sun, ring = one.split()
        text += f'[[set]]\nname = "{name}"\npinions = "{pinions}"\nsun = {sun}\nring = {ring}\n'
    for name, kind, first, second in elements:
        text += f'[[element]]\nname = "{name}"\nkind = "{kind}"\nbetween = ["{first}", "{second}"]\n'
        text += 'free_direction = "reverse"\n' if kind == "one-way clutch" else ""
    for name, engaged in ranges.items():
        text += f'[[range]]\nname = "{name}"\nengaged = {list(engaged)}\n'
    return catalogue.parse(text.replace("'", '"'))


# One set; E joins the output straight to the input, and the brake B stands on the input.
ONE_SET = layout(
    ["P1 double 58 120"], '[["P1.carrier", "output"]]',
    [("A", "brake", "P1.ring", "housing"), ("B", "brake", "input", "housing"), ("C", "clutch", "P1.ring", "P1.sun"),
     ("D", "clutch", "P1.sun", "input"), ("E", "clutch", "output", "input")],
    {"1": "CE", "2": "E", "3": "AD", "N": ""},
)  # fmt: skip
# P2 works in no range, and the one-way clutch F, which the chart lists, has nothing to hold.
IDLE_SET = layout(
    ["P1 single 51 97", "P2 single 47 105"], '[["output", "P1.sun"], ["input", "P2.ring"]]',
    [("A", "brake", "P1.carrier", "housing"), ("B", "brake", "P2.carrier", "housing"), ("C", "brake", "input", "housing"),
     ("D", "clutch", "P1.ring", "output"), ("E", "clutch", "P1.ring", "input"), ("F", "one-way clutch", "P2.carrier", "input")],
    {"1": "AEF", "2": "DEF", "3": "ABE", "4": "DE", "N": ""},
)  # fmt: skip
# Four sets, two with meshing pairs; ranges 2 and 3 are both direct, by a block.
FOUR_SETS = layout(
    ["P1 single 28 66", "P2 single 26 64", "P3 double 23 86", "P4 double 52 121"],
    '[["output", "P3.sun"], ["P3.sun", "P1.carrier"], ["P2.carrier", "P4.carrier"], ["P1.sun", "P4.carrier"], '
    '["P4.ring", "P3.carrier"], ["P2.sun", "P4.ring"], ["P2.ring", "P3.ring"]]',
    [("A", "brake", "P2.sun", "housing"), ("B", "clutch", "P2.sun", "output"), ("C", "clutch", "P1.sun", "input"),
     ("D", "one-way clutch", "P2.ring", "output")],
    {"1": "AC", "2": "BC", "3": "CD", "N": ""},
)  # fmt: skip

# Range 1 is a reverse; F, which range 2 relies on, lets go under drive.
REVERSE_ALONE = layout(
    ["P1 single 30 66"], '[["P1.sun", "input"], ["P1.ring", "output"]]',
    [("A", "brake", "P1.carrier", "housing"), ("B", "clutch", "P1.sun", "P1.ring"), ("F", "one-way clutch", "housing", "P1.carrier")],
    {"1": "A", "2": "F", "N": ""},
)  # fmt: skip


def words(made: Layout) -> str:
    """The prose and the code of a layout's lesson, what is said after predictions opened."""
    lesson = assemble.lesson(Facts(made, unit.LAYOUT), {})
    assert list(language.troubles(language.prose_of(lesson))) == []
    text = "\n".join("".join(cell["source"]) for cell in lesson["cells"])
    return re.sub(r"shut:[\w+/=]+", lambda found: opened(found[0]), text)


def test_direct_drive_has_the_reason_that_the_layout_gives() -> None:
    for made, name in ((ONE_SET, "1"), (IDLE_SET, "2")):
        text = words(made)
        assert f"Input and output joined to each other need no set: that is why range {name} is direct." in text
        assert f"Anything but 1 for range {name} overlooks that input and output are joined to each other." in text
        assert f"can range {name} reach the output without a set?" in text
        assert "make it a block: that is why" not in text
    text = words(FOUR_SETS)
    assert "Two members of a set on one shaft make it a block: that is why range 2 is direct." in text
    assert "Which two members of one set does range 2 put on the same shaft" in text
    assert "joined to each other" not in text


def test_joined_straight_is_what_one_finds_with_no_set_at_all() -> None:
    # Block: bench_set joins sun and ring to the input; straight: E joins the output itself.
    bench = Facts(catalogue.find("bench_set"), unit.LAYOUT)
    assert [fact.name for fact in bench.drives if bench.straight(fact)] == []
    found = Facts(ONE_SET, unit.LAYOUT)
    assert [fact.name for fact in found.drives if found.straight(fact)] == ["1", "2"]


def test_a_brake_on_the_input_is_no_way_into_the_sets() -> None:
    assert "it reaches the sets only through D or E, so one of them is applied in every range." in words(ONE_SET)
    assert "ring 2, and E and F can each bring it to a further shaft." in words(IDLE_SET)


def test_a_set_that_works_in_no_range_is_not_said_to_be_of_use_in_another() -> None:
    text = words(IDLE_SET)
    assert "Set 2 carries no torque in any range of the chart." in text
    assert "Why is it there all the same" not in text
    assert "Sets 1 and 4 carry no torque in any range of the chart." in words(FOUR_SETS)
    assert "In range 1 set 1 carries no torque. Why is it there all the same" in words(ONE_SET)


def test_a_question_that_has_one_possible_answer_is_not_asked() -> None:
    text = words(IDLE_SET)
    assert "which set passes on most?" not in text
    assert "through which members does all of it go? In range 1, set 2 carries nothing." in text
    assert "which set passes on most? In range 1, sets 1 and 4 carry nothing." in words(FOUR_SETS)
    assert "which set reverses" not in words(ONE_SET)
    assert "No set carries torque in range 1: why?" in words(ONE_SET)


def test_a_one_way_clutch_with_nothing_to_hold_is_not_said_to_join() -> None:
    text = words(IDLE_SET)
    assert "E joins ring 1 to the input. F stands in the chart too, but has nothing to hold." in text
    assert "F joins carrier 2 to the input;" not in text


def test_a_reading_stands_in_every_row_of_its_ratio() -> None:
    assert "it stands in the rows of ranges 2 and 3." in words(FOUR_SETS)


@pytest.mark.parametrize("made", [ONE_SET, IDLE_SET, FOUR_SETS], ids=["one set", "idle set", "four sets"])
def test_one_is_not_spoken_of_as_several(made: Layout) -> None:
    text = words(made)
    assert "One range is left: tick its elements" in text
    assert "For each one" not in text
    assert "direction and ratio of the other range" in text
    assert not re.search(r"all [12] |\d (?:shafts|upshifts) ", text)


def test_sets_alike_share_a_clause() -> None:
    assert "four planetary sets; sets 3 and 4 have planets in meshing pairs." in words(FOUR_SETS)
    assert "one planetary set; it has planets in meshing pairs." in words(ONE_SET)


def test_a_clause_with_which_is_closed_by_a_comma() -> None:
    neutral = layout(
        ["P1 single 44 96", "P2 single 59 119"], '[["input", "P1.sun"], ["input", "P2.ring"], ["P1.ring", "P2.sun"], ["P2.sun", "output"]]',
        [("A", "brake", "P2.carrier", "housing"), ("B", "brake", "P1.carrier", "housing")], {"1": "A", "2": "B", "N": ""},
    )  # fmt: skip
    text = words(neutral)
    assert (
        "Set 2: the sun is on the output, which stands still, and the ring is on the input, so the carrier turns forward"
        in text
    )


def test_a_panel_lists_elements_as_a_sentence_does_and_says_a_whole_ratio_once() -> None:
    panel = LayoutPanel(IDLE_SET)
    panel.apply("A", "E", "F")
    assert "A, E and F applied: a range, ratio −51/97 = −0.526." in panel.words()
    panel.apply("D", "E")
    assert "D and E applied: a range, ratio 1." in panel.words()


def test_direct_drive_that_sets_give_together_is_not_put_down_to_one_block() -> None:
    made = layout(
        ["P1 double 26 94", "P2 single 46 94", "P3 single 46 102"],
        '[["P1.carrier", "P2.carrier"], ["P1.ring", "P2.ring"], ["output", "P3.carrier"], ["input", "P1.carrier"], '
        '["P1.sun", "P3.carrier"], ["P2.sun", "P3.sun"]]',
        [("A", "brake", "P3.ring", "housing"), ("C", "clutch", "P1.sun", "P3.ring")], {"1": "A", "2": "C", "N": ""},
    )  # fmt: skip
    text = words(made)
    assert "is direct" not in text
    assert "Anything but 1" not in text


def test_an_element_without_torque_is_not_said_to_share_it() -> None:
    made = layout(
        ["P1 single 24 58", "P2 single 30 86", "P3 single 47 89"],
        '[["output", "P2.carrier"], ["input", "P1.ring"], ["P3.carrier", "P2.carrier"], ["P1.ring", "P2.ring"], '
        '["P1.carrier", "P3.carrier"]]',
        [("A", "brake", "P3.ring", "housing"), ("C", "brake", "P1.sun", "housing"), ("D", "clutch", "P1.carrier", "input"),
         ("E", "clutch", "P1.sun", "P3.ring")],
        {"1": "DE", "4": "AC", "5": "CE", "N": ""},
    )  # fmt: skip
    text = words(made)
    assert "C is the only element that takes up torque at the housing in range 4, so it has all of that to hold." in text
    assert "A has nothing to carry here." in text
    # In range 1, where input and output are joined, no set carries anything: there is nothing to point out.
    assert "In range 1, P1, P2 and P3 carry nothing." not in text


@pytest.mark.parametrize("name", ["Q36", "Q48"])
def test_no_page_of_a_handout_holds_nothing_but_ruled_lines(name: str) -> None:
    made = handout.document(Facts(catalogue.find(name), unit.LAYOUT))
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(engine.pdf([made]))).pages]
    last = next(page for page in pages if "What I want to ask" in page)
    assert "When one element fails" in last
    assert pages.index(last) == len(pages) - 1


def test_the_page_begins_with_a_capital_and_the_handout_keeps_its_elements_on_one_page() -> None:
    facts = Facts(ONE_SET, unit.LAYOUT)
    assert "<h1>Workshop train</h1>" in overview.html(facts, ())
    kept = [block for block in handout.document(facts).blocks if type(block).__name__ == "Together"]
    assert any(getattr(block.blocks[0], "text", "") == "What the elements do" for block in kept)


def test_a_section_on_what_does_not_drive_says_of_what_it_speaks() -> None:
    made = layout(
        ["P1 single 36 78"], '[["P1.carrier", "output"]]',
        [("A", "clutch", "P1.sun", "input"), ("B", "clutch", "P1.ring", "input"), ("C", "brake", "P1.ring", "housing")],
        {"1": "AC", "2": "AB"},
    )  # fmt: skip
    assert "Every row of the chart drives; not every combination of elements does. First say what you expect" in words(made)
    assert "Range N does not drive. First say what you expect" in words(ONE_SET)


def test_a_one_way_clutch_is_told_by_the_part_that_it_lets_turn() -> None:
    held = "**F**, a one-way clutch, holds carrier 1 (with ring 2), but lets it turn forward."
    assert held in words(catalogue.find("Q24"))
    assert "its first part" not in words(IDLE_SET)
    # Between two members that both turn it is told from where the free way is seen.
    assert "but lets carrier 2 turn backward seen from the input" in words(IDLE_SET)
    turned = layout(
        ["P1 single 30 66"], '[["input", "P1.sun"], ["P1.carrier", "output"]]',
        [("A", "brake", "P1.ring", "housing"), ("F", "one-way clutch", "housing", "P1.ring")], {"1": "A"},
    )  # fmt: skip
    assert "holds ring 1, but lets it turn forward" in words(turned)


def test_nobody_applies_a_one_way_clutch_and_there_is_no_road_without_a_forward_range() -> None:
    text = words(REVERSE_ALONE)
    assert "### Neutral: range 2" in text
    assert "With nothing applied, while F lets go:" in text
    assert 'neutral = in_range(train, "2").mobility' in text
    assert not re.search(r"Which of [^?]+ make a tie-up|And F together with range", text)
    assert "college van" not in text
    assert "The van and its engine" not in text
    assert "The van and its engine are made up." in words(ONE_SET)


# In its ranges 1 and 5 the chart lists a one-way clutch that has nothing to hold, and another holds in its place; none drives forward.
BACKWARD_ONLY = random_layout("look/53", 4, one_way=True)


def test_a_clutch_that_holds_although_the_chart_does_not_list_it_is_named_where_the_range_is_derived() -> None:
    for train in (BACKWARD_ONLY, *drawn(amount(60, 10))):
        facts = Facts(train, unit.LAYOUT)
        for fact in facts.drives:
            told = applied_words(facts, fact)
            assert [name for name in fact.state.engaged if not re.search(rf"\b{name}\b", told)] == [], (fact.name, told)
    facts = Facts(BACKWARD_ONLY, unit.LAYOUT)
    assert "D holds by itself, although the chart does not list it here. D joins sun 1 to sun 4." in applied_words(
        facts, facts.drives[0]
    )


def test_ranges_of_one_ratio_are_said_to_differ_in_coast_only_where_one_brakes_and_the_other_does_not() -> None:
    alike, text = [], ""
    for train in (BACKWARD_ONLY, catalogue.find("Q24"), *drawn(amount(60, 10))):
        facts = Facts(train, unit.LAYOUT)
        text = "\n".join("".join(cell["source"]) for cell in assemble.lesson(facts, {})["cells"])
        differ = [
            (first, other)
            for first in facts.by_effort
            for other in facts.drives
            if first.ratio == other.ratio and (first.name in facts.coasting) != (other.name in facts.coasting)
        ]
        assert ("The difference shows when the vehicle pushes" in text) == bool(differ), facts.layout
        alike.append("yet the same ones hold" in text)
    assert alike[0]


def test_no_exercise_stands_in_a_lesson_on_what_the_lesson_does_not_speak_of() -> None:
    spoken = {
        "shifts": "## Shifting",
        "faults": "## When one element fails",
        "road": "## On the road",
        "torque": "## Torque: who",
    }
    for train in (BACKWARD_ONLY, *drawn(amount(60, 10))):
        practice = dict.fromkeys(spoken, ("X06-RATIO-1",))
        lesson = assemble.lesson(Facts(train, unit.LAYOUT), practice)
        text = "\n" + "\n".join("".join(cell["source"]) for cell in lesson["cells"])
        for name, head in spoken.items():
            assert (f"unit-try-{name}" in [cell["id"] for cell in lesson["cells"]]) == (f"\n{head}" in text), (name, train)
    assert "On the road" not in "".join(
        "".join(c["source"]) for c in assemble.lesson(Facts(BACKWARD_ONLY, unit.LAYOUT), {})["cells"]
    )


def test_what_a_layout_without_a_forward_range_needs_is_two_of_them() -> None:
    assert any(line.startswith("Two forward ranges") for line in overview.more(Facts(BACKWARD_ONLY, unit.LAYOUT)))


def test_the_price_of_a_one_way_clutch_is_named_only_after_its_gain() -> None:
    for train in (IDLE_SET, BACKWARD_ONLY, catalogue.find("Q24"), *drawn(amount(60, 10))):
        text = words(train)
        assert ("The price: in" in text) == bool(re.search(r"### .* by (?:itself|themselves)\n(?:.*\n)*?.*The price: in", text))


def test_which_member_is_fastest_is_not_asked_where_all_turn_alike() -> None:
    asked = 0
    for train in (catalogue.find("bench_set"), FOUR_SETS, *drawn(amount(60, 10))):
        facts = Facts(train, unit.LAYOUT)
        found = re.search(r"Which member turns fastest in range ([^,]+), and", words(train))
        if found:
            asked += 1
            assert next(fact.ratio for fact in facts.drives if fact.name == found[1]) != 1
    assert asked


def test_no_set_with_two_known_speeds_is_said_only_where_the_derivation_begins_so() -> None:
    published = catalogue.read(places.datasets() / "published" / "six_range_input_set_two_suns.toml")
    for train in (published, *drawn(amount(60, 10))):
        facts, text = Facts(train, unit.LAYOUT), words(train)
        for name in re.findall(r"In range (\w+) no set has two speeds that you know", text):
            fact = next(fact for fact in facts.drives if fact.name == name)
            assert len(next(step for step in fact.chain if step.formulas).sets) > 1, (name, train)
    text = words(published)
    assert (
        "Begin with set 1: which two of its speeds do you know in range 2? Where that leads no further, sets 2 and 3 are"
        in text
    )
    assert "Where no further set has two known speeds, as in range 2" in text


def test_a_neutral_that_needs_a_letter_is_not_begun_and_left_open() -> None:
    letter = layout(
        ["P1 single 36 64", "P2 single 29 61", "P3 double 34 101"],
        '[["output", "P3.carrier"], ["input", "P1.ring"], ["P1.sun", "P2.sun"], ["P3.ring", "P1.sun"], ["P1.carrier", "P3.sun"], '
        '["P1.ring", "P2.ring"]]',
        [("A", "brake", "P1.carrier", "housing"), ("C", "brake", "P2.carrier", "housing")], {"1": "C", "2": "A", "N": ""},
    )  # fmt: skip
    assert "### Neutral: range N" in words(letter)
    assert "Neutral is not at rest" not in words(letter)
    for train in (letter, *drawn(amount(60, 10))):
        told = words(train).partition("Neutral is not at rest")[2].partition("# Working")[0]
        assert "its equation gives" not in told, train


def test_what_is_always_held_takes_its_share_of_the_torque() -> None:
    made = layout(
        ["P1 single 56 102"], '[["P1.sun", "housing"], ["P1.carrier", "output"]]',
        [("A", "clutch", "P1.ring", "input"), ("B", "clutch", "P1.carrier", "input")], {"1": "A", "2": "B", "N": ""},
    )  # fmt: skip
    text = words(made)
    assert "In range 1 sun 1, which is always held, has all of that to hold." in text
    assert "no applied element stands at the housing" not in text


def test_the_letters_of_stepped_planets_are_told_with_their_teeth() -> None:
    made = layout(
        ["P1 single 36 64"],
        '[["P1.carrier", "output"], ["P1.sun", "input"]]',
        [("A", "brake", "P1.ring", "housing")],
        {"1": "A"},
    )
    told = "The stepped planets of set 1 have 14 teeth at the sun (P) and 16 at the ring (Q)."
    assert told not in words(made)
    stepped = replace(
        made, sets=(replace(made.sets[0], pinions=PinionKind.STEPPED, sun_pinion_teeth=14, ring_pinion_teeth=16),)
    )
    assert told in words(stepped)
    assert told in str(handout.document(Facts(stepped, unit.LAYOUT)))
