"""What sets do in a range, what combinations of applied elements do, how many motions are left."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache

from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.layouts import hints, words
from gearkit.answers.layouts.family import Ask, Case, Family, choice, grid, part_name, several
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import ratios
from gearkit.solve.mobility import Mobility, assess
from gearkit.text.phrases import count_words, listed
from gearkit.train.layout import Layout
from gearkit.words.say import later, say
from gearkit.words.terms import Verdict

SUBJECT = later("power path")
_WORKS, _BLOCK, _STANDS, _RUNS = (
    later("changes the speed"),
    later("turns as a block"),
    later("stands still"),
    later("only runs along"),
)
_SETS = (_WORKS, _BLOCK, _STANDS, _RUNS)
STATES = tuple(str(verdict) for verdict in Verdict)
_ALIASES = {"locked": Verdict.TIE_UP, "a range": Verdict.RANGE}
_ASKED, _MOST_APPLIED = 6, 3


def _sets(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        done = {name: _does(train, row, name) for name in (pset.name for pset in train.layout.sets)}
        if len(done) < 2 or None in done.values() or set(done.values()) == {_WORKS}:
            continue
        yield Case(
            (row.name,),
            say("what each set does in range {row}", row=row.name),
            say(
                "Say of each set what it does in {range}: it changes the speed, it turns as a block, it stands still, or it only runs along without passing any torque on.",
                range=words.range_words(train.layout, row),
            ),
            len(done),
            min(2, len(done)),
            (
                hints.holds(train, row),
                say("Two members of a set on one shaft make it a block, which stands if it is held."),
                say("A set with a member on which nothing acts passes no torque on."),
            ),
            asks=frozenset({f"sets {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _does(train: Train, row: Drive, name: str) -> str | None:
    speeds = {train.speed(row, f"{name}.{part}") for part in ("sun", "carrier", "ring")}
    if name in train.merged(row.engaged).locked:
        return _STANDS if speeds == {Fraction(0)} else _BLOCK
    carries = train.carries(row)[name]
    return None if carries is None else _WORKS if carries else _RUNS


def _set_grid(ask: Ask) -> BuiltItem | None:
    row = ask.train.row(ask.about[0])
    rows, forms = [], []
    for place, pset in enumerate(ask.train.layout.sets, start=1):
        part, done = (
            part_name("set", words.set_number(ask.train.layout, pset.name), place),
            _does(ask.train, row, pset.name),
        )
        if done is None:
            return None
        told = words.set_words(ask.train.layout, pset.name)
        rows.append((part, told, done))
        if done == _RUNS:
            forms.append(
                WrongForm(
                    "LOCKFREE",
                    {part: _WORKS},
                    say("Nothing acts on one member of {told}: can its other members then carry torque?", told=told),
                )
            )
        elif done in (_BLOCK, _STANDS):
            forms.append(
                WrongForm(
                    "LOCKFREE", {part: _WORKS}, say("Look whether two members of {told} are on one shaft here.", told=told)
                )
            )
        else:
            forms.append(WrongForm("LOCKFREE", {part: _BLOCK}, say("No two members of {told} turn together here.", told=told)))
    return grid(
        ask,
        rows,
        _SETS,
        forms,
        aliases={"works": _WORKS, "block": _BLOCK, "idle": _RUNS, "idles": _RUNS, "stands": _STANDS, "runs along": _RUNS},
    )


@lru_cache(maxsize=64)
def judged(layout: Layout) -> tuple[tuple[tuple[str, ...], Mobility], ...]:
    """Return every combination of one to three elements that is no range of the chart, with what it does.

    Args:
        layout: the layout.
    """
    named = {frozenset(named_range.engaged) for named_range in layout.ranges}
    sizes = range(1, min(_MOST_APPLIED, len(layout.elements)) + 1)
    return tuple(
        (combination, state)
        for combination, state in ratios.combinations(layout, sizes)
        if frozenset(combination) not in named and state.verdict is state.generic_verdict
    )


def _states(train: Train) -> Iterator[Case]:
    states = [state for _, state in judged(train.layout)]
    if train.one_ways or len(states) < 3 or len({state.verdict for state in states}) < 2:
        return
    rows = min(_ASKED, len(states))
    yield Case(
        (),
        say("states of combinations"),
        say(
            "Say of each combination of applied elements what it does: neutral, a range, input locked, output locked, or tie-up."
        ),
        (rows + 1) // 2,
        2,
        (
            say("Count the free motions first: each element that says something new takes one away."),
            say("Then ask of each combination: can the input turn, and does the output have to follow it?"),
            say("Elements that say the same twice take away one motion, not two."),
        ),
        asks=frozenset({"states"}),
    )


def _state_grid(ask: Ask) -> BuiltItem | None:
    by_verdict: dict[Verdict, list[tuple[tuple[str, ...], Mobility]]] = {}
    for combination, state in judged(ask.train.layout):
        by_verdict.setdefault(state.verdict, []).append((combination, state))
    chosen = [ask.seeded.pick(pairs) for pairs in by_verdict.values()]
    spare = [pair for pairs in by_verdict.values() for pair in pairs if pair not in chosen]
    count = min(_ASKED, len(judged(ask.own.layout)))
    picked = ask.seeded.shuffled([*chosen, *ask.seeded.shuffled(spare)][:count])
    if len(picked) < count:
        return None
    rows = [
        (f"row_{number}", say("{applied} applied", applied=listed(combination)), str(state.verdict))
        for number, (combination, state) in enumerate(picked, start=1)
    ]
    forms = []
    for (name, _, right), (_, state) in zip(rows, picked, strict=True):
        if state.verdict is Verdict.RANGE and state.redundant:
            forms.append(
                WrongForm(
                    "COUNT",
                    {name: str(Verdict.TIE_UP)},
                    say("Count only what says something new: do all of these elements say different things?"),
                )
            )
        elif state.verdict is Verdict.NEUTRAL:
            forms.append(
                WrongForm("LOCKFREE", {name: str(Verdict.RANGE)}, say("Does the output really have to follow the input here?"))
            )
        elif right != str(Verdict.TIE_UP):
            forms.append(
                WrongForm(
                    "LOCKFREE", {name: str(Verdict.TIE_UP)}, say("Something can still turn: try the input, then the output.")
                )
            )
    return grid(ask, rows, STATES, forms, aliases=_ALIASES)


def _single_states(train: Train) -> Iterator[Case]:
    if train.one_ways:
        return
    for size in range(1, _MOST_APPLIED + 1):
        of_size = [state.verdict for combination, state in judged(train.layout) if len(combination) == size]
        if len(set(of_size)) < 2:
            continue
        yield Case(
            (str(size),),
            (
                say("state with {number} elements applied", number=count_words(size))
                if size > 1
                else say("state with {number} element applied", number=count_words(size))
            ),
            say("<applied> applied and nothing else. What does the transmission do?"),
            2,
            min(size, 3),
            (
                say("Which shafts become one, which are held?"),
                say("Let the input turn: does that fix every other speed, and can it turn at all?"),
                say("Then try the output by itself, with the input held and with the input free."),
            ),
            asks=frozenset({"states"}),
        )


def _single_state(ask: Ask) -> BuiltItem | None:
    size = int(ask.about[0])
    by_verdict: dict[Verdict, list[tuple[tuple[str, ...], Mobility]]] = {}
    for combination, state in judged(ask.train.layout):
        if len(combination) == size:
            by_verdict.setdefault(state.verdict, []).append((combination, state))
    # Each verdict is as likely as the others, so that none is a good guess.
    combination, state = ask.seeded.pick(ask.seeded.pick(list(by_verdict.values())))
    wrong = []
    if state.verdict is Verdict.NEUTRAL:
        wrong.append(("LOCKFREE", str(Verdict.RANGE), say("Does the output really have to follow the input here?")))
    elif state.verdict is Verdict.RANGE:
        wrong.append(("COUNT", str(Verdict.TIE_UP), say("Count only what says something new: can the input really not turn?")))
    else:
        wrong.append(
            ("LOCKFREE", str(Verdict.NEUTRAL), say("Something is held fast here: try to turn the input, then the output."))
        )
    return choice(ask, STATES, str(state.verdict), wrong, aliases=_ALIASES, words={"applied": listed(combination)})


def _freedoms(train: Train) -> Iterator[Case]:
    if len(train.applicable) < 2 or train.one_ways:
        return
    yield Case(
        (),
        say("motions left with one element applied"),
        say("Only <applied> is applied. How many independent motions are left (0 means that nothing can turn)?"),
        3,
        2,
        (
            say("Count the shafts that can turn: members that are always joined are one shaft."),
            say("Each set takes one motion away, and so does each element that says something new."),
            say("What is left over are the independent motions."),
        ),
        asks=frozenset({"motions left"}),
    )
    yield Case(
        ("shafts",),
        say("shafts that can turn"),
        say("With only <applied> applied: how many separate shafts are there that can turn?"),
        2,
        1,
        (
            say("Members that are always joined are one shaft; so are two shafts that a clutch joins."),
            say("A shaft that is held cannot turn."),
            say("The input and the output count too, each with what sits on it."),
        ),
        asks=frozenset({"shafts"}),
        unit=later("shafts"),
    )


def _freedom(ask: Ask) -> BuiltItem | None:
    layout, name = ask.train.layout, ask.seeded.pick(ask.train.applicable)
    if ask.about:
        groups = layout.groups.copy()
        groups.join(*layout.element_named(name).between)
        parts = {groups.name_of(shaft) for shaft in (*layout.members, "input", "output")} - {groups.name_of("housing")}
        right, text = len(parts), say("Each join makes one shaft out of two, and the applied element joins or holds one more.")
        others = [(3 * len(layout.sets), text), (right + 1, text)]
    else:
        state = assess(layout, [name])
        right = state.freedom
        before = assess(layout, []).freedom
        others = [
            (before, say("That is what is left with nothing applied: the element takes something away.")),
            (before + len(layout.sets), say("Each set ties its three members together and takes one motion away.")),
        ]
    forms, seen = [], {right}
    for value, sentence in others:
        if value not in seen:
            seen.add(value)
            forms.append(WrongForm("COUNT", {ONE_PART: Fraction(value)}, sentence))
    checker = NumberChecker(Fraction(right), AnswerKind.INTEGER, ask.item.tolerance, ask.item.unit, {})
    part = Part(ONE_PART, "", AnswerKind.INTEGER, ask.item.unit, (), Fraction(ask.item.marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, tuple(forms)), {"applied": name})


def _with_input(train: Train) -> Iterator[Case]:
    for row in train.distinct:
        merged = train.merged(row.engaged)
        members = [name for name in merged.members(merged.input) if "." in name]
        if not members or row.ratio == 1 or len(members) == len(train.layout.members):
            continue
        if not all(train.speed(row, name) is not None for name in train.layout.members):
            continue
        yield Case(
            (row.name,),
            say("members at input speed in range {row}", row=row.name),
            say(
                "Which members turn exactly with the input in {range}? Tick all of them. (A wrong tick takes off at least what a right one earns.)",
                range=words.range_words(train.layout, row),
            ),
            2,
            1,
            (
                hints.holds(train, row),
                say("Members that are always joined to the input do."),
                say("A set of which two members turn with the input turns with it as a whole."),
            ),
            asks=frozenset({f"with input {row.name}"}),
            tells=frozenset({f"chart {row.name}"}),
        )


def _at_input_speed(ask: Ask) -> BuiltItem | None:
    row, layout = ask.train.row(ask.about[0]), ask.train.layout
    names = {words.member(layout, name): ask.train.speed(row, name) for name in layout.members}
    right = [told for told, speed in names.items() if speed == 1]
    joined = [words.member(layout, name) for name in layout.members if words.of_the_input(layout, name)]
    wrong = (
        [("LEFTOUT", joined, say("Applied clutches and sets that turn as a block bring further members along."))]
        if joined
        else []
    )
    driven = [
        words.member(layout, part)
        for element in layout.elements
        if element.name not in row.engaged and "input" in element.between
        for part in element.between
        if part in layout.members
    ]
    wrong += [
        ("ONERANGE", [*right, told], say("One of those is joined with the input in other ranges, not in this one."))
        for told in driven[:1]
        if told not in right
    ]
    wrong += [
        (
            "LEFTOUT",
            [told for told in right if told != member],
            say("Look what else sits on a shaft that turns with the input."),
        )
        for member in right
        if len(right) > 1
    ]
    return several(ask, tuple(names), right, wrong)


FAMILIES = (
    Family("with-input", SUBJECT, 7, AnswerKind.MULTIPLE_CHOICE, _with_input, _at_input_speed),
    Family("sets", SUBJECT, 7, AnswerKind.CHOICE_GRID, _sets, _set_grid),
    Family("states", SUBJECT, 7, AnswerKind.CLASSIFICATION_GRID, _states, _state_grid),
    Family("state", SUBJECT, 7, AnswerKind.CHOICE, _single_states, _single_state),
    Family("motions", SUBJECT, 7, AnswerKind.INTEGER, _freedoms, _freedom),
)
