"""Invented learners who think a thing through with a misconception, by physics of their own.

Nothing of the kit's tables of misconceptions, wrong formulas or solver is used. A learner writes down the speed equation
of every set as he believes it (what the sun, the ring and the carrier weigh), joins the members as the question or the
layout says, and solves; or turns the right number as his idea has it. Answers are numbers or texts in letters.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from fractions import Fraction

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.kinds.numbers import NumberChecker

Row = dict[str, Fraction]
Content = Fraction | str
ONE, NIL = Fraction(1), Fraction(0)


def solve(rows: Iterable[Row], given: Mapping[str, Fraction]) -> dict[str, Fraction]:
    """Solve linear equations (each sums to nothing) with some unknowns given; what stays free is left out."""
    work = []
    for row in rows:
        known = sum((factor * given[name] for name, factor in row.items() if name in given), NIL)
        work.append(({name: factor for name, factor in row.items() if name not in given and factor}, -known))
    solved: list[tuple[str, Row, Fraction]] = []
    for row, right in work:
        for name, other, value in solved:
            if name in row:
                factor = row.pop(name)
                for more, weight in other.items():
                    row[more] = row.get(more, NIL) - factor * weight
                right -= factor * value
        row = {name: factor for name, factor in row.items() if factor}
        if not row:
            continue
        name, lead = next(iter(row.items()))
        rest = {more: factor / lead for more, factor in row.items() if more != name}
        solved.append((name, rest, right / lead))
    found: dict[str, Fraction] = dict(given)
    for name, rest, value in reversed(solved):
        if all(more in found for more in rest):
            found[name] = value - sum((factor * found[more] for more, factor in rest.items()), NIL)
    return found


@dataclass(frozen=True)
class Mind:
    """What somebody believes a set's members weigh.

    Args:
        sun: S, P, R, N -> what the sun counts.
        ring: the same for the ring.
        carrier: the same for the carrier.
        fair: True where held carriers are dealt with rightly, because the idea is about turning ones.
    """

    sun: Callable[[Fraction, Fraction, Fraction, Fraction], Fraction] = lambda s, p, r, n: s
    ring: Callable[[Fraction, Fraction, Fraction, Fraction], Fraction] = lambda s, p, r, n: r
    carrier: Callable[[Fraction, Fraction, Fraction, Fraction], Fraction] = lambda s, p, r, n: s + r
    fair: bool = False


HONEST = Mind()
WEIGHING = {
    "carrier as its planets": Mind(carrier=lambda s, p, r, n: n * p),
    "carrier as one planet": Mind(carrier=lambda s, p, r, n: p),
    "carrier as R - S": Mind(carrier=lambda s, p, r, n: r - s),
    "carrier as S + P": Mind(carrier=lambda s, p, r, n: s + p),
    "R - S for the ring": Mind(ring=lambda s, p, r, n: r - s, carrier=lambda s, p, r, n: r),
    "S + P for the ring": Mind(ring=lambda s, p, r, n: s + p, carrier=lambda s, p, r, n: s + s + p),
    "plain average": Mind(lambda s, p, r, n: ONE, lambda s, p, r, n: ONE, lambda s, p, r, n: ONE + ONE, fair=True),
    "sun and ring swapped": Mind(lambda s, p, r, n: r, lambda s, p, r, n: s),
}


class Train:
    """Sets and shafts as a question has them.

    Args:
        mind: what its learner believes.
        variant: the question with its numbers.
    """

    def __init__(self, mind: Mind, variant: Variant) -> None:
        self.mind, self.values = mind, variant.drawn.values
        self.told_planets = "<N>" in variant.item.prompt or variant.layout is not None
        self.shafts: list[Row] = []
        self.sets: list[tuple[str, str, str, str]] = []

    def weights(self, suffix: str, mind: Mind | None = None) -> tuple[Fraction, Fraction, Fraction]:
        """What sun, ring and carrier of a set count for this learner."""
        s, r = self.values["S" + suffix], self.values["R" + suffix]
        p, n = self.values.get("P" + suffix, (r - s) / 2), self.values.get("N" + suffix, Fraction(3))
        facts = (s, p, r, n if self.told_planets else Fraction(3))
        mind = mind or self.mind
        return mind.sun(*facts), mind.ring(*facts), mind.carrier(*facts)

    def add(self, suffix: str, sun: str, ring: str, carrier: str) -> Train:
        """Add a set whose members sit on the named shafts."""
        self.sets.append((suffix, sun, ring, carrier))
        return self

    def join(self, *pairs: tuple[str, str]) -> Train:
        """Put two members on one shaft, pair by pair."""
        self.shafts += [{first: ONE, second: -ONE} for first, second in pairs]
        return self

    def speeds(self, **given: Fraction | int) -> dict[str, Fraction]:
        """All speeds that follow from the given ones."""
        known = {name: Fraction(value) for name, value in given.items()}
        honest = solve([*self.shafts, *(self._row(one, HONEST) for one in self.sets)], known)
        rows = list(self.shafts)
        for one in self.sets:
            _, sun, ring, carrier = one
            still = self.mind.fair and not honest.get(carrier, ONE)
            if self._joined(sun, ring) or self._joined(sun, carrier) or self._joined(ring, carrier):
                # Everybody knows that two joined members lock a set.
                rows += [{sun: ONE, ring: -ONE}, {sun: ONE, carrier: -ONE}]
            else:
                rows.append(self._row(one, HONEST if still else self.mind))
        return solve(rows, known)

    def _row(self, one: tuple[str, str, str, str], mind: Mind) -> Row:
        suffix, *members = one
        s, r, c = self.weights(suffix, mind)
        row: Row = {}
        for name, factor in zip(members, (s, r, -c), strict=True):
            row[name] = row.get(name, NIL) + factor
        return row

    def _joined(self, first: str, second: str) -> bool:
        reached, ahead = {first}, [first]
        while ahead:
            name = ahead.pop()
            for pair in self.shafts:
                if name in pair and len(pair) == 2:
                    ahead += [other for other in pair if other not in reached]
                    reached |= set(pair)
        return second in reached


def of_layout(mind: Mind, variant: Variant, engaged: Iterable[str]) -> Train:
    """The layout of a question with some elements applied."""
    layout = variant.layout
    assert layout is not None
    train = Train(mind, variant)
    for number, pset in enumerate(layout.sets, start=1):
        train.add(str(number), f"{pset.name}.sun", f"{pset.name}.ring", f"{pset.name}.carrier")
    for join in layout.joins:
        train.join(*((join[0], other) for other in join[1:]))
    for element in layout.elements:
        if element.name in engaged:
            train.join((element.between[0], element.between[1]))
    train.shafts.append({"housing": ONE})
    return train


def _ratio(speeds: Mapping[str, Fraction], drive: str, out: str) -> dict[str, Content] | None:
    if drive not in speeds or not speeds.get(out):
        return None
    return {"answer": speeds[drive] / speeds[out]}


def _range_of(variant: Variant) -> tuple[str, ...]:
    found = re.search(r"\(([A-H]) and ([A-H]) applied\)|\(([A-H]) and ([A-H])\)", variant.item.prompt)
    assert found, variant.item.prompt
    return tuple(letter for letter in found.groups() if letter)


def _layout_ratio(mind: Mind, variant: Variant) -> dict[str, Content] | None:
    return _ratio(of_layout(mind, variant, _range_of(variant)).speeds(input=1), "input", "output")


def _one(mind: Mind, variant: Variant, **given: Fraction | int) -> dict[str, Fraction]:
    return Train(mind, variant).add("", "sun", "ring", "carrier").speeds(**given)


def _six(mind: Mind, variant: Variant) -> dict[str, Content]:
    names = {"S": "sun", "R": "ring", "C": "carrier"}
    found: dict[str, Content] = {}
    for part in variant.parts:
        drive, held, out = (names[letter] for letter in part.name.split("_"))
        made = _ratio(_one(mind, variant, **{drive: 1, held: 0}), drive, out)
        if made:
            found[part.name] = made["answer"]
    return found


def _letters(mind: Mind, variant: Variant) -> dict[str, str]:
    """The members' weights as somebody writes them in letters."""
    probe = (Fraction(24), Fraction(21), Fraction(66), Fraction(3))
    forms = {
        Fraction(24): "S",
        Fraction(66): "R",
        Fraction(90): "(R + S)",
        Fraction(42): "(R - S)",
        ONE: "1",
        ONE + ONE: "2",
        Fraction(21): "(R - S)/2",
        Fraction(63): "3*(R - S)/2",
        Fraction(45): "(S + (R - S)/2)",
        Fraction(69): "(2*S + (R - S)/2)",
    }
    return {"s": forms[mind.sun(*probe)], "r": forms[mind.ring(*probe)], "c": forms[mind.carrier(*probe)]}


