"""Which idea is behind a whole sheet: silent for those who hold none, named for those who do, on invented learners.

The learners (tests/support/learners.py) share nothing with the kit's tables where an idea can be thought through; the
other ideas take their wrong answers from the bank.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import pytest

from gearkit.answers.beliefs.diagnosis import Diagnosis, diagnose
from gearkit.answers.beliefs.evidence import Evidence, evidence
from gearkit.answers.beliefs.known import all_beliefs, belief
from gearkit.answers.beliefs.telling import follow_ups, most_telling, proof, separates, separating, touched
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.items import find
from gearkit.answers.judge import marking
from tests.support.amounts import amount
from tests.support.learners import (
    WINDOWS,
    Kind,
    careless,
    exercises,
    hands_in,
    sheet,
    thought,
    variant_of,
    variants,
)

KEYS = [one.key for one in all_beliefs()]
CARELESS = (0.0, 0.1, 0.2)
LENGTHS = (8, 12, 20)


@dataclass
class Seen:
    """One invented learner's sheet."""

    sheet: list[Variant]
    ideas: list[str]
    touched: dict[str, int]
    found: Diagnosis
    evidence: list[Evidence]

    def named(self, idea: str) -> bool:
        return any(belief(idea) in one.beliefs for one in self.found.ideas)

    @property
    def names_another(self) -> bool:
        return any(not {one.key for one in idea.beliefs} & set(self.ideas) for idea in self.found.ideas)


def read(sheet: Sequence[Variant], answers: Sequence[dict[str, str]]) -> list[Evidence]:
    return [found for variant, given in zip(sheet, answers, strict=True) if (found := evidence(variant, given)) is not None]


def learner(seeded: random.Random, kind: Kind, held: int, length: int, least: int = 0) -> Seen:
    """Somebody on a random sheet; each idea comes in on at least so many of its exercises."""
    while True:
        window = seeded.choice(WINDOWS)
        if len(exercises(*window)) < length:
            continue
        given = variants(sheet(seeded, length, window), seeded)
        ideas = seeded.sample(KEYS, held)
        if all(sum(thought(idea, variant, 0.0) is not None for variant in given) >= least for idea in ideas):
            break
    answers, counts = hands_in(given, ideas, kind, seeded)
    seen = read(given, answers)
    return Seen(given, ideas, counts, diagnose(seen), seen)


def share(people: Sequence[Seen], holds: Callable[[Seen], bool]) -> float:
    return sum(map(holds, people)) / len(people)


def test_who_holds_no_misconception_is_hardly_ever_told_of_one() -> None:
    seeded = random.Random(31)
    many = amount(1400, 15)
    people = [learner(seeded, Kind(rate), 0, length) for _ in range(many) for rate in CARELESS for length in LENGTHS]
    alarms = share(people, lambda one: bool(one.found.ideas))
    print(f"\nno misconception, 0 to 20 % careless: {len(people)} learners, false alarms {alarms:.2%}")
    assert alarms < amount(1, 3) * 0.005


def test_who_knows_little_and_slips_at_random_is_hardly_ever_told_of_one() -> None:
    seeded = random.Random(32)
    for named in (1.0, 0.5):
        people = [learner(seeded, Kind(0.4, named=named), 0, length) for _ in range(amount(700, 15)) for length in LENGTHS]
        alarms = share(people, lambda one: bool(one.found.ideas))
        print(
            f"\n40 % of answers wrong, {named:.0%} of them named mistakes at random: {len(people)} learners, "
            f"false alarms {alarms:.2%}"
        )
        assert alarms < amount(20, 70) / 1000


def test_a_misconception_that_five_exercises_touch_is_named() -> None:
    seeded = random.Random(33)
    people = [
        learner(seeded, Kind(rate), 1, length, least=5)
        for _ in range(amount(200, 10))
        for rate in CARELESS
        for length in (12, 20)
    ]
    for what, group in (("all", people), ("derived", [one for one in people if belief(one.ideas[0]).derived])):
        named = share(group, lambda one: one.named(one.ideas[0]))
        alone = share(group, lambda one: any(idea.beliefs == (belief(one.ideas[0]),) for idea in one.found.ideas))
        print(f"\ntouched by five or more, {what}: {len(group)} learners, named {named:.1%} (as the only name {alone:.1%})")
        assert named >= amount(90, 80) / 100
    assert share(people, lambda one: one.names_another) < 0.02


