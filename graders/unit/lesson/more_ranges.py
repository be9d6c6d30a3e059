"""Every further range: predicted first, then derived, with more and more of the working left to the learner."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.explain.step import Step
from gearkit.text.phrases import capital, decimal, listed, sets_words
from gearkit.words.say import say, say_n
from graders.unit.facts import Facts, RangeFact
from graders.unit.lesson.first_range import applied_words, set_words, step_text
from graders.unit.words.cells import Cell, blocks, gate, prose, quoted, several
from graders.unit.words.saying import escaped, number, ranges_words
from graders.unit.words.voice import Voice
from graders.unit.working import Line, working


def cells(facts: Facts, voice: Voice) -> Iterator[Cell]:
    """Yield predictions for all further ranges, faded working for the first of them, and what wrong guesses assume.

    Args:
        facts: the layout.
        voice: what was said before.
    """
    further = facts.by_effort[1:]
    if not further:
        yield from _only_one(facts)
        return
    yield prose(
        "predict",
        "predict",
        say("## Predict, reveal, explain"),
        say_n(
            "One range is left: tick its elements in the panel, say which way the output turns and how large the ratio is, and only "
            "then reveal it. A wrong prediction that you can explain is worth more than a lucky one.",
            "{number} ranges are left. For each one: tick its elements in the panel, say which way the output turns and how large the "
            "ratio is, and only then reveal it. A wrong prediction that you can explain is worth more than a lucky one.",
            len(further),
            number=capital(number(len(further))),
        ),
    )
    yield gate("predict-panel", f'lesson.predict("{facts.file}"', " ".join(_wrong_guesses(facts, further)))
    done, faded = [facts.simplest], [fact for fact in further if fact.ratio != 1][:2]
    for place, fact in enumerate(further):
        yield from _range(facts, fact, done, place, voice)
        if fact in faded:
            yield from (_begun if fact is not faded[0] else _nearly_done)(facts, fact, place)
        done.append(fact)
    yield from _alike(facts)


def _only_one(facts: Facts) -> Iterator[Cell]:
    fact = facts.simplest
    elements = escaped(listed(fact.state.applied)) or say("nothing")
    told = say(
        "Close the working above. Tick {elements} in the panel, enter direction and ratio without looking back, then reveal. After that "
        "try every other combination: does it drive, and how?",
        elements=elements,
    )
    yield prose("predict", "predict", say("## Predict, reveal, explain"), told)
    yield gate("predict-panel", f'lesson.predict("{facts.file}"', " ".join(_wrong_guesses(facts, facts.by_effort)))


def _range(facts: Facts, fact: RangeFact, done: list[RangeFact], place: int, voice: Voice) -> Iterator[Cell]:
    heading = say("### Range {range}: {elements}", range=escaped(fact.name), elements=escaped(fact.applied))
    *first, last = filter(None, _questions(facts, fact, done, voice))
    yield from several(
        f"range-{place + 2}",
        "predict",
        [f"{heading}\n\n{applied_words(facts, fact)}", " ".join(first), last],
    )


def _questions(facts: Facts, fact: RangeFact, done: list[RangeFact], voice: Voice) -> Iterator[str]:
    name = escaped(fact.name)
    locked = [step for step in fact.chain if step.formulas]
    if facts.straight(fact):
        yield say(
            "Follow the applied elements from the input with a finger: can range {range} reach the output without a set?",
            range=name,
        )
    elif not locked:
        yield say(
            "Which two members of one set does range {range} put on the same shaft, and what does that make of the set?",
            range=name,
        )
    elif fact.together:
        sets = next(step.sets for step in fact.chain if len(step.sets) > 1)
        how = voice.choose(
            say("give one shaft the letter x and keep one set for the end, whose equation gives x."),
            say("choose a letter for one speed, and write the others with it."),
        ) or say("how?")
        if fact.together_at_once:
            yield say(
                "In range {range} no set has two speeds that you know, so {sets} are solved together: {how}",
                range=name,
                sets=escaped(sets_words(sets)),
                how=how,
            )
        else:
            yield _begin(fact)
            yield say("Where that leads no further, {sets} are solved together: {how}", sets=escaped(sets_words(sets)), how=how)
    else:
        yield _begin(fact)
    if fact.story.idle:
        yield (
            say("No set carries torque in range {range}: why?", range=name)
            if len(fact.story.idle) == len(facts.layout.sets)
            else say_n(
                "One set carries no torque in range {range}: which, and why?",
                "Some sets carry no torque in range {range}: which, and why?",
                len(fact.story.idle),
                range=name,
            )
        )
    near = min(done, key=lambda other: len(set(other.engaged) ^ set(fact.engaged)))
    off, on = [e for e in near.engaged if e not in fact.engaged], [e for e in fact.engaged if e not in near.engaged]
    if off and on:
        yield say_n(
            "In range {range}, {off} works in place of {on}: does the output turn faster there, slower or in the other direction?",
            "In range {range}, {off} work in place of {on}: does the output turn faster there, slower or in the other direction?",
            len(off),
            range=escaped(near.name),
            on=escaped(listed(on)),
            off=escaped(listed(off)),
        )
    yield voice.choose(
        say("Say it in words before you calculate."),
        say("A sketch of the lever helps."),
        say("Direction first, size second."),
        say("Write your guess on paper too."),
        say("Which member turns fastest?"),
    )


def _begin(fact: RangeFact) -> str:
    return say(
        "Begin with {sets}: which two of its speeds do you know in range {range}?",
        sets=escaped(sets_words(next(step for step in fact.chain if step.formulas).sets)),
        range=escaped(fact.name),
    )


def _nearly_done(facts: Facts, fact: RangeFact, place: int) -> Iterator[Cell]:
    """The second example: everything but the end."""
    work, name = working(facts, fact), escaped(fact.name)
    yield from several(
        "nearly",
        "by-hand",
        [
            say("Once you have revealed it, work range {range} out. Nearly everything is here; the end is yours.", range=name),
            " ".join(set_words(fact, idle=False)),
            *(step_text(step) for step in _told(fact)),
        ],
    )
    given = list(work.lines) if not work.symbols and len(work.lines) < 2 else list(work.lines)[:-1]
    left = [line for line in work.lines if line not in given]
    yield from _to_fill(fact, work.teeth, given, [*left, work.last], work.name, place)


def _told(fact: RangeFact) -> list[Step]:
    """The steps of the second example without the ones that give the end away."""
    steps = [step for step in fact.chain if not step.gives or not step.formulas]
    return steps if fact.together else list(fact.chain[:1]) + [step for step in fact.chain[1:-1] if step.formulas]


def _begun(facts: Facts, fact: RangeFact, place: int) -> Iterator[Cell]:
    """The third example: only its beginning."""
    work = working(facts, fact)
    yours = (
        say("Range {range} is yours from the second line on.", range=escaped(fact.name))
        if len(work.lines) > 1
        else say("Range {range} is yours from the start.", range=escaped(fact.name))
    )
    how = say(
        "Do it on paper. If you like Python, open the line below and replace each row of dots; the table tells whether the kit agrees."
    )
    yield prose("begun", "by-hand", f"{yours} {how}")
    given = list(work.lines)[: 1 if len(work.lines) > 1 else 0]
    left = [line for line in work.lines if line not in given]
    yield from _to_fill(fact, work.teeth, given, [*left, work.last], work.name, place)


def _to_fill(
    fact: RangeFact, teeth: tuple[str, ...], given: list[Line], left: list[Line], name: str, place: int
) -> Iterator[Cell]:
    opened = [line.open(_wish(line)) for line in left]
    right = f"in_range(train, {quoted(fact.name)}).ratio"
    label, agree, differ = map(quoted, (say("Your ratio and the kit's"), say("agree"), say("do not agree yet")))
    check = f"lesson.results(({label}, {agree} if {name} == {right} else {differ}))"
    lines = [*teeth, *map(str, given), *opened, check]
    yield from blocks(f"range-{place + 2}-yours", "worked", say("a range for you to finish, if you like Python"), lines)


def _wish(line: Line) -> str:
    if line.left.startswith("i_"):
        return say("turns of the input for one turn of the output")
    if "Symbol" in line.right or "symbols" in line.right:
        return say("a letter for a speed that you do not know")
    if line.right.startswith("solve("):
        return say("solve the equation of the set that comes last")
    if ".subs" in line.right or line.right.startswith("found["):
        return say("put in what you found")
    return say("from the equation of its set")


def _wrong_guesses(facts: Facts, ranges: tuple[RangeFact, ...]) -> Iterator[str]:
    """Yield what some wrong values assume; never the right ones."""
    right = {drive.ratio for drive in facts.drives}
    plain = next(
        (
            named_range
            for named_range in ranges
            if named_range.ratio > 0 and named_range.ratio != 1 and 1 / named_range.ratio not in right
        ),
        None,
    )
    if plain:
        yield say(
            "{value} for range {range} is the ratio upside down: it divides output speed by input speed.",
            value=decimal(1 / plain.ratio),
            range=escaped(plain.name),
        )
    back = next((named_range for named_range in ranges if named_range.ratio < 0 and -named_range.ratio not in right), None)
    if back:
        yield say(
            "{value} for range {range} has the right size and the wrong direction: ask which member turns backward.",
            value=decimal(-back.ratio),
            range=escaped(back.name),
        )
    joint = next((named_range for named_range in ranges if named_range.together), None)
    if joint:
        yield from _alone(facts, joint, right)
    direct = facts.direct(ranges)
    if direct:
        yield (
            say(
                "Anything but 1 for range {range} overlooks that input and output are joined to each other.",
                range=escaped(direct.name),
            )
            if facts.straight(direct)
            else say("Anything but 1 for range {range} overlooks a set that turns as a block.", range=escaped(direct.name))
        )
    yield say("Where you were wrong, find the first line of the working that you had thought of in another way.")


def _alone(facts: Facts, fact: RangeFact, right: set[Fraction]) -> Iterator[str]:
    """One set taken as if it were alone."""
    for name in fact.story.working:
        sun, ring = facts.layout.set_named(name).weights
        value = 1 + Fraction(ring, sun)
        if value > 1 and value not in right:
            suffix = facts.suffixes[name]
            yield say(
                "{value} in range {range} is {formula}: it looks at {set} as if it were alone.",
                value=decimal(value),
                range=escaped(fact.name),
                formula=f"$1 + R_{{{suffix}}}/S_{{{suffix}}}$",
                set=escaped(name),
            )
            return


def _alike(facts: Facts) -> Iterator[Cell]:
    """Named ranges that have a ratio of others."""
    shown = {range_fact.ratio: range_fact for range_fact in reversed(facts.by_effort)}
    twins = [(shown[drive.ratio], drive) for drive in facts.drives if shown[drive.ratio] is not drive]
    if not twins:
        return
    lines = [
        say(
            "Range {other} ({its_elements}) has the ratio of range {first} ({elements}).",
            other=escaped(other.name),
            its_elements=escaped(other.applied),
            first=escaped(first.name),
            elements=escaped(first.applied),
        )
        for first, other in twins
    ]
    held = [
        fact
        for pair in twins
        if len({twin.name in facts.coasting for twin in pair}) > 1
        for fact in pair
        if fact.name in facts.coasting
    ]
    if held:
        names = [escaped(drive.name) for drive in facts.drives if drive in held]
        lines.append(
            say(
                "The difference shows when the vehicle pushes: in {ranges} a one-way clutch lets go then, and the engine does not brake.",
                ranges=ranges_words(names),
            )
        )
    elif all(first.state.engaged == other.state.engaged for first, other in twins):
        lines.append(
            say(
                "The chart lists different elements, and yet the same ones hold: which one-way clutch has nothing to do, and which takes hold by itself?"
            )
        )
    else:
        lines.append(say("Different elements, the same speeds at both ends: look in the drawing for what makes them equal."))
    yield from several("alike", "by-hand", [say("### The same ratio by another way"), *lines])
