"""Torque in a lesson on a layout: what the housing supplies, what each element holds, and the power path."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from gearkit.solve.loads.torques import Torques
from gearkit.text.phrases import capital, decimal, fixed, listed, member_words, set_words, sets_words
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING
from graders.unit.facts import TORQUE, Facts, RangeFact
from graders.unit.words.cells import Cell, code, gate, prose, quoted, result, working_title
from graders.unit.words.saying import escaped
from graders.unit.working import exact

# Unit and decimals of a torque in a table of results.
_UNIT = ('"N·m"', "1")


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on torque; nothing where balance fixes the torques of no range."""
    settled = [(fact, loads) for fact in facts.drives if fact.engaged and (loads := facts.torques(fact)) is not None]
    if not settled:
        return
    fact, loads = next(((drive, its) for drive, its in settled if drive.name == facts.simplest.name), settled[0])
    yield from _balance(fact)
    yield from _elements(facts, fact, loads)
    yield from _set(facts, fact, loads)
    yield prose(
        "torque-predict",
        "predict",
        say("### Predict the largest torque"),
        say(
            "Now the other ranges, at {torque} N·m or any input torque you like. Which applied element carries most torque, and does the housing "
            "push with the input or against it? Enter it, then reveal levers and bars.",
            torque=TORQUE,
        ),
    )
    yield gate("torque-panel", f'lesson.predict_about("torques", "{facts.file}"', " ".join(_wrong(settled)))
    yield from _path(facts, settled)


def _balance(fact: RangeFact) -> Iterator[Cell]:
    ratio = fact.ratio
    housing = TORQUE * (ratio - 1)
    shown = fact.shown if ratio > 0 else f"({fact.shown})"
    told = say("housing")
    sum_up = f"${TORQUE} \\times ({_latex(shown)} - 1) = {_latex(fixed(housing, 1))}$"
    yield prose(
        "torque",
        "by-hand",
        say("## Torque: who supplies the rest"),
        say(
            "{torque} N·m go in. Without losses the output torque is the input torque times the ratio. Three torques act on the train from "
            "outside: the input's {its_own}, the load {load} and the housing's. They add up to zero, so",
            torque=TORQUE,
            its_own="$T$",
            load="$-T\\,i$",
        ),
        rf"$$T_{{\text{{{told}}}}} = T\,(i - 1)$$",
        say("In range {range}: {sum} N·m.", range=escaped(fact.name), sum=sum_up),
    )
    yield code(
        "torque-numbers",
        "worked",
        working_title(say("what the housing holds")),
        "from gearkit.solve.loads.torques import torques_of",
        "",
        f"T, i = {TORQUE}, {exact(ratio)}",
        f"found = torques_of(in_range(train, {quoted(fact.name)}), T, basic_efficiency=1)",
        "lesson.results(",
        result(say("Output"), "float(T * i)", *_UNIT),
        result(say("Output, solved by the kit"), "float(-found.output_torque)", *_UNIT),
        result(say("Housing"), "float(T * (i - 1))", *_UNIT),
        result(say("Housing, solved by the kit"), "float(found.housing_torque)", *_UNIT),
        ")",
    )


def _elements(facts: Facts, fact: RangeFact, torques: Torques) -> Iterator[Cell]:
    rows = {name: value for name, value in torques.elements.items() if value is not None}
    layout = facts.layout
    ground = layout.shaft_of(HOUSING)
    grounded = [name for name in rows if ground in map(layout.shaft_of, layout.element_named(name).between)]
    holding = [name for name in grounded if rows[name]] or grounded
    told, in_range = [], escaped(fact.name)
    # What is joined to the housing for good takes its share although no element holds it.
    held = {member_words(name): torque for name in layout.shafts[ground] if (torque := torques.members.get(name))}
    if held:
        holding = [name for name in grounded if rows[name]]
        shares = {**{escaped(name): rows[name] for name in holding}, **held}
        names = listed(shares)
        told.append(
            say("In range {range} {member}, which is always held, has all of that to hold.", member=names, range=in_range)
            if len(shares) == 1
            else say(
                "{elements} share it in range {range}: {torques}.",
                elements=capital(names),
                range=in_range,
                torques=listed(f"{name} {_newtons(torque)}" for name, torque in shares.items()),
            )
        )
    elif len(holding) == 1 and holding == grounded:
        told.append(
            say(
                "{element} is the only element at the housing in range {range}, so it has all of that to hold.",
                element=escaped(holding[0]),
                range=in_range,
            )
        )
    elif len(holding) == 1:
        told.append(
            say(
                "{element} is the only element that takes up torque at the housing in range {range}, so it has all of that to hold.",
                element=escaped(holding[0]),
                range=in_range,
            )
        )
    elif holding:
        parts = listed(f"{escaped(name)} {_newtons(rows[name])}" for name in holding)
        names = listed(map(escaped, holding))
        told.append(say("{elements} share it in range {range}: {torques}.", elements=names, range=in_range, torques=parts))
    else:
        told.append(
            say(
                "In range {range} no applied element stands at the housing: what clutches pass on stays inside the train.",
                range=in_range,
            )
        )
    told += [_passed_on(escaped(name), rows[name]) for name in rows if name not in holding]
    yield prose("torque-elements", "by-hand", " ".join(told))
    if rows:
        yield code(
            "torque-elements-numbers",
            "worked",
            working_title(say("torque of each applied element")),
            "elements = {name: torque for name, torque in found.elements.items() if torque is not None}",
            'lesson.results(*((name, float(torque), "N·m", 1) for name, torque in elements.items()))',
        )