def test_telling_sheets_of_twelve_with_two_follow_ups_name_most() -> None:
    seeded = random.Random(34)
    before = after = alarms = people = 0
    for window in WINDOWS:
        pool = exercises(*window)
        chosen = [item.id for item in most_telling(pool, 12)]
        for number in range(amount(150, 6)):
            given = variants(chosen, seeded)
            reach = [key for key in KEYS if sum(thought(key, variant, 0.0) is not None for variant in given) >= 2]
            for ideas in ([seeded.choice(reach)], []):
                kind = Kind(CARELESS[number % 3])
                seen = read(given, hands_in(given, ideas, kind, seeded)[0])
                found = diagnose(seen)
                first = any(belief(idea) in one.beliefs for idea in ideas for one in found.ideas)
                if found.suspected:
                    more = variants([item.id for item in follow_ups(found.suspected, chosen, pool)], seeded)
                    assert len(more) <= 2
                    found = diagnose([*seen, *read(more, hands_in(more, ideas, kind, seeded)[0])])
                if ideas:
                    people, before = people + 1, before + first
                    after += any(belief(ideas[0]) in one.beliefs for one in found.ideas)
                else:
                    alarms += bool(found.ideas)
    print(
        f"\ntelling sheets of 12: {people} learners, named {before / people:.1%}, with two follow-ups {after / people:.1%}; "
        f"false alarms {alarms / people:.2%}"
    )
    assert after / people >= amount(85, 75) / 100
    assert alarms / people < 0.02


def answers_of(idea: str, items: Sequence[str], wrong: Sequence[str]) -> list[Evidence]:
    """Somebody who answers as an idea has it in some exercises and right in the others."""
    seen = []
    for item in items:
        variant = variant_of(item, "5")
        given = dict(marking.right_answer(variant))
        if item in wrong:
            contents = thought(idea, variant, 0.0)
            assert contents
            given |= {part: variant.key.checkers[part].wrong_text(content) for part, content in contents.items()}
        found = evidence(variant, given)
        assert found
        seen.append(found)
    return seen


ONE_SET = ["L02-02", "L02-03", "L02-04", "L03-01", "L03-02", "L03-03", "L03-07", "L03-08", "L01-02", "L01-04"]


def test_three_answers_with_the_own_turn_left_out_are_named_with_their_exercises() -> None:
    found = diagnose(answers_of("own turn left out", ONE_SET, ["L02-03", "L03-01", "L03-03"]))
    assert [[one.key for one in idea.beliefs] for idea in found.ideas] == [["own turn left out"]]
    assert found.ideas[0].items == ("L02-03", "L03-01", "L03-03")
    assert found.suspected == ()


def test_one_wrong_answer_is_nothing() -> None:
    assert diagnose(answers_of("own turn left out", ONE_SET, ["L03-03"])).ideas == ()


def test_all_right_is_nothing_and_nothing_at_all_is_nothing() -> None:
    assert diagnose(answers_of("own turn left out", ONE_SET, [])) == Diagnosis()
    assert diagnose([]) == Diagnosis()


def test_two_misconceptions_can_be_named_together() -> None:
    seen = answers_of("carrier as R - S", ["L02-02", "L03-02", "L03-03", "L03-08"], ["L02-02", "L03-02", "L03-03", "L03-08"])
    seen += answers_of("torque like speed", ["L08-02", "L09-05", "L10-07"], ["L08-02", "L09-05", "L10-07"])
    named = [idea.beliefs[0].key for idea in diagnose(seen).ideas]
    assert sorted(named) == ["carrier as R - S", "torque like speed"]


