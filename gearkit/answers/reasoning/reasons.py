"""Reasons for what a layout shows: of several statements one is true and explains it; the solver says which are false."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import combinations

from gearkit.answers.draw_numbers.seeded_random import Recorder, Replay, SeededRandom
from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.words import ChoiceChecker
from gearkit.answers.mistakes import mistake
from gearkit.answers.reasoning.layout_rows import Row, Train, rows_of
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.explain.shafts import Merged
from gearkit.solve import mobility
from gearkit.solve.loads.torques import torques
from gearkit.text.phrases import listed, member_words, set_words
from gearkit.train.layout import Layout
from gearkit.words.say import ENGLISH, kept_for_each_language, language_key, later, say, speaking_language
from gearkit.words.terms import MEMBERS, ElementKind, Verdict

MOST_OFFERED = 4


@dataclass(frozen=True)
class Reasons:
    """A result with the reason for it among statements that do not explain it.

    Args:
        shown: what is shown, in words.
        right: the reason.
        wrong: other statements, each with the code of the idea behind it.
    """

    shown: str
    right: str
    wrong: tuple[tuple[str, str], ...]


def built_item(make: Callable[[SeededRandom], Reasons | None], marks: int, seeded: SeededRandom) -> BuiltItem | None:
    """Return the question with at most four statements; None where fewer than three are at hand.

    Which statements are drawn does not hang on the language: they are put in the order of their English words.

    Args:
        make: makes the result and its reason, the same from the same draws.
        marks: full marks.
        seeded: what is shown, which statements, and their order.
    """
    thrown = Recorder(seeded)
    reasons = english = make(thrown)
    if reasons is None or english is None:
        return None
    if language_key():
        with speaking_language(ENGLISH):
            english = make(Replay(thrown.throws)) or reasons
    here = dict(zip((text for _, text in english.wrong), (text for _, text in reasons.wrong), strict=True))
    wrong = [(code, text) for code, text in dict.fromkeys(english.wrong) if text != english.right]
    # Of two statements with the same words the first counts.
    codes = {text: code for code, text in reversed(wrong)}
    drawn = seeded.sample(tuple(sorted(codes)), MOST_OFFERED - 1)
    by_text = {here[text]: codes[text] for text in drawn}
    chosen = tuple(by_text)
    if len(chosen) < 2:
        return None
    choices = Choices(seeded.shuffled((reasons.right, *chosen)), letters=True)
    forms = tuple(WrongForm(by_text[text], {ONE_PART: text}, mistake("NOTFOLLOW").sentence) for text in chosen)
    part = Part(ONE_PART, "", AnswerKind.REASON, "", choices.options, Fraction(marks))
    key = Key({ONE_PART: ChoiceChecker(choices, reasons.right)}, forms)
    return BuiltItem((part,), key, {"shown": reasons.shown, "list": labelled(choices.options)})


def why_a_set_does_what_it_does(train: Train, seeded: SeededRandom) -> Reasons | None:
    """Why a set turns as a block in a range, or carries no torque.

    Args:
        train: any layout.
        seeded: the range and the set.
    """
    about_sets = _about_sets(train)
    return seeded.pick(about_sets) if about_sets else None


@kept_for_each_language(64)
def _about_sets(train: Train) -> tuple[Reasons, ...]:
    return tuple(reasons for row in rows_of(train.like) for reasons in _of_sets(train.like, row))


def _of_sets(layout: Layout, row: Row) -> Iterator[Reasons]:
    merged = Merged(layout, row.engaged)
    loads = torques(layout, row.engaged, 1, 1)
    for lock in merged.locks:
        name = lock.set_name
        by = [element for element in lock.through if element in row.engaged]
        if len(by) == 1 == len(lock.through) and merged.root(lock.pair[0]) != merged.ground:
            yield Reasons(
                say("In {row} {name} turns as one block.", row=row.words, name=_set(name)),
                say("{by} joins two members of {name}: {pair}", by=by[0], name=_set(name), pair=_pair(lock.pair)),
                tuple(_about_the_set(layout, row, merged, name, but="joins")),
            )
    for pset in layout.sets:
        own = [f"{pset.name}.{member}" for member in MEMBERS]
        if pset.name in merged.locked or any(loads.members[member] != 0 for member in own):
            continue
        free = [member for member in own if _alone(merged, member)]
        if len(free) == 1:
            yield Reasons(
                say("In {row} {pset} carries no torque.", row=row.words, pset=_set(pset.name)),
                say(
                    "{free} is free: nothing holds it, nothing drives it, and no other set is on its shaft",
                    free=member_words(free[0]),
                ),
                tuple(_about_the_set(layout, row, merged, pset.name, but="free")),
            )


def _alone(merged: Merged, member: str) -> bool:
    return merged.members(merged.root(member)) == (member,)


def _set(name: str) -> str:
    return set_words(name)


def _pair(pair: Sequence[str]) -> str:
    return listed(map(member_words, pair))


def _about_the_set(layout: Layout, row: Row, merged: Merged, name: str, but: str) -> Iterator[tuple[str, str]]:
    """Statements about a set that are false in this range."""
    own = [f"{name}.{member}" for member in MEMBERS]
    for element in layout.elements:
        if element.kind is ElementKind.ONE_WAY_CLUTCH or element.name not in row.engaged:
            continue
        for member in own:
            if merged.root(member) != merged.ground:
                yield (
                    "HELDMOVES",
                    say("{element} holds {member} to the housing", element=element.name, member=member_words(member)),
                )
        if but != "joins":
            for pair in combinations(own, 2):
                if merged.root(pair[0]) != merged.root(pair[1]):
                    yield (
                        "ROLE",
                        say(
                            "{element} joins two members of {name}: {pair}",
                            element=element.name,
                            name=_set(name),
                            pair=_pair(pair),
                        ),
                    )
    if but != "free":
        for member in own:
            if not _alone(merged, member):
                yield (
                    "LOCKFREE",
                    say(
                        "{member} is free: nothing holds it, nothing drives it, and no other set is on its shaft",
                        member=member_words(member),
                    ),
                )


_VERDICT_REASONS = {
    Verdict.TIE_UP: later("the elements ask for speeds that fit together only where everything stands"),
    Verdict.NEUTRAL: later("the elements leave input and output free of each other"),
    Verdict.RANGE: later("the elements leave one motion, and in it the output has to follow the input"),
    Verdict.INPUT_LOCKED: later("the elements leave a motion of the output, and in every motion that is left the input stands"),
    Verdict.OUTPUT_LOCKED: later(
        "the elements leave a motion of the input, and in every motion that is left the output stands"
    ),
}
_VERDICT_CODES = {
    Verdict.TIE_UP: "COUNT",
    Verdict.NEUTRAL: "LOCKFREE",
    Verdict.RANGE: "NOTFOLLOW",
    Verdict.INPUT_LOCKED: "NOTFOLLOW",
    Verdict.OUTPUT_LOCKED: "NOTFOLLOW",
}
_SEEN = {
    Verdict.TIE_UP: later("neither input nor output can turn"),
    Verdict.NEUTRAL: later("the engine runs, and nothing drives the vehicle"),
    Verdict.RANGE: later("the vehicle drives"),
    Verdict.INPUT_LOCKED: later("the engine cannot turn, and the vehicle can be pushed"),
    Verdict.OUTPUT_LOCKED: later("the engine can turn, and the vehicle cannot be pushed"),
}


def why_a_combination_does_what_it_does(train: Train, seeded: SeededRandom) -> Reasons | None:
    """Why a combination of elements drives, ties up or does neither.

    Args:
        train: any layout with elements that are not one-way clutches.
        seeded: the combination.
    """
    by_verdict = {verdict: ways for verdict, ways in _combinations(train).items() if verdict in _VERDICT_REASONS}
    if len(by_verdict) < 2:
        return None
    verdict = seeded.pick(sorted(by_verdict))
    combination = seeded.pick(by_verdict[verdict])
    wrong = tuple((_VERDICT_CODES[verdict], text) for other, text in _VERDICT_REASONS.items() if other is not verdict)
    return Reasons(
        say("With {applied} applied {seen}.", applied=listed(combination), seen=say(_SEEN[verdict])),
        _VERDICT_REASONS[verdict],
        wrong,
    )


@lru_cache(maxsize=64)
def _combinations(train: Train) -> dict[Verdict, list[tuple[str, ...]]]:
    layout = train.like
    names = [element.name for element in layout.elements if element.kind is not ElementKind.ONE_WAY_CLUTCH]
    by_verdict: dict[Verdict, list[tuple[str, ...]]] = {}
    for size in (1, 2, 3):
        for combination in combinations(names, size):
            state = mobility.assess(layout, combination)
            if state.verdict is state.generic_verdict:
                by_verdict.setdefault(state.verdict, []).append(combination)
    return by_verdict


def why_a_stuck_element_shows(train: Train, seeded: SeededRandom) -> Reasons | None:
    """Why a range goes wrong, or does not, while an element is stuck on or does not apply.

    Args:
        train: any layout; its one-way clutches are left out.
        seeded: the element, the fault and the range.
    """
    about_faults = _about_faults(train)
    return seeded.pick(about_faults) if about_faults else None


@kept_for_each_language(64)
def _about_faults(train: Train) -> tuple[Reasons, ...]:
    return tuple(
        reasons
        for row in rows_of(train.like)
        for element in train.like.elements
        if element.kind is not ElementKind.ONE_WAY_CLUTCH
        for reasons in _of_faults(train.like, row, element.name)
    )


def _of_faults(layout: Layout, row: Row, name: str) -> Iterator[Reasons]:
    on, off = {*row.engaged, name}, set(row.engaged) - {name}
    belongs = say("{name} belongs to range {row}, so that it is applied there in any case", name=name, row=row.name)
    missing = say("range {row} needs {name}, and without it the output need not follow the input", row=row.name, name=name)
    needless = say("range {row} does not apply {name}, so that it is not missed there", row=row.name, name=name)
    disagrees = say(
        "{name} is no element of range {row} and asks for speeds that do not go with those of {engaged}",
        name=name,
        row=row.name,
        engaged=listed(row.engaged),
    )
    repeats = say(
        "{name} is no element of range {row}, but asks for nothing that {engaged} do not ask for already",
        name=name,
        row=row.name,
        engaged=listed(row.engaged),
    )
    every = {"belongs": belongs, "missing": missing, "needless": needless, "disagrees": disagrees, "repeats": repeats}

    def reasons(shown: str, right: str, *leave: str) -> Reasons:
        wrong = tuple(("NOTFOLLOW", text) for word, text in every.items() if word not in (right, *leave))
        return Reasons(shown, every[right], wrong)

    state = mobility.assess(layout, on)
    if name in row.engaged:
        yield reasons(
            say(
                "{name} is stuck on. Range {row} ({engaged} applied) still drives as before.",
                name=name,
                row=row.name,
                engaged=listed(row.engaged),
            ),
            "belongs",
            "missing",
        )
        if mobility.assess(layout, off).verdict is Verdict.NEUTRAL:
            yield reasons(
                say(
                    "{name} does not apply any more. In range {row} ({engaged} applied) the engine runs up and nothing drives.",
                    name=name,
                    row=row.name,
                    engaged=listed(row.engaged),
                ),
                "missing",
                "belongs",
            )
    else:
        yield reasons(
            say(
                "{name} does not apply any more. Range {row} ({engaged} applied) still drives as before.",
                name=name,
                row=row.name,
                engaged=listed(row.engaged),
            ),
            "needless",
            "repeats",
        )
        if state.verdict is Verdict.TIE_UP:
            yield reasons(
                say(
                    "{name} is stuck on. Range {row} ({engaged} applied) binds, and nothing turns.",
                    name=name,
                    row=row.name,
                    engaged=listed(row.engaged),
                ),
                "disagrees",
            )
        elif state.verdict is Verdict.RANGE and state.ratio == row.ratio:
            yield reasons(
                say(
                    "{name} is stuck on. Range {row} ({engaged} applied) still drives as before.",
                    name=name,
                    row=row.name,
                    engaged=listed(row.engaged),
                ),
                "repeats",
                "needless",
            )
