"""A made unit read by somebody who meets this train for the first time: causes before effects, words before their use, room to work."""

from __future__ import annotations

from pathlib import Path

import pytest

from gearkit.explain.story import tell
from gearkit.print.document import Block, Formula, Heading, Lines, Paragraph, Table, Together
from gearkit.text.phrases import capital
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.catalogue import of_language
from gearkit.words.say import speaking
from graders.unit import handout, sheets, unit
from graders.unit.facts import Facts
from tests.unit.test_lesson import drawn
from tests.unit.test_said_of_the_layout import FOUR_SETS, layout, words

# Two sets in series; B locks the first, D the second.
SERIES = layout(
    ["P1 single 48 84", "P2 single 36 84"], '[["input", "P1.sun"], ["P1.carrier", "P2.sun"], ["output", "P2.carrier"]]',
    [("A", "brake", "P1.ring", "housing"), ("B", "clutch", "P1.sun", "P1.carrier"), ("C", "brake", "P2.ring", "housing"),
     ("D", "clutch", "P2.carrier", "P2.ring")],
    {"1": "AC", "2": "BC", "3": "AD", "4": "BD", "N": ""},
)  # fmt: skip
# One set with its sun always held: B makes it a block.
HELD_SUN = layout(
    ["P1 single 56 102"], '[["P1.sun", "housing"], ["P1.carrier", "output"]]',
    [("A", "clutch", "P1.ring", "input"), ("B", "clutch", "P1.carrier", "input")], {"1": "A", "2": "B", "N": ""},
)  # fmt: skip

# Two sets; K makes a block of the first.
BLOCK_FIRST = layout(
    ["P1 single 42 78", "P2 single 36 84"], '[["input", "P1.ring"], ["P1.carrier", "P2.sun"], ["output", "P2.carrier"]]',
    [("K", "clutch", "P1.sun", "P1.ring"), ("B", "brake", "P2.ring", "housing"), ("C", "clutch", "P2.ring", "P2.carrier")],
    {"2": "KB", "4": "KC", "N": ""},
)  # fmt: skip


def blocks(made: Layout) -> list[Block]:
    """The blocks of a layout's handout."""
    return list(handout.document(Facts(made, unit.LAYOUT)).blocks)


def test_a_tie_up_is_told_from_its_cause_on() -> None:
    told = words(SERIES).partition("### One element too many")[2].partition("# Working")[0]
    cause = told.index("With only A and C applied, let the input make one turn.")
    speed = told.index("Set 1: the sun is on the input and the ring is held by A, so the carrier turns forward at 0.364")
    assert cause < speed < told.index("So sun 1 turns forward at the input speed while carrier 1 turns forward at 0.364")
    for train in (FOUR_SETS, *drawn(10)):
        told = words(train).partition("### One element too many")[2].partition("# Working")[0]
        begins = told.count("applied, let the") + told.count("Think of ")
        assert begins == bool(told and "So " in told), train


def test_a_tie_up_says_what_turns_as_a_block_before_what_turns_with_it() -> None:
    block = ["Think of only K and B as applied.", "Set 1 is locked: its sun and ring", "Let the input make one turn."]
    told = words(BLOCK_FIRST).partition("### One element too many: range 2 and C")[2].partition("# Working")[0]
    story = " ".join(step.words for step in tell(BLOCK_FIRST, engaged=("K", "B", "C")).steps)
    for text, order in (
        (told, [*block, "So ring 2 stands still while carrier 2 turns forward"]),
        (
            story,
            [*block, "All of set 1 and sun 2 turn with the input.", "So ring 2 stands still while carrier 2 turns forward"],
        ),
    ):
        places = [text.index(sentence) for sentence in order]
        assert places == sorted(places)


def test_slip_is_explained_before_it_is_asked_for() -> None:
    text = words(SERIES)
    assert "the speeds of its two sides differ by 1909 r/min. This difference is its *slip*." in text
    assert "what becomes heat" not in text


@pytest.mark.parametrize("made", [SERIES, FOUR_SETS], ids=["series", "four sets"])
def test_no_idiom_stands_in_a_made_lesson(made: Layout) -> None:
    text = words(made)
    for idiom in (
        "earn their place",
        "nobody would notice",
        "for it?",
        "Keep an eye",
        "Hold two rows",
        "Had all",
        "awkward",
        "bind as well",
    ):
        assert idiom not in text


def test_why_sun_and_ring_share_torque_so_is_said() -> None:
    assert (
        "A planet pushes sun and ring with equal forces. So their torques are in the proportion of their tooth counts"
        in words(SERIES)
    )


def test_the_handout_names_what_is_always_held() -> None:
    table = next(block for block in blocks(HELD_SUN) if isinstance(block, Table))
    assert any(row[1] == "sun 1" and row[0] == "always held" for row in table.rows)
    with speaking(of_language("de")):
        table = next(block for block in blocks(HELD_SUN) if isinstance(block, Table))
        assert any(row[1] == "Sonnenrad 1" and row[0] == "immer fest" for row in table.rows)
    assert not any(row[0] == "always held" for block in blocks(SERIES) if isinstance(block, Table) for row in block.rows)


def test_direct_drive_gets_two_lines_to_work_on_and_any_other_range_four() -> None:
    direct = layout(
        ["P1 single 36 78"], '[["P1.sun", "input"], ["P1.carrier", "output"]]',
        [("A", "brake", "P1.ring", "housing"), ("B", "clutch", "P1.ring", "input")], {"1": "A", "2": "B"},
    )  # fmt: skip
    assert next(lines(block) for block in blocks(direct) if lines(block)) == 2
    assert next(lines(block) for block in blocks(SERIES) if lines(block)) == 4


def lines(block: Block) -> int:
    """How many lines to work on a block of the handout has."""
    if not isinstance(block, Together) or isinstance(block.blocks[0], Heading):
        return 0
    return sum(part.count for part in block.blocks if isinstance(part, Lines))


def test_a_sentence_and_its_equation_stay_on_one_page() -> None:
    for made in (SERIES, HELD_SUN, FOUR_SETS):
        kept = blocks(made)
        assert not any(isinstance(block, Formula) for block in kept)
        with_formulas = [
            block.blocks for block in kept if isinstance(block, Together) and isinstance(block.blocks[-1], Formula)
        ]
        assert with_formulas
        assert all(isinstance(parts[0], Paragraph) and parts[0].text == capital(parts[0].text) for parts in with_formulas)


def test_losses_are_explained_in_the_lesson_whose_sheets_ask_for_them(tmp_path: Path) -> None:
    for made in (SERIES, HELD_SUN, BLOCK_FIRST):
        file = tmp_path / "layout.toml"
        file.write_text(catalogue.dumps(made), encoding="utf-8")
        graded = sheets.graded(file, made)
        asked = [*graded.item_ids, *sheets.practice(file, made, graded).item_ids]
        text = words(made)
        assert any(item.startswith("X09-") for item in asked)
        assert "a **loss**. The *basic efficiency* of a set tells" in text


def test_the_example_of_a_loss_has_the_numbers_of_the_formula_for_a_held_ring() -> None:
    efficiency = (36 + 0.98 * 84) / 120
    told = f"the output gives {100 * efficiency:.1f} % of the power, so its torque is {500 * efficiency:.1f} N·m in place of 500.0 N·m."
    assert told in words(SERIES)