def _in_letters(text: str) -> Callable[[Mind, Variant], dict[str, Content]]:
    return lambda mind, variant: {"answer": text.format(**{k: f"({v})" for k, v in _letters(mind, variant).items()})}


def _pair(item: str, mind: Mind, variant: Variant) -> dict[str, Content] | None:
    train = Train(mind, variant)
    if item == "L05-01":
        train.add("1", "in", "h1", "mid").add("2", "mid", "h2", "out")
        return _ratio(train.speeds(**{"in": 1}, h1=0, h2=0), "in", "out")
    if item in ("L05-03", "L05-04", "L05-05"):
        train.add("1", "suns", "ring1", "out").add("2", "suns", "out", "car2")
        if item == "L05-03":
            return _ratio(train.speeds(ring1=1, car2=0), "ring1", "out")
        if item == "L05-04":
            return _ratio(train.speeds(ring1=1, suns=0), "ring1", "out")
        return _ratio(train.speeds(suns=1, car2=0), "suns", "out")
    train.add("1", "sun1", "out", "mid").add("2", "sun2", "mid", "out")
    if item == "L05-09":
        return _ratio(train.speeds(sun2=1, sun1=0), "sun2", "out")
    return _ratio(train.speeds(mid=1, sun1=0), "mid", "out")


