"""Ratios of a layout's ranges: by formula, by number, in a table, in order, and what a ring has to be for one."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from itertools import islice, pairwise

from gearkit.answers.item import ONE_PART, AnswerKind
from gearkit.answers.judge.checkers import Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices, labelled
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import OrderChecker
from gearkit.answers.layouts import hints, words, wrong
from gearkit.answers.layouts.family import Ask, Case, Family, grid, number, part_name
from gearkit.answers.layouts.train import Drive, Train
from gearkit.answers.rules.built_item import BuiltItem
from gearkit.solve import ratios
from gearkit.solve.mobility import assess
from gearkit.text.phrases import capital, count_words, listed
from gearkit.words.say import later, say
from gearkit.words.terms import PinionKind, Verdict

SUBJECT = later("ratio")
_MARKS = {1: 2, 2: 4, 3: 6}
_SIGN = later("Ratios are input speed over output speed; reverse has a minus.")
_KINDS = (later("reduction"), later("direct drive"), later("overdrive"), later("reverse"))
_MOST_OTHERS, _MOST_ORDERED = 3, 5
_LETTER = re.compile(r"\b([SR])(\d+)\b")
_CLOSE = Fraction(103, 100)


def _to_be_found(train: Train) -> Iterator[Drive]:
    """Ranges whose ratio has to be worked out; direct drive is seen at once."""
    return (row for row in train.distinct if row.ratio != 1 and train.loaded(row))


def _tells(row: Drive) -> frozenset[str]:
    return frozenset({f"chart {row.name}"})


def _numbers(train: Train) -> Iterator[Case]:
    for row in _to_be_found(train):
        hard = hints.difficulty(train, row)
        yield Case(
            (row.name,),
            say("ratio of range {row}", row=row.name),
            say("What is the ratio of {range}? {sign}", range=words.range_words(train.layout, row), sign=say(_SIGN)),
            _MARKS[hard],
            hard,
            hints.to_a_ratio(train, row),
            asks=frozenset({f"ratio {row.name}"}),
            tells=_tells(row),
        )


def _number(ask: Ask) -> BuiltItem | None:
    row = ask.own.row(ask.about[0])
    mistakes = (*wrong.multiplied(ask.own, row), *wrong.mistakes_in(ask.own, row, wrong.ratio))
    return number(ask, wrong.right(row.name, wrong.ratio), mistakes)


def _formulas(train: Train) -> Iterator[Case]:
    for row in _to_be_found(train):
        formula = train.formula(row)
        if formula is None:
            continue
        hard, text = hints.difficulty(train, row), formula.formula
        symbols = tuple(name for pset in train.layout.sets for name in _symbols(train, pset.name))
        yield Case(
            (row.name,),
            say("formula for the ratio of range {row}", row=row.name),
            say(
                "Write the ratio of {range} as a formula in the tooth counts {join}. {sign}",
                range=words.range_words(train.layout, row),
                join=", ".join(symbols),
                sign=say(_SIGN),
            ),
            _MARKS[hard],
            hard,
            hints.to_a_ratio(train, row),
            asks=frozenset({f"ratio {row.name}"}),
            tells=_tells(row),
            symbols=symbols,
            answer=text,
        )


def _symbols(train: Train, name: str) -> tuple[str, ...]:
    suffix = ratios.symbol_suffixes(train.layout)[name]
    kind = train.layout.set_named(name).pinions
    if kind is PinionKind.BEVEL:
        return ()
    return tuple(f"{letter}{suffix}" for letter in (("S", "R", "P", "Q") if kind is PinionKind.STEPPED else ("S", "R")))


def _formula(ask: Ask) -> BuiltItem | None:
    own, item = ask.own, ask.item
    row = own.row(ask.about[0])
    checker = FormulaChecker((item.answer,), item.symbols) if isinstance(item.answer, str) else None
    assert checker is not None
    forms: list[WrongForm] = []
    turned = _LETTER.sub(lambda match: {"S": "R", "R": "S"}[match[1]] + match[2], str(item.answer))
    others = [("SWAP", turned, "")]
    for other in islice((drive for drive in own.distinct if drive.name != row.name), 6):
        table = own.formula(other)
        if table is not None and len(set(other.engaged) & set(row.engaged)) >= len(row.engaged) - 1:
            others.append(
                (
                    "OTHERRANGE",
                    table.formula,
                    say("That belongs to range {other}. Look again which elements hold in this one.", other=other.name),
                )
            )
    right = checker.read(str(item.answer)).content[1]
    for code, text, sentence in others:
        if checker.read(text).content[1] != right:
            forms.append(WrongForm(code, {ONE_PART: text}, sentence))
    part = Part(ONE_PART, "", AnswerKind.EXPRESSION, "", (), Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: checker}, tuple(forms)))


def _table(train: Train) -> Iterator[Case]:
    rows = train.distinct
    if len(rows) < 2:
        return
    hard = max((hints.difficulty(train, row) for row in _to_be_found(train)), default=1)
    marks = sum(2 if row.ratio != 1 else 1 for row in rows)
    yield Case(
        (),
        say("ratios of all ranges"),
        say("Work out the exact ratio of each range, as a fraction. {sign}", sign=say(_SIGN)),
        marks,
        hard,
        (
            say("Write for each range which members stand still and which turn together."),
            say("Direct drive needs no equation; neither does a set that turns as a block."),
            say("Set the input to one turn and work towards the output, set by set."),
        ),
        asks=frozenset(f"ratio {row.name}" for row in rows),
        tells=frozenset(f"chart {row.name}" for row in rows),
    )


def _ratio_table(ask: Ask) -> BuiltItem | None:
    parts, checkers, turned, signed = [], {}, {}, {}
    for place, own in enumerate(ask.own.distinct, start=1):
        row = ask.train.row(own.name)
        name = part_name("r", row.name, place)
        marks = Fraction(2 if own.ratio != 1 else 1)
        parts.append(Part(name, words.range_words(ask.train.layout, row), AnswerKind.EXACT_RATIO, "", (), marks))
        checkers[name] = NumberChecker(row.ratio, AnswerKind.EXACT_RATIO, ask.item.tolerance, "", ask.drawn.visible)
        signed[name] = -row.ratio
        if row.ratio != 1:
            turned[name] = 1 / row.ratio
    forms = [WrongForm("RECIP", turned), WrongForm("SIGN", signed)]
    return BuiltItem(tuple(parts), Key(checkers, tuple(form for form in forms if form.contents)))


def _kinds(train: Train) -> Iterator[Case]:
    rows = _classed(train)
    if len({_kind(row.ratio) for row in rows}) < 2 or len(rows) < 3:
        return
    yield Case(
        (),
        say("reduction, direct drive, overdrive or reverse"),
        say("Say of each range whether it is a reduction, direct drive, an overdrive or a reverse."),
        max(2, len(rows) // 2),
        2,
        (
            say("A ratio above 1 is a reduction, below 1 an overdrive, below 0 a reverse."),
            say("First look for the range in which everything turns as a block."),
            say("For the others, find whether the output turns slower or faster than the input, and which way."),
        ),
        asks=frozenset({"kinds of ratio"}),
        tells=frozenset(f"chart {row.name}" for row in rows),
    )


def _classed(train: Train) -> tuple[Drive, ...]:
    # Of several with one ratio the first, where that leaves enough.
    return train.distinct if len(train.distinct) >= 3 else train.drives


def _kind(ratio: Fraction) -> str:
    if ratio < 0:
        return _KINDS[3]
    return _KINDS[1] if ratio == 1 else _KINDS[0] if ratio > 1 else _KINDS[2]


def _kind_grid(ask: Ask) -> BuiltItem | None:
    rows, forms = [], []
    for place, own in enumerate(_classed(ask.own), start=1):
        row = ask.train.row(own.name)
        name, right = part_name("range", row.name, place), _kind(row.ratio)
        rows.append((name, words.range_words(ask.train.layout, row), right))
        if right in (_KINDS[0], _KINDS[2]):
            other = _KINDS[2] if right == _KINDS[0] else _KINDS[0]
            forms.append(
                WrongForm(
                    "RECIP", {name: other}, say("A ratio is input speed over output speed: which of the two turns faster here?")
                )
            )
        elif right == _KINDS[3]:
            forms.append(WrongForm("TURNED", {name: _KINDS[0]}, say("The output turns backward here: look at its direction.")))
    return grid(ask, rows, _KINDS, forms, aliases={"direct": _KINDS[1], "one to one": _KINDS[1]})


def _order(train: Train) -> Iterator[Case]:
    rows = train.forward[:_MOST_ORDERED]
    if len(rows) < 3 or not all(row.engaged for row in rows):
        return
    names = tuple(row.name for row in rows)
    yield Case(
        names,
        say("forward ranges in order of their ratios"),
        say(
            "{value} of the forward ranges are made with these elements. Put them in order of their ratios, the largest first. Answer with the letters.\n\n<list>",
            value=capital(count_words(len(rows))),
        ),
        len(rows),
        3,
        (
            say("Direct drive is 1; reductions are above it, overdrives below."),
            say("A range in which fewer sets reduce the speed has the smaller ratio."),
            say("Work out those that you cannot tell apart."),
        ),
        asks=frozenset({"order of ratios"}),
        tells=frozenset(f"chart {name}" for name in names),
    )


def _applied(row: Drive) -> str:
    return say("{engaged} applied", engaged=listed(row.engaged))


def _ordering(ask: Ask) -> BuiltItem | None:
    rows = sorted((ask.train.row(name) for name in ask.about), key=lambda row: -row.ratio)
    if any(first.ratio / two.ratio < _CLOSE for first, two in pairwise(rows)):
        return None
    order = tuple(map(_applied, rows))
    choices = Choices(ask.seeded.shuffled(order), letters=True)
    if choices.options == order:
        return None
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(ask.item.marks))
    return BuiltItem(
        (part,), Key({ONE_PART: OrderChecker(choices, order, ask.item.marks)}), {"list": labelled(choices.options)}
    )


def _unnamed(train: Train) -> Iterator[Case]:
    """Combinations that drive and are no range of the chart."""
    named = {frozenset(named_range.engaged) for named_range in train.layout.ranges}
    known = {row.ratio for row in train.drives}
    sizes = {len(row.engaged) for row in train.drives}
    if train.one_ways or not sizes:
        return
    count = 0
    for engaged, verdict in ratios.combinations(train.layout, sizes):
        if count == _MOST_OTHERS:
            return
        if (
            frozenset(engaged) in named
            or verdict.ratio is None
            or verdict.ratio in known | {1}
            or verdict.redundant
            or verdict.generic_verdict is not Verdict.RANGE
            or not Fraction(1, 20) < abs(verdict.ratio) < 20
        ):
            continue
        row = Drive(say("with {engaged}", engaged=listed(engaged)), engaged, verdict.ratio, False)
        if not train.loaded(row):
            continue
        known.add(verdict.ratio)
        count += 1
        hard = hints.difficulty(train, row)
        yield Case(
            engaged,
            say("ratio with {engaged} applied", engaged=listed(engaged)),
            say(
                "No range applies {engaged} together. What ratio would they give? {sign}",
                engaged=listed(engaged),
                sign=say(_SIGN),
            ),
            _MARKS[hard],
            hard,
            hints.to_a_ratio(train, row),
            asks=frozenset({f"ratio with {listed(engaged)}"}),
            tells=frozenset({f"no range {listed(engaged)}"}),
        )


def _unnamed_number(ask: Ask) -> BuiltItem | None:
    engaged = ask.about
    state = assess(ask.own.layout, engaged)
    if state.ratio is None or assess(ask.train.layout, engaged).ratio is None:
        return None
    row = Drive("", engaged, state.ratio, False)
    return number(
        ask,
        lambda train: wrong.ratio(train.speeds(engaged).of),
        (*wrong.multiplied(ask.own, row), *wrong.mistakes_in(ask.own, row, wrong.ratio, others=1)),
    )


def _rings(train: Train) -> Iterator[Case]:
    for row in _to_be_found(train):
        for name in reversed(train.loaded(row)):
            pset = train.layout.set_named(name)
            if pset.pinions is not PinionKind.SINGLE or pset.sun_teeth is None or _shares_ring(train, name):
                continue
            hard = min(3, hints.difficulty(train, row) + 1)
            ring = words.letter(train.layout, "R", name)
            told = words.set_words(train.layout, name)
            yield Case(
                (row.name, name),
                say("ring of {told} for a wanted ratio of range {row}", told=told, row=row.name),
                say(
                    "{up} shall have the ratio $<i>$ exactly. All tooth counts stay but ${ring}$, the ring of {told} (whether planets fit does not matter here). How many teeth must that ring have?",
                    up=capital(words.range_words(train.layout, row)),
                    ring=ring,
                    told=told,
                ),
                _MARKS[hard],
                hard,
                (
                    hints.holds(train, row),
                    say("Write the ratio of the range with ${ring}$ left as a letter.", ring=ring),
                    say("Set it equal to the wanted ratio and solve for the letter."),
                ),
                asks=frozenset({f"ring {row.name} {name}"}),
                tells=_tells(row),
                unit="teeth",
            )
            break


def _shares_ring(train: Train, name: str) -> bool:
    """Whether its ring is one part with another set's, so that it cannot change alone."""
    groups, own = train.layout.groups, f"{name}.ring"
    return any(
        groups.name_of(f"{other.name}.carrier") == groups.name_of(f"{name}.carrier")
        and groups.name_of(f"{other.name}.ring") == groups.name_of(own)
        for other in train.layout.sets
        if other.name != name
    )


