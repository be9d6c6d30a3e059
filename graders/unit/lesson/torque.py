"""Torque in a lesson on a layout: what the housing supplies, what each element holds, and the power path."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.solve.loads.torques import Torques
from gearkit.text.phrases import decimal, fixed, listed, set_words, sets_words
from gearkit.words.terms import HOUSING
from graders.unit.facts import TORQUE, Facts, RangeFact
from graders.unit.lesson.first_range import name_of
from graders.unit.words.cells import Cell, code, gate, prose
from graders.unit.words.saying import escaped, verb
from graders.unit.working import exact


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on torque; nothing where balance fixes the torques of no range."""
    settled = [(fact, loads) for fact in facts.drives if fact.engaged and (loads := facts.torques(fact)) is not None]
    if not settled:
        return
    fact, loads = next(((drive, its) for drive, its in settled if drive.name == facts.simplest.name), settled[0])
    yield from _balance(facts, fact, loads)
    yield from _elements(facts, fact, loads)
    yield from _set(facts, fact, loads)
    yield prose(
        "torque-predict",
        "predict",
        "### Predict the largest torque",
        f"Now the other ranges, at {TORQUE} N·m or any input torque you like. Which applied element has most to do, and does the housing push with the input or "
        "against it? Enter it, then reveal levers and bars.",
    )
    yield gate("torque-panel", f'lesson.predict_about("torques", "{facts.file}"', " ".join(_wrong(facts, settled)))
    yield from _path(facts, settled)


def _balance(facts: Facts, fact: RangeFact, torques: Torques) -> Iterator[Cell]:
    ratio = fact.ratio
    housing = TORQUE * (ratio - 1)
    shown = fact.shown if ratio > 0 else f"({fact.shown})"
    yield prose(
        "torque",
        "by-hand",
        "## Torque: who supplies the rest",
        f"{TORQUE} N·m go in. Without losses the output torque is the input torque times the ratio. Three torques act on the train from outside: the input's "
        "$T$, the load $-T\\,i$ and the housing's. They add up to zero, so",
        r"$$T_{\text{housing}} = T\,(i - 1)$$",
        f"In range {escaped(fact.name)}: ${TORQUE} \\times ({_latex(shown)} - 1) = {_latex(fixed(housing, 1))}$ N·m.",
    )
    yield code(
        "torque-numbers",
        "worked",
        "# Working: what the housing holds",
        "from gearkit.solve.loads.torques import torques_of",
        "",
        f"T, i = {TORQUE}, {exact(ratio)}",
        f"found = torques_of(in_range(train, {name_of(fact)}), T, basic_efficiency=1)",
        "lesson.results(",
        '    ("Output", float(T * i), "N·m", 1), ("Output, solved by the kit", float(-found.output_torque), "N·m", 1),',
        '    ("Housing", float(T * (i - 1)), "N·m", 1), ("Housing, solved by the kit", float(found.housing_torque), "N·m", 1),',
        ")",
    )


def _elements(facts: Facts, fact: RangeFact, torques: Torques) -> Iterator[Cell]:
    rows = {name: value for name, value in torques.elements.items() if value is not None}
    layout = facts.layout
    ground = layout.shaft_of(HOUSING)
    grounded = [name for name in rows if ground in map(layout.shaft_of, layout.element_named(name).between)]
    holding = [name for name in grounded if rows[name]] or grounded
    told = []
    if len(holding) == 1:
        told.append(
            f"{escaped(holding[0])} is the only element {'at the housing' if holding == grounded else 'that takes up torque at the housing'} in range "
            f"{escaped(fact.name)}, so it has all of that to hold."
        )
    elif holding:
        parts = listed(f"{escaped(name)} {_newtons(rows[name])}" for name in holding)
        told.append(f"{listed(map(escaped, holding))} share it in range {escaped(fact.name)}: {parts}.")
    else:
        told.append(
            f"In range {escaped(fact.name)} no applied element stands at the housing: what clutches pass on stays inside the train."
        )
    joined = [name for name in rows if name not in holding]
    for name in joined:
        if rows[name]:
            share = abs(rows[name]) / TORQUE
            whole = "the whole input torque" if share == 1 else f"{decimal(share)} of the input torque"
            told.append(f"{escaped(name)} passes on {whole}, {_newtons(rows[name])}.")
        else:
            told.append(f"{escaped(name)} has nothing to carry here.")
    yield prose("torque-elements", "by-hand", " ".join(told))
    if rows:
        yield code(
            "torque-elements-numbers",
            "worked",
            "# Working: torque of each applied element",
            "elements = {name: torque for name, torque in found.elements.items() if torque is not None}",
            'lesson.results(*((name, float(torque), "N·m", 1) for name, torque in elements.items()))',
        )