def _layout_speed(
    mind: Mind, variant: Variant, engaged: Iterable[str], wanted: str, **given: Fraction | int
) -> Fraction | None:
    return of_layout(mind, variant, engaged).speeds(**given).get(wanted)


def _answer(value: Fraction | None) -> dict[str, Content] | None:
    return None if value is None else {"answer": value}


def _slip_at_clutch(mind: Mind, variant: Variant) -> dict[str, Content] | None:
    n = variant.drawn.values["n"]
    found = _layout_speed(mind, variant, ("B", "E"), "P1.carrier", input=n)
    return None if found is None else {"answer": n - found}


def _turns(mind: Mind, variant: Variant) -> dict[str, Content] | None:
    made = _ratio(of_layout(mind, variant, ("E", "D")).speeds(input=1), "input", "output")
    return made and {"answer": made["answer"] * variant.drawn.values["t"]}


def _spread(mind: Mind, variant: Variant) -> dict[str, Content] | None:
    ends = [_ratio(of_layout(mind, variant, on).speeds(input=1), "input", "output") for on in (("E", "D"), ("B", "C"))]
    return {"answer": ends[0]["answer"] / ends[1]["answer"]} if ends[0] and ends[1] else None


def _torque_at(part: str, over: str) -> Callable[[Mind, Variant], dict[str, Content]]:
    def work(mind: Mind, variant: Variant) -> dict[str, Content]:
        s, r, c = Train(mind, variant).weights("")
        named = {"s": s, "r": r, "c": c}
        first, second = over.split("/")
        return {part: variant.drawn.values["T"] * named[first] / named[second]}

    return work