def _ring(ask: Ask) -> BuiltItem | None:
    range_name, name = ask.about
    row, pset = ask.train.row(range_name), ask.train.layout.set_named(name)
    table = ask.train.formula(row)
    if table is None or pset.sun_teeth is None or pset.ring_teeth is None:
        return None
    change = (2 + 2 * ask.seeded.below(5)) * (1 - 2 * ask.seeded.below(2))
    ring = pset.ring_teeth + change
    weights = {row_set.name: row_set.weights for row_set in ask.train.layout.sets}
    above, below = table.at({**weights, name: (pset.sun_teeth, ring)})
    if not above or not below or ring <= pset.sun_teeth + 20:
        return None
    wanted = Fraction(above, below)
    if wanted == row.ratio or not Fraction(1, 20) < abs(wanted) < 20:
        return None
    scaled = round(pset.ring_teeth * wanted / row.ratio)
    forms = [
        WrongForm(
            "TURNED",
            {ONE_PART: Fraction(pset.ring_teeth - change)},
            say("That moves the ratio the other way: does more ring make it larger or smaller?"),
        )
    ]
    if scaled not in (ring, pset.ring_teeth - change) and scaled > 0:
        forms.append(
            WrongForm(
                "LINEAR",
                {ONE_PART: Fraction(scaled)},
                say("You changed the ring in proportion to the ratio. The ratio is no plain multiple of the ring."),
            )
        )
    checker = NumberChecker(Fraction(ring), AnswerKind.INTEGER, ask.item.tolerance, "teeth", ask.drawn.visible)
    part = Part(ONE_PART, "", AnswerKind.INTEGER, "teeth", (), Fraction(ask.item.marks))
    shown = f"\\frac{{{abs(wanted.numerator)}}}{{{wanted.denominator}}}" if wanted.denominator != 1 else str(abs(wanted))
    return BuiltItem((part,), Key({ONE_PART: checker}, tuple(forms)), {"i": ("-" if wanted < 0 else "") + shown})


FAMILIES = (
    Family("ratio", SUBJECT, 6, AnswerKind.EXACT_RATIO, _numbers, _number),
    Family("formula", SUBJECT, 6, AnswerKind.EXPRESSION, _formulas, _formula),
    Family("ratios", SUBJECT, 6, AnswerKind.RATIO_TABLE, _table, _ratio_table),
    Family("ratio-kinds", SUBJECT, 6, AnswerKind.CLASSIFICATION_GRID, _kinds, _kind_grid),
    Family("ratio-order", SUBJECT, 6, AnswerKind.ORDERING, _order, _ordering),
    Family("ratio-of", SUBJECT, 6, AnswerKind.EXACT_RATIO, _unnamed, _unnamed_number),
    Family("ring", SUBJECT, 6, AnswerKind.INTEGER, _rings, _ring),
)