def _set(facts: Facts, fact: RangeFact, torques: Torques) -> Iterator[Cell]:
    """One working set by itself: sun and ring as their tooth counts, the carrier against both."""
    for name in fact.story.working:
        values = {part: torques.members[f"{name}.{part}"] for part in ("sun", "ring", "carrier")}
        if all(values.values()):
            shown = {part: decimal(value, 1) for part, value in values.items() if value is not None}
            sun, ring = facts.layout.set_named(name).weights
            way = (
                "both push the same way, and the carrier takes the sum"
                if sun * ring > 0
                else "they push against each other, and the carrier takes the difference"
            )
            yield prose(
                "torque-set",
                "by-hand",
                f"### Inside {escaped(set_words(name))}",
                f"Sun and ring of one set share torque as their tooth counts: {way}. Here the sun of {escaped(set_words(name))} gets {shown['sun']} N·m from "
                f"outside the set, the ring {shown['ring']} and the carrier {shown['carrier']}. Add them up.",
            )
            yield code(
                "torque-set-numbers",
                "worked",
                "# Working: sun, ring and carrier of one set",
                f'sun, ring, carrier = (found.members[f"{name}.{{part}}"] for part in ("sun", "ring", "carrier"))',
                "lesson.results(",
                '    ("Sun", float(sun), "N·m", 1), ("Ring", float(ring), "N·m", 1), ("Carrier", float(carrier), "N·m", 1),',
                f'    ("Ring from the sun, by the tooth counts", float(sun * Fraction({ring}, {sun})), "N·m", 1),',
                '    ("Sum of the three", sun + ring + carrier, "N·m"),',
                ")",
            )
            return


def _wrong(facts: Facts, settled: list[tuple[RangeFact, Torques]]) -> Iterator[str]:
    low = next((drive for drive, _ in settled if drive.ratio > 1), None)
    if low is not None:
        yield (
            f"{fixed(TORQUE * low.ratio, 1)} N·m in range {escaped(low.name)} is the *output* torque; the housing supplies what the input does not: "
            "the difference."
        )
    back = next((drive for drive, _ in settled if drive.ratio < 0), None)
    if back is not None:
        yield (
            f"In range {escaped(back.name)} input and output push the train the same way, so the housing holds against both: "
            f"{fixed(TORQUE * (abs(back.ratio) - 1), 1)} N·m would subtract where it adds."
        )
    over = next((drive for drive, _ in settled if 0 < drive.ratio < 1), None)
    if over is not None:
        yield f"In range {escaped(over.name)} the output torque is the smaller one, and the housing pushes backward."
    yield f"{TORQUE} N·m everywhere copies the input torque."


def _path(facts: Facts, settled: list[tuple[RangeFact, Torques]]) -> Iterator[Cell]:
    if len(facts.layout.sets) < 2:
        return
    fact = next((drive for drive, loads in settled if loads.recirculation), settled[0][0])
    around = next((loads.recirculation for drive, loads in settled if drive is fact), None)
    more = (
        (
            f"In range {escaped(fact.name)} power goes round inside the train: {decimal(around)} times the power that enters comes back to where it left. "
            "Find the loop."
        )
        if around
        else f"Follow range {escaped(fact.name)} from the input to the output: "
        + ("which set passes on most?" if len(fact.story.working) > 1 else "through which members does all of it go?")
    )
    idle = [drive for drive in facts.drives if 0 < len(drive.story.idle) < len(facts.layout.sets)]
    rest = ""
    if idle:
        drive = idle[0]
        rest = f"In range {escaped(drive.name)}, {escaped(sets_words(drive.story.idle))} {verb(len(drive.story.idle), 'carry')} nothing."
    yield prose("path", "", "### The way of the power", " ".join(filter(None, (more, rest))))
    yield code("path-picture", "picture", f'lesson.show("{facts.file}", "power", range_name={name_of(fact)})')


def _newtons(value: Fraction | None) -> str:
    assert value is not None
    return f"{fixed(abs(value), 1)} N·m"


def _latex(text: str) -> str:
    return text.replace("−", "-")