def _efficiency(kind: str) -> Callable[[Mind, Variant], dict[str, Content]]:
    def work(mind: Mind, variant: Variant) -> dict[str, Content]:
        s, r, _ = Train(mind, variant).weights("")
        e = variant.drawn.values["e"]
        return {
            "answer": {"sun in": (s + e * r) / (s + r), "carrier in": (s + r) / (r + s / e), "ring in": (r + e * s) / (s + r)}[
                kind
            ]
        }

    return work


def _table_of_two(mind: Mind, variant: Variant) -> dict[str, Content]:
    s, r, _ = Train(mind, variant).weights("")
    nc, p = variant.drawn.values["nc"], variant.drawn.values["P"]
    return {
        "ring_still": -nc,
        "sun_still": nc * r / s,
        "planet_still": -nc * r / p,
        "sun": nc + nc * r / s,
        "planet": nc - nc * r / p,
    }


def _v(variant: Variant, *names: str) -> list[Fraction]:
    return [variant.drawn.values[name] for name in names]


THOUGHT_THROUGH: dict[str, Callable[[Mind, Variant], dict[str, Content] | None]] = {
    "L02-01": _in_letters("{s}*ns/{c} + {r}*nr/{c}"),
    "L02-02": lambda m, v: _answer(_one(m, v, sun=_v(v, "ns")[0], carrier=_v(v, "nc")[0]).get("ring")),
    "L02-03": _table_of_two,
    "L02-05": _in_letters("{r}/{c}"),
    "L02-08": _in_letters("-{r}/{s}"),
    "L03-01": _six,
    "L03-02": lambda m, v: _ratio(_one(m, v, sun=1, ring=0), "sun", "carrier"),
    "L03-03": lambda m, v: _ratio(_one(m, v, carrier=1, sun=0), "carrier", "ring"),
    "L03-07": lambda m, v: _answer(_one(m, v, sun=_v(v, "n")[0], carrier=0).get("ring")),
    "L03-08": lambda m, v: _answer(_one(m, v, sun=_v(v, "ns")[0], ring=_v(v, "nr")[0]).get("carrier")),
    **{
        item: (lambda m, v, item=item: _pair(item, m, v))
        for item in ("L05-01", "L05-03", "L05-04", "L05-05", "L05-09", "L05-10")
    },
    **dict.fromkeys(("L06-03", "L06-04", "L06-05", "L06-06", "L06-07", "L06-08", "L06-10", "L06-11"), _layout_ratio),
    "L07-04": lambda m, v: _answer(_layout_speed(m, v, ("B",), "P3.ring", input=_v(v, "n")[0], output=0)),
    "L07-05": lambda m, v: _answer(_layout_speed(m, v, ("B", "E"), "P1.carrier", input=_v(v, "n")[0])),
    "L08-02": _torque_at("answer", "r/s"),
    "L08-05": _torque_at("answer", "s/c"),
    "L09-02": _efficiency("sun in"),
    "L09-03": _efficiency("carrier in"),
    "L09-04": _efficiency("ring in"),
    "L09-07": lambda m, v: {"answer": Train(m, v).weights("")[1] / Train(m, v).weights("")[2]},
    "L10-02": _spread,
    "L11-03": lambda m, v: _answer(_layout_speed(m, v, ("E", "D"), "P1.sun", input=_v(v, "n")[0])),
    "L11-04": _slip_at_clutch,
    "L13-07": _turns,
}


NO_TURNING_CARRIER = ("L02-03", "L02-08", "L08-02", "L09-02", "L09-03", "L09-04")


def thought_through(idea: str, variant: Variant) -> dict[str, Content] | None:
    """What somebody with an idea answers to a question; None where it does not come in, or leads nowhere."""
    item = variant.item.id
    if idea in WEIGHING:
        if item not in THOUGHT_THROUGH or _another_question(variant) or (WEIGHING[idea].fair and item in NO_TURNING_CARRIER):
            return None
        return THOUGHT_THROUGH[item](WEIGHING[idea], variant)
    return TURNED[idea](variant) if idea in TURNED and not _another_question(variant) else None