@pytest.mark.parametrize("text", ["", "   ", "?", "x" * 5000, "1/0", "((((", "\u200b", "nan", "9**9**9", "\n;\n;"])
def test_what_cannot_be_read_is_no_evidence(text: str) -> None:
    for item in exercises(1, 13):
        variant = variant_of(item.id, "0")
        found = evidence(variant, {part.name: text for part in variant.parts})
        assert found is None or not found.shows, (item.id, text)
        assert evidence(variant, {}) is None


def test_any_answer_can_be_weighed() -> None:
    seeded = random.Random(35)
    for item in exercises(1, 13):
        for number in range(amount(40, 3)):
            variant = variant_of(item.id, str(number))
            found = evidence(variant, careless(variant, seeded))
            if found:
                assert all(0 < likely <= 1 for likely in found.meant_right)
                assert all(0 <= likely <= 1 for rates in found.under.values() for likely in rates)
                assert diagnose([found]).ideas == ()


def test_the_exercise_that_separates_two_ideas_is_answered_differently_by_each() -> None:
    pool = exercises(1, 13)
    for first, second in (
        ("own turn left out", "R - S for the ring"),
        ("minus never written", "direction of a mesh"),
        ("carrier as R - S", "carrier as S + P"),
        ("ratio upside down", "every ratio above 1"),
    ):
        item = separating([belief(first), belief(second)], [], pool)
        assert item, (first, second)
        assert separates(item, belief(first), belief(second))
        for number in range(6):
            one, other = (thought(idea, variant_of(item.id, str(number)), 0.0) for idea in (first, second))
            assert one != other, item.id


def test_follow_ups_touch_the_suspect_and_are_new() -> None:
    done = [item.id for item in exercises(2, 3)][:6]
    for key in ("own turn left out", "carrier as one planet", "ratio upside down"):
        more = follow_ups([belief(key), belief("plain average")], done, exercises(1, 5))
        assert len(more) == 2
        assert all(belief(key) in touched(item) and item.id not in done for item in more)
    assert follow_ups([], done, exercises(1, 5)) == ()


def test_follow_ups_are_those_of_a_ranking_that_draws_every_exercise_first() -> None:
    seeded = random.Random(16)
    for _ in range(amount(40, 4)):
        pool, suspected = exercises(1, amount(13, 3)), seeded.sample(all_beliefs(), seeded.randint(1, 4))
        done = [item.id for item in seeded.sample(pool, 8)]
        first, others = suspected[0], suspected[1:]
        plain = sorted(
            (item for item in pool if first in touched(item)),
            key=lambda item: (
                item.id in done,
                sum(not separates(item, first, other) for other in others),
                -round(proof(item, first), 1),
                abs(item.lesson - first.lesson),
                item.id,
            ),
        )
        assert follow_ups(suspected, done, pool, 3) == tuple(plain[:3]), [idea.key for idea in suspected]
        if others:
            parting = [item for item in pool if {first, others[0]} & touched(item) and separates(item, first, others[0])]
            both = [item for item in parting if {first, others[0]} <= touched(item)]
            expected = min(both or parting, key=lambda item: (item.id in done, len(item.fields), item.id), default=None)
            assert separating(suspected, done, pool) == expected


def test_a_telling_sheet_brings_more_ideas_to_three_exercises_than_the_first_ones_do() -> None:
    pool = exercises(1, 4)
    chosen = most_telling(pool, 12)
    assert len(chosen) == 12
    assert list(chosen) == [item for item in pool if item in chosen]

    def thrice(items: Sequence[object]) -> int:
        return sum(sum(one in touched(item) for item in items) >= 3 for one in all_beliefs())

    assert thrice(chosen) >= thrice(pool[:12]) + 3
    assert len(most_telling(pool[:5], 12)) == 5
    assert all(other.id not in item.excludes for item in chosen for other in chosen)


def test_evidence_does_not_change_with_the_order_of_a_sheet() -> None:
    seen = answers_of("own turn left out", ONE_SET, ["L02-03", "L03-01", "L03-03"])
    turned = diagnose(seen[::-1])
    assert [idea.beliefs for idea in turned.ideas] == [idea.beliefs for idea in diagnose(seen).ideas]
    assert find("L03-01").id in turned.ideas[0].items
