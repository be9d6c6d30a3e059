"""What a story says: the elements and what each does, locked and idle sets, unknowns, the ratio in words."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from gearkit.explain.clauses import speed_words
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.text.phrases import capital, set_words
from gearkit.train.catalogue import entries, find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import UsageError
from gearkit.words.terms import ElementKind, FreeDirection, SourceKind, Verdict
from tests.explain.replay import replay

OWN = Source(SourceKind.OWN, "made for a test")


def part(story: Story, wanted: StoryPart) -> list[Step]:
    return [step for step in story.steps if step.part is wanted]


def turned(layout: Layout, name: str) -> Layout:
    """The layout with a one-way clutch fitted the wrong way round."""
    elements = [replace(e, free_direction=FreeDirection.REVERSE) if e.name == name else e for e in layout.elements]
    return replace(layout, elements=tuple(elements), text="")


def words(story: Story, wanted: StoryPart) -> str:
    return " ".join(step.words for step in part(story, wanted))


def test_every_applied_element_is_told_with_its_kind_and_its_work() -> None:
    for entry in entries():
        for item in entry.layout.ranges:
            story = tell(entry.layout, item.name)
            told = [step.words for step in part(story, StoryPart.APPLIED)]
            for name in item.engaged:
                element = entry.layout.element_named(name)
                (own,) = [line for line in told if line.startswith(f"{name}, a {element.kind}, ")]
                verbs = {"brake": "holds", "clutch": "joins", "one-way clutch": "lets"}
                assert f"{verbs[element.kind]} " in own


def test_open_elements_are_named_but_a_one_way_clutch_is_never_called_open() -> None:
    story = tell(find("Q24"), "2")
    assert "A, C and D are open: the two sides of each may turn at different speeds." in words(story, StoryPart.APPLIED)
    assert "F, a one-way clutch, overruns: carrier 1 turns forward, as it may." in words(story, StoryPart.REST)


def test_a_one_way_clutch_is_said_to_hold_because_of_the_way_the_drive_pushes() -> None:
    told = words(tell(find("Q24"), "1"), StoryPart.APPLIED)
    assert (
        "F, a one-way clutch, lets carrier 1 (with ring 2) turn forward only; the drive pushes it backward, "
        "so F holds it to the housing."
    ) in told


def test_a_one_way_clutch_that_would_let_go_is_not_said_to_hold() -> None:
    # In reverse the reaction on the carrier acts the other way round, which F allows.
    story = tell(find("Q24"), engaged=["A", "F"])
    assert (story.mobility.verdict, story.engaged, story.note) == (Verdict.NEUTRAL, ("A",), "F freewheels in drive")
    assert "the drive does not press it backward, so in drive F lets go." in words(story, StoryPart.APPLIED)


def test_a_one_way_clutch_in_the_way_locks_and_the_story_says_so() -> None:
    story = tell(turned(find("Q24"), "F"), "3")
    assert (story.mobility.verdict, story.engaged, story.note) == (Verdict.TIE_UP, ("C", "E", "F"), "locked by F")
    assert "it would have to turn forward, so F locks: it holds it to the housing." in words(story, StoryPart.APPLIED)
    assert story.title.endswith("Range 3: C and E applied, locked by F. Verdict: tie-up")


def test_a_clutch_that_ends_up_held_or_driven_says_so() -> None:
    assert "E, a clutch, joins carrier 1 (with sun 3) to carrier 2, so that both are held." in words(
        tell(find("Q36"), "6"), StoryPart.APPLIED
    )
    assert "E, a clutch, joins carrier 1 (with sun 3) to carrier 2, so that both turn with the input." in words(
        tell(find("Q36"), "5"), StoryPart.APPLIED
    )


def test_a_locked_set_is_told_with_the_reason_and_with_what_goes_along() -> None:
    told = words(tell(find("Q36"), "2"), StoryPart.SETS)
    assert "Set 1 is locked: its sun and ring are on one shaft (through A), so it turns as a block at the input speed." in told
    assert "Its carrier turns with them, and sun 3 with it." in told


def test_a_set_with_two_members_held_stands_still() -> None:
    told = words(tell(find("Q48"), "R"), StoryPart.SETS)
    assert "Set 2 stands still: its sun and carrier are both held, so its ring, and with it carrier 3 and ring 4, cannot turn either." in told  # fmt: skip


@pytest.mark.parametrize(
    ("layout", "range_name", "working", "idle"),
    [
        ("Q36", "1", ("P1", "P2", "P3"), ()),
        ("Q36", "2", ("P1", "P3"), ("P2",)),
        ("Q36", "6", ("P1", "P2"), ("P3",)),
        ("Q48", "5", ("P4",), ("P1", "P2", "P3")),
        ("Q48", "8", ("P1", "P3"), ("P2", "P4")),
        ("Q24", "4", ("P1",), ("P2",)),
    ],
)
def test_sets_are_told_apart_by_torque(layout: str, range_name: str, working: tuple[str, ...], idle: tuple[str, ...]) -> None:
    story = tell(find(layout), range_name)
    assert (story.working, story.idle) == (working, idle)
    for name in idle:
        assert f"{capital(set_words(name))} carries no torque: " in words(story, StoryPart.SETS)


def test_an_idle_set_behind_an_idle_set_is_explained_by_it() -> None:
    told = [step.words for step in part(tell(find("Q48"), "5"), StoryPart.SETS)]
    first = next(k for k, line in enumerate(told) if line.startswith("Set 2 carries no torque: nothing acts on its sun"))
    then = next(k for k, line in enumerate(told) if "Set 3 carries no torque: its sun could push only against set 2" in line)
    assert first < then


def test_a_range_by_eye_needs_one_equation_only() -> None:
    chain = part(tell(find("Q36"), "2"), StoryPart.CHAIN)
    assert [step.sets for step in chain] == [(), ("P3",)]
    assert [formula.text for formula in chain[1].formulas] == [
        "S3·n(sun 3) + R3·n(ring 3) = (S3 + R3)·n(carrier 3)",
        "59·1 + 93·0 = 152·n(carrier 3)",
        "n(carrier 3) = 59/152 = 0.3882",
    ]


def test_sets_that_share_members_are_said_to_be_solved_together_with_every_equation_shown() -> None:
    chain = part(tell(find("Q24"), "2"), StoryPart.CHAIN)
    together = chain[1]
    assert "Sets 1 and 2 have to be solved together: two equations for two unknown speeds" in together.words
    assert [formula.text for formula in together.formulas] == [
        "S1·n(sun 1) + R1·n(ring 1) = (S1 + R1)·n(carrier 1)",
        "30·0 + 84·n(ring 1) = 114·n(carrier 1)",
        "S2·n(sun 2) + R2·n(ring 2) = (S2 + R2)·n(carrier 2)",
        "50·1 + 86·n(ring 2) = 136·n(carrier 2)",
    ]
    assert chain[2].words == "Call the speed of the output x. Ring 1 and carrier 2 turn with it."
    assert dict(chain[2].letters) == {"x": "output"}
    assert "Set 2 comes last" in chain[4].words
    assert chain[4].formulas[-1].text == "x = 95/138 = 0.6884"


def test_only_the_sets_that_carry_torque_are_on_the_way_to_the_output() -> None:
    for name in ("Q24", "Q36", "Q48"):
        layout = find(name)
        for item in layout.ranges:
            story = tell(layout, item.name)
            if story.mobility.verdict is Verdict.RANGE:
                used = {set_name for step in part(story, StoryPart.CHAIN) for set_name in step.sets}
                assert used <= set(story.working)


@pytest.mark.parametrize(
    ("layout", "range_name", "sentence"),
    [
        ("Q36", "2", "A reduction: the input makes 2.5763 turns while the output makes one, the same way."),
        ("Q36", "6", "An overdrive: the input makes 0.7309 turns while the output makes one, the same way."),
        ("Q36", "5", "Direct drive: the output turns with the input. No tooth count is in it."),
        (
            "Q48",
            "R",
            "Reverse: the output turns against the input; the input makes 3 turns while the output makes one.",
        ),
    ],
)
def test_the_ratio_is_told_in_words(layout: str, range_name: str, sentence: str) -> None:
    assert sentence in words(tell(find(layout), range_name), StoryPart.RATIO)


def test_the_ratio_names_the_sets_whose_teeth_count() -> None:
    assert "Only the teeth of sets 1 and 4 are in it." in words(tell(find("Q48"), "3"), StoryPart.RATIO)
    assert "The teeth of every set are in it." in words(tell(find("Q36"), "1"), StoryPart.RATIO)


def ladder(count: int) -> Layout:
    """Sets of which each has its ring and carrier in common with the next: all of them have to be solved together."""
    sets = tuple(PlanetarySet(f"P{n}", sun_teeth=30 + n, ring_teeth=80 + 3 * n) for n in range(1, count + 1))
    joins: list[tuple[str, ...]] = [("input", "P1.sun"), ("P1.carrier", "P2.sun"), ("output", f"P{count // 2}.ring")]
    joins += [(f"P{n}.ring", f"P{n + 1}.carrier", f"P{n + 2}.sun") for n in range(1, count - 1)]
    joins += [(f"P{count - 1}.ring", f"P{count}.carrier")]
    hold = Element("A", ElementKind.BRAKE, (f"P{count}.ring", "housing"))
    return Layout("ladder", sets, tuple(joins), (hold,), (), OWN)


def test_a_formula_that_would_fill_the_page_is_left_to_the_command_that_prints_it() -> None:
    long, short = tell(ladder(8), engaged="A"), tell(ladder(3), engaged="A")
    assert long.ratio is not None
    assert "too long to be read here; gearkit ratios --symbols prints it." in words(long, StoryPart.RATIO)
    assert len(part(long, StoryPart.RATIO)[0].formulas) == 1
    assert "too long" not in words(short, StoryPart.RATIO)
    assert len(part(short, StoryPart.RATIO)[0].formulas) == 2
    replay(long)


def test_the_torques_of_input_housing_and_output_are_shown_to_add_to_zero() -> None:
    loads = part(tell(find("Q36"), "1"), StoryPart.LOAD)
    assert [formula.text for formula in loads[1].formulas] == ["T(input) + T(output) + T(housing) = 0", "T(housing) = 3.0683"]


def test_each_torque_follows_from_one_that_was_told_before() -> None:
    told = words(tell(find("Q36"), "1"), StoryPart.LOAD)
    assert "for a torque of 1 on the input the output gives 4.0683" in told
    assert "in the proportion S : R : −(S + R)" in told
    assert "Set 1: all of the input's torque goes into the ring, so the ring takes 1. Then the sun takes 0.295" in told
    assert "the sun is on one shaft with sun 1, and no other torque acts there, so the sun takes −0.295" in told
    assert "the torques on the shaft of ring 2, carrier 3 and the output add to zero, so the carrier takes −3.337" in told
    assert "C has to hold ring 3 against that: it acts forward with 2.042." in told
    assert told.index("Set 3:") < told.index("C has to hold")


def test_where_no_shaft_gives_a_torque_alone_one_is_called_x_until_a_shaft_gives_it() -> None:
    loads = part(tell(find("Q36"), "3"), StoryPart.LOAD)
    assert "Call the torque on ring 1 x" in " ".join(step.words for step in loads)
    assert [f.text for step in loads for f in step.formulas if f.text.startswith("x")] == ["x = 38/77 = 0.4935"]


def test_elements_that_say_more_than_is_needed_are_named() -> None:
    story = tell(find("Q36"), engaged=["A", "D", "E"])
    assert story.mobility.redundant
    assert "A, D and E are more than is needed and do not contradict each other, so the range stands" in words(
        story, StoryPart.LOAD
    )
    assert "balance does not say how A, D and E share it" in words(story, StoryPart.LOAD)


def test_a_range_of_special_tooth_counts_says_that_others_would_not_do() -> None:
    sets = (PlanetarySet("P1", sun_teeth=30, ring_teeth=70), PlanetarySet("P2", sun_teeth=36, ring_teeth=84))
    joins = (("input", "P1.sun", "P2.sun"), ("output", "P1.ring", "P2.ring"))
    elements = tuple(Element(n, ElementKind.BRAKE, (f"{p}.carrier", "housing")) for n, p in (("A", "P1"), ("B", "P2")))
    story = tell(Layout("parallel", sets, joins, elements, (), OWN), engaged="AB")
    assert "This holds at these tooth counts only; at others the verdict would be tie-up." in words(story, StoryPart.RATIO)


def test_neutral_says_why_no_torque_passes_what_is_free_and_what_would_make_it_a_range() -> None:
    story = tell(find("Q36"), "N")
    assert "Set 3 carries no torque: nothing acts on its ring" in words(story, StoryPart.SETS)
    assert "Two motions are left: input and output turn independently of each other." in words(story, StoryPart.FREE)
    assert "One element more makes it a range: A (range R), C (range 1) or E (range 6)." in words(story, StoryPart.FREE)
    # F takes hold by itself then, as range 1 lists it.
    assert "One element more makes it a range: E (range 1)." in words(tell(find("Q24"), engaged=[]), StoryPart.FREE)


def test_neutral_with_the_vehicle_standing_gives_the_speeds_of_the_free_members() -> None:
    given = {m: v for step in part(tell(find("Q36"), "N"), StoryPart.STANDING) for m, v in step.gives.items()}
    assert given["P1.carrier"] == Fraction(88, 114)
    assert given["P3.ring"] == -Fraction(59, 93) * Fraction(88, 114)


def test_a_tie_up_names_the_elements_that_contradict_each_other() -> None:
    story = tell(find("Q36"), engaged=["A", "B", "C"])
    assert story.conflict == ("A", "B", "C")
    told = words(story, StoryPart.CONFLICT)
    assert "A, B and C cannot all do their work at once." in told
    assert "So ring 3 turns backward at 1.295 times the input speed. But C is to hold it to the housing." in told
    assert told.endswith("Neither input nor output can turn: tie-up.")


def test_a_locked_input_is_told_with_the_elements_that_lock_it() -> None:
    locked = tell(find("Q24"), engaged=["A", "B"])
    assert (locked.mobility.verdict, locked.conflict) == (Verdict.INPUT_LOCKED, ("A", "B"))
    assert words(locked, StoryPart.CONFLICT).endswith("The input cannot turn, the output can: input locked.")


def test_a_locked_output_is_told_from_the_output() -> None:
    story = tell(find("Q24"), engaged=["B", "D"])
    told = words(story, StoryPart.CONFLICT)
    assert "let the output make one turn" in told
    assert "the output speed" in told
    assert told.endswith("The output cannot turn, the input can: output locked.")


def test_bystanders_of_a_conflict_are_said_to_change_nothing() -> None:
    layout = find("Q36")
    story = tell(layout, engaged=["A", "B", "D"])
    assert story.mobility.verdict is Verdict.TIE_UP
    assert story.conflict
    for name in set(story.engaged) - set(story.conflict):
        assert f"{name} does not change that." in words(story, StoryPart.CONFLICT)


def test_a_speed_is_told_with_its_way_and_its_size() -> None:
    assert [speed_words(Fraction(n, d)) for n, d in ((0, 1), (1, 1), (-1, 1), (2, 1), (1, 4), (-9, 4))] == [
        "stands still",
        "turns forward at the input speed",
        "turns backward at the input speed",
        "turns forward at twice the input speed",
        "turns forward at 0.25 of the input speed",
        "turns backward at 2.25 times the input speed",
    ]


def test_a_free_wheel_between_turning_shafts_is_seen_from_the_other_one() -> None:
    elements = (Element("F", ElementKind.ONE_WAY_CLUTCH, ("P1.carrier", "input"), FreeDirection.FORWARD),)
    sets = (PlanetarySet("P1", sun_teeth=30, ring_teeth=66),)
    layout = Layout("one", sets, (("input", "P1.sun"), ("output", "P1.carrier")), elements, (), OWN)
    told = words(tell(layout, engaged=["F"]), StoryPart.APPLIED)
    assert "F, a one-way clutch, lets carrier 1 (with the output), seen from the input, turn forward only" in told


@pytest.mark.parametrize("arguments", [{}, {"range_name": "1", "engaged": ["A"]}])
def test_a_story_needs_a_range_or_elements(arguments: dict[str, object]) -> None:
    with pytest.raises(UsageError, match="either the name of a range or the applied elements"):
        tell(find("Q36"), **arguments)


def test_an_unknown_range_is_answered_with_those_there_are() -> None:
    with pytest.raises(UsageError, match=r"no range '9'\. It has: 1, 2, 3"):
        tell(find("Q36"), "9")