def _another_question(variant: Variant) -> bool:
    """Whether it is another version of the question than the one that is thought through here."""
    return variant.drawn.values.get("version", 1) != 1


def _numbers(variant: Variant) -> dict[str, Fraction]:
    return {name: checker.value for name, checker in variant.key.checkers.items() if isinstance(checker, NumberChecker)}


def _only(contents: dict[str, Fraction]) -> dict[str, Content] | None:
    return dict(contents) or None


def _upside_down(variant: Variant) -> dict[str, Content] | None:
    ratios = all(part.kind.value == "exact ratio" for part in variant.parts)
    return _only({name: 1 / value for name, value in _numbers(variant).items() if value}) if ratios else None


def _above_one(variant: Variant) -> dict[str, Content] | None:
    ratios = all(part.kind.value == "exact ratio" for part in variant.parts)
    return _only({name: 1 / value for name, value in _numbers(variant).items() if 0 < abs(value) < 1}) if ratios else None


def _no_minus(variant: Variant) -> dict[str, Content] | None:
    signed = all(part.kind.value in ("exact ratio", "decimal") for part in variant.parts) and not variant.item.size_only
    return _only({name: -value for name, value in _numbers(variant).items() if value < 0}) if signed else None


def _own_turn(variant: Variant) -> dict[str, Content] | None:
    """The carrier turns in these; whoever leaves its own turn out has the ratio of the two gears alone."""
    values, item = variant.drawn.values, variant.item.id
    rs = {k: values["R" + k] / values["S" + k] for k in ("", "1", "2", "3") if "R" + k in values and "S" + k in values}
    if item == "L03-01":
        return {"S_R_C": rs[""], "R_S_C": 1 / rs[""], "C_R_S": 1 / rs[""], "C_S_R": rs[""]}
    if item == "L02-03":
        nc = values["nc"]
        return {"sun": nc * rs[""], "planet": -nc * values["R"] / values["P"]}
    single: dict[str, Callable[[], Fraction]] = {
        "L03-02": lambda: rs[""],
        "L03-03": lambda: rs[""],
        "L05-01": lambda: rs["1"] * rs["2"],
        "L06-03": lambda: rs["3"],
        "L13-07": lambda: values["t"] * rs["2"],
    }
    return {"answer": single[item]()} if item in single else None


def _reversing(variant: Variant) -> dict[str, Content] | None:
    """A ring is held in these and no carrier."""
    right = _numbers(variant)
    if variant.item.id == "L03-01":
        return {name: -right[name] for name in ("S_R_C", "C_R_S")}
    return {"answer": -right["answer"]} if variant.item.id in ("L03-02", "L06-03", "L13-07") else None


_ORDER = ("R", "1", "2", "3", "4", "5", "6")
_ASKED = {"reverse": "R", "first": "1", "second": "2", "third": "3", "fourth": "4", "fifth": "5", "sixth": "6"}


def _row(step: int) -> Callable[[Variant], dict[str, Content] | None]:
    def work(variant: Variant) -> dict[str, Content] | None:
        found = re.search(r"ratio of the Q36 in (\w+)", variant.item.prompt)
        place = _ORDER.index(_ASKED[found[1]]) + step if found and found[1] in _ASKED else -1
        if not 0 <= place < len(_ORDER) or variant.layout is None:
            return None
        on = next(one.engaged for one in variant.layout.ranges if one.name == _ORDER[place])
        return _ratio(of_layout(HONEST, variant, on).speeds(input=1), "input", "output")

    return work


TURNED: dict[str, Callable[[Variant], dict[str, Content] | None]] = {
    "ratio upside down": _upside_down,
    "every ratio above 1": _above_one,
    "minus never written": _no_minus,
    "own turn left out": _own_turn,
    "held ring reverses": _reversing,
    "chart one row too low": _row(1),
    "chart one row too high": _row(-1),
}