def _passed_on(name: str, torque: Fraction) -> str:
    if not torque:
        return say("{element} has nothing to carry here.", element=name)
    share, told = abs(torque) / TORQUE, _newtons(torque)
    if share == 1:
        return say("{element} passes on the whole input torque, {torque}.", element=name, torque=told)
    return say("{element} passes on {share} of the input torque, {torque}.", element=name, share=decimal(share), torque=told)


def _set(facts: Facts, fact: RangeFact, torques: Torques) -> Iterator[Cell]:
    """One working set by itself: sun and ring as their tooth counts, the carrier against both."""
    for name in fact.story.working:
        values = {part: torques.members[f"{name}.{part}"] for part in ("sun", "ring", "carrier")}
        if all(values.values()):
            shown = {part: decimal(value, 1) for part, value in values.items() if value is not None}
            sun, ring = facts.layout.set_named(name).weights
            way = (
                say(
                    "A planet pushes sun and ring with equal forces. So their torques are in the proportion of their tooth counts and act the same "
                    "way, and the carrier's acts against both."
                )
                if sun * ring > 0
                else say(
                    "Two planets in mesh push sun and ring with equal forces, but in opposite ways. So their torques are in the proportion of "
                    "their tooth counts, and the carrier's is the difference."
                )
            )
            here = say(
                "Here the sun of {set} gets {sun} N·m from outside the set, the ring {ring} and the carrier {carrier}. Add them up.",
                set=escaped(set_words(name)),
                **shown,
            )
            heading = say("### Inside {set}", set=escaped(set_words(name)))
            yield prose("torque-set", "by-hand", heading, f"{way} {here}")
            yield code(
                "torque-set-numbers",
                "worked",
                working_title(say("sun, ring and carrier of one set")),
                f'sun, ring, carrier = (found.members[f"{name}.{{part}}"] for part in ("sun", "ring", "carrier"))',
                "lesson.results(",
                result(say("Sun"), "float(sun)", *_UNIT),
                result(say("Ring"), "float(ring)", *_UNIT),
                result(say("Carrier"), "float(carrier)", *_UNIT),
                result(say("Ring from the sun, by the tooth counts"), f"float(sun * Fraction({ring}, {sun}))", *_UNIT),
                result(say("Sum of the three"), "sun + ring + carrier", _UNIT[0]),
                ")",
            )
            return


def _wrong(settled: list[tuple[RangeFact, Torques]]) -> Iterator[str]:
    low = next((drive for drive, _ in settled if drive.ratio > 1), None)
    if low is not None:
        yield say(
            "{value} N·m in range {range} is the *output* torque; the housing supplies what the input does not: the difference.",
            value=fixed(TORQUE * low.ratio, 1),
            range=escaped(low.name),
        )
    back = next((drive for drive, _ in settled if drive.ratio < 0), None)
    if back is not None:
        yield say(
            "In range {range} input and output push the train the same way, so the housing holds against both: {value} N·m would subtract "
            "where it adds.",
            range=escaped(back.name),
            value=fixed(TORQUE * (abs(back.ratio) - 1), 1),
        )
    over = next((drive for drive, _ in settled if 0 < drive.ratio < 1), None)
    if over is not None:
        yield say(
            "In range {range} the output torque is the smaller one, and the housing pushes backward.", range=escaped(over.name)
        )
    yield say("{torque} N·m is the input torque: not every element carries just that.", torque=TORQUE)


def _path(facts: Facts, settled: list[tuple[RangeFact, Torques]]) -> Iterator[Cell]:
    if len(facts.layout.sets) < 2:
        return
    fact = next((drive for drive, loads in settled if loads.recirculation), settled[0][0])
    around = next((loads.recirculation for drive, loads in settled if drive is fact), None)
    name = escaped(fact.name)
    if around:
        more = say(
            "In range {range} power goes round inside the train: {share} times the power that enters comes back to where it left. Find the loop.",
            range=name,
            share=decimal(around),
        )
    elif len(fact.story.working) > 1:
        more = say("Follow range {range} from the input to the output: which set passes on most?", range=name)
    else:
        more = say("Follow range {range} from the input to the output: through which members does all of it go?", range=name)
    idle = [drive for drive in facts.drives if 0 < len(drive.story.idle) < len(facts.layout.sets)]
    rest = ""
    if idle:
        drive = idle[0]
        rest = say_n(
            "In range {range}, {sets} carries nothing.",
            "In range {range}, {sets} carry nothing.",
            len(drive.story.idle),
            range=escaped(drive.name),
            sets=escaped(sets_words(drive.story.idle)),
        )
    yield prose("path", "", say("### The path of the power"), " ".join(filter(None, (more, rest))))
    yield code("path-picture", "picture", f'lesson.show("{facts.file}", "power", range_name={quoted(fact.name)})')


def _newtons(value: Fraction | None) -> str:
    assert value is not None
    return f"{fixed(abs(value), 1)} N·m"


def _latex(text: str) -> str:
    return text.replace("−", "-")
