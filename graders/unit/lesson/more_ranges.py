"""Every further range: predicted first, then derived, with more and more of the working left to the learner."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.explain.step import Step
from gearkit.text.phrases import capital, decimal, listed, sets_words
from graders.unit.facts import Facts, RangeFact
from graders.unit.lesson.first_range import applied_words, name_of, set_words, step_text
from graders.unit.words.cells import Cell, blocks, gate, prose, several
from graders.unit.words.saying import counted, escaped
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
        "## Predict, reveal, explain",
        f"{'One range is left: tick' if len(further) == 1 else capital(counted(len(further), 'range')) + ' are left. For each one: tick'} its elements in "
        "the panel, say which way the output turns and how large the ratio is, and only then reveal it. A wrong prediction "
        "that you can explain is worth more than a lucky one.",
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
    yield prose(
        "predict",
        "predict",
        "## Predict, reveal, explain",
        f"Close the working above. Tick {escaped(listed(fact.state.applied)) or 'nothing'} in the panel, enter direction and ratio without looking back, then reveal. "
        "After that try every other combination: does it drive, and how?",
    )
    yield gate("predict-panel", f'lesson.predict("{facts.file}"', " ".join(_wrong_guesses(facts, facts.by_effort)))


def _range(facts: Facts, fact: RangeFact, done: list[RangeFact], place: int, voice: Voice) -> Iterator[Cell]:
    name = escaped(fact.name)
    *first, last = filter(None, _questions(facts, fact, done, voice))
    yield from several(
        f"range-{place + 2}",
        "predict",
        [f"### Range {name}: {escaped(fact.applied)}\n\n{applied_words(facts, fact)}", " ".join(first), last],
    )


def _questions(facts: Facts, fact: RangeFact, done: list[RangeFact], voice: Voice) -> Iterator[str]:
    name = escaped(fact.name)
    locked = [step for step in fact.chain if step.formulas]
    if facts.straight(fact):
        yield f"Follow the applied elements from the input with a finger: can range {name} reach the output without a set?"
    elif not locked:
        yield f"Which two members of one set does range {name} put on the same shaft, and what does that make of the set?"
    elif fact.together:
        sets = next(step.sets for step in fact.chain if len(step.sets) > 1)
        yield (
            f"In range {name} no set has two speeds that you know, so {escaped(sets_words(sets))} are solved together: "
            f"{voice.say('give one shaft the letter x and keep one set for the end, whose equation gives x.', 'choose a letter for one speed, and write the others with it.') or 'how?'}"
        )
    else:
        first = next(step for step in fact.chain if step.formulas)
        yield f"Begin with {escaped(sets_words(first.sets))}: which two of its speeds do you know in range {name}?"
    if fact.story.idle:
        yield (
            f"No set carries torque in range {name}: why?"
            if len(fact.story.idle) == len(facts.layout.sets)
            else f"{'One set carries' if len(fact.story.idle) == 1 else 'Some sets carry'} no torque in range {name}: which, and why?"
        )
    near = min(done, key=lambda other: len(set(other.engaged) ^ set(fact.engaged)))
    off, on = [e for e in near.engaged if e not in fact.engaged], [e for e in fact.engaged if e not in near.engaged]
    if off and on:
        yield (
            f"Against range {escaped(near.name)}, {escaped(listed(on))} {'works' if len(on) == 1 else 'work'} in place of "
            f"{escaped(listed(off))}: does the output turn faster or slower for it?"
        )
    yield voice.say(
        "Say it in words before you calculate.",
        "A sketch of the lever helps.",
        "Direction first, size second.",
        "Write your guess on paper too.",
        "Which member turns fastest?",
    )


def _nearly_done(facts: Facts, fact: RangeFact, place: int) -> Iterator[Cell]:
    """The second example: everything but the end."""
    work = working(facts, fact)
    yield from several(
        "nearly",
        "by-hand",
        [
            f"Once you have revealed it, work range {escaped(fact.name)} out. Nearly everything is here; the end is yours.",
            " ".join(set_words(fact, idle=False)),
            *(step_text(step) for step in _told(fact)),
        ],
    )
    given = list(work.lines) if not work.symbols and len(work.lines) < 2 else list(work.lines)[:-1]
    left = [line for line in work.lines if line not in given]
    yield from _to_fill(facts, fact, work.teeth, given, [*left, work.last], work.name, place)


def _told(fact: RangeFact) -> list[Step]:
    """The steps of the second example without the ones that give the end away."""
    steps = [step for step in fact.chain if not step.gives or not step.formulas]
    return steps if fact.together else list(fact.chain[:1]) + [step for step in fact.chain[1:-1] if step.formulas]


def _begun(facts: Facts, fact: RangeFact, place: int) -> Iterator[Cell]:
    """The third example: only its beginning."""
    work = working(facts, fact)
    yield prose(
        "begun",
        "by-hand",
        f"Range {escaped(fact.name)} is yours from the {'second line on' if len(work.lines) > 1 else 'start'}. "
        "Do it on paper. If you like Python, open the line below and replace each row of dots; the table tells whether the kit agrees.",
    )
    given = list(work.lines)[: 1 if len(work.lines) > 1 else 0]
    left = [line for line in work.lines if line not in given]
    yield from _to_fill(facts, fact, work.teeth, given, [*left, work.last], work.name, place)


def _to_fill(
    facts: Facts, fact: RangeFact, teeth: tuple[str, ...], given: list[Line], left: list[Line], name: str, place: int
) -> Iterator[Cell]:
    opened = [line.open(_wish(line)) for line in left]
    right = f"in_range(train, {name_of(fact)}).ratio"
    check = f'lesson.results(("Your ratio and the kit\'s", "agree" if {name} == {right} else "do not agree yet"))'
    lines = [*teeth, *map(str, given), *opened, check]
    yield from blocks(f"range-{place + 2}-yours", "worked", "a range for you to finish, if you like Python", lines)


def _wish(line: Line) -> str:
    if line.left.startswith("i_"):
        return "turns of the input for one turn of the output"
    if "Symbol" in line.right or "symbols" in line.right:
        return "a letter for a speed that you do not know"
    if line.right.startswith("solve("):
        return "solve the equation of the set that comes last"
    if ".subs" in line.right or line.right.startswith("found["):
        return "put in what you found"
    return "from the equation of its set"


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
        yield (
            f"{decimal(1 / plain.ratio)} for range {escaped(plain.name)} is the ratio upside down: it divides output speed by input speed."
        )
    back = next((named_range for named_range in ranges if named_range.ratio < 0 and -named_range.ratio not in right), None)
    if back:
        yield f"{decimal(-back.ratio)} for range {escaped(back.name)} has the right size and the wrong sense: ask which member turns backward."
    joint = next((named_range for named_range in ranges if named_range.together), None)
    if joint:
        yield from _alone(facts, joint, right)
    direct = facts.direct(ranges)
    if direct:
        overlooked = (
            "that input and output are joined to each other" if facts.straight(direct) else "a set that turns as a block"
        )
        yield f"Anything but 1 for range {escaped(direct.name)} overlooks {overlooked}."
    yield "For each miss, find the line of the working where your thought and the train part."


def _alone(facts: Facts, fact: RangeFact, right: set[Fraction]) -> Iterator[str]:
    """One set taken as if it were alone."""
    for name in fact.story.working:
        sun, ring = facts.layout.set_named(name).weights
        value = 1 + Fraction(ring, sun)
        if value > 1 and value not in right:
            suffix = facts.suffixes[name]
            yield f"{decimal(value)} in range {escaped(fact.name)} is $1 + R_{{{suffix}}}/S_{{{suffix}}}$: it looks at {escaped(name)} as if it were alone."
            return


def _alike(facts: Facts) -> Iterator[Cell]:
    """Named ranges that have a ratio of others."""
    shown = {range_fact.ratio: range_fact for range_fact in reversed(facts.by_effort)}
    twins = [(shown[drive.ratio], drive) for drive in facts.drives if shown[drive.ratio] is not drive]
    if not twins:
        return
    lines = [
        f"Range {escaped(other.name)} ({escaped(other.applied)}) has the ratio of range {escaped(first.name)} ({escaped(first.applied)})."
        for first, other in twins
    ]
    held = [fact for pair in twins for fact in pair if fact.name in facts.coasting]
    if held:
        names = [escaped(drive.name) for drive in facts.drives if drive in held]
        lines.append(
            f"The difference shows when the vehicle pushes: in {'range' if len(names) == 1 else 'ranges'} {listed(names)} a one-way "
            "clutch lets go then, and the engine does not brake."
        )
    else:
        lines.append("Different elements, the same speeds at both ends: look in the drawing for what makes them equal.")
    yield from several("alike", "by-hand", ["### The same ratio by another way", *lines])
