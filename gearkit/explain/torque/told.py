"""The torques of a range in sentences and formulas, each with the one that it follows from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from gearkit.explain.clauses import by_rank, own_words, way_of
from gearkit.explain.formulas.equations import gathered, letter_result, shares
from gearkit.explain.formulas.forms import Form
from gearkit.explain.formulas.maths import Maths, equation, linear, number, over, product, torque, total
from gearkit.explain.shafts import Merged
from gearkit.explain.step import Step, StoryPart
from gearkit.explain.torque.order import LETTER, Balance, Called, Closing, Move
from gearkit.solve.loads.balance import Statics, sides_of
from gearkit.solve.mobility import shaft_columns
from gearkit.text.phrases import MINUS, capital, decimal, listed, member_words, set_words
from gearkit.words.say import later, say
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, PinionKind

_RULES = {
    PinionKind.SINGLE: later(
        "A pinion pushes its sun and its ring with equal forces, and its pin leans on the carrier with both. So the torques on "
        "sun, ring and carrier are in the proportion S : R : −(S + R)."
    ),
    PinionKind.DOUBLE: later(
        "Pinions in meshing pairs push sun and ring in opposite ways, so there the torques on sun, ring and carrier are in the "
        "proportion −S : R : −(R − S)."
    ),
    PinionKind.STEPPED: later(
        "A stepped pinion pushes sun and ring at two radii, so there the torques on sun, ring and carrier are in the "
        "proportion S·Q : R·P : −(S·Q + R·P)."
    ),
    PinionKind.BEVEL: later("A bevel set shares torque equally between its side gears: 1 : 1 : −2."),
}


def torque_steps(merged: Merged, moves: Sequence[Move], statics: Statics, ratio: Fraction) -> list[Step]:
    """Return the steps from the torque on the input to the torque of every loaded set and every applied element.

    Args:
        merged: the shafts.
        moves: from `torque_moves`.
        statics: the torques, for a torque of 1 on the input.
        ratio: the ratio of the range.
    """
    steps = [_output(ratio), _housing(statics)]
    kinds = {merged.layout.set_named(name).pinions for name in _sets(moves)}
    if kinds:
        steps.append(_step(" ".join(say(words) for kind, words in _RULES.items() if kind in kinds)))
    forms: dict[str, Form] = {}
    for move in moves:
        match move:
            case Balance():
                steps.append(_set(merged, move) if "." in move.name else _element(merged, move))
            case Called():
                steps.append(_called(merged, move))
            case Closing():
                steps += _closing(move, forms)
        if not isinstance(move, Closing):
            own = {} if isinstance(move, Called) else {move.name: move.value}
            forms |= {name: form for name, form in {**own, **move.rest}.items() if not form.known}
    return steps + list(_always_held(merged, statics))


def _step(words: str, formulas: Sequence[Maths] = (), letters: Mapping[str, str] | None = None) -> Step:
    return Step(StoryPart.LOAD, words, tuple(formulas), torque_letters=letters or {})


def _sets(moves: Sequence[Move]) -> list[str]:
    names = [move.name.partition(".")[0] for move in moves if isinstance(move, (Balance, Called)) and "." in move.name]
    return list(dict.fromkeys(names))


def _output(ratio: Fraction) -> Step:
    words = say(
        "Torques count + where they act forward. Without losses the power that comes in goes out again, so torque changes as "
        "speed does, the other way round: for a torque of 1 on the input the output gives {torque}. The load pushes back with "
        "as much.",
        torque=decimal(abs(ratio), 4),
    )
    by_ratio = total([(-1, product(Maths("i", "i"), torque(INPUT)))])
    return _step(words, [equation(torque(OUTPUT), by_ratio, _shown(Form(-ratio)))])


def _housing(statics: Statics) -> Step:
    assert statics.output is not None
    assert statics.housing is not None
    sides = total([(1, torque(INPUT)), (1, torque(OUTPUT)), (1, torque(HOUSING))])
    if statics.housing:
        words = say(
            "The train only passes torque on, so all that acts on it from outside adds to zero: the housing gives {torque}.",
            torque=decimal(abs(statics.housing)),
        )
    else:
        words = say(
            "The train only passes torque on, so all that acts on it from outside adds to zero, and the housing gives nothing."
        )
    return _step(words, [equation(sides, number(0)), equation(torque(HOUSING), _shown(Form(statics.housing)))])


def _set(merged: Merged, move: Balance) -> Step:
    words = say(
        "{set_name}: {why}, so the {member} takes {torque}. Then {rest}.",
        set_name=capital(set_words(move.name.partition(".")[0])),
        why=_why(move),
        member=own_words(move.name),
        torque=_said(move.value),
        rest=_rest(move.rest),
    )
    return _step(words, [_sum(move), *_by_shares(merged, move.name, move.rest)])


def _why(move: Balance) -> str:
    own = own_words(move.name)
    match move.terms:
        case ((_, "input"),):
            return say("all of the input's torque goes into the {member}", member=own)
        case ((_, "output"),):
            return say("the {member} alone drives the output", member=own)
        case ((_, name),) if "." in name:
            return say(
                "the {member} is on one shaft with {mate}, and no other torque acts there", member=own, mate=member_words(name)
            )
        case ((_, name),):
            return say("all that {element} carries goes into the {member}", element=name, member=own)
        case _:
            return say("the torques on the shaft of {members} add to zero", members=_shaft_words(move.shaft))


def _shaft_words(shaft: Sequence[str]) -> str:
    return listed(map(member_words, by_rank(shaft)))


def _rest(rest: Mapping[str, Form]) -> str:
    return listed(
        say("the {member} takes {torque}", member=own_words(name), torque=_said(value)) for name, value in rest.items()
    )


def _sum(move: Balance) -> Maths:
    # Nothing else on the shaft: the torque is zero, and there is no sum to show.
    middle = [total([(sign, torque(name)) for sign, name in move.terms])] if move.terms else []
    return equation(torque(move.name), *middle, _shown(move.value))


def _by_shares(merged: Merged, name: str, rest: Mapping[str, Form]) -> Iterator[Maths]:
    known = shares(merged.layout, name.partition(".")[0])
    own_sign, own = known[name.rpartition(".")[2]]
    for other, value in rest.items():
        sign, share = known[other.rpartition(".")[2]]
        torque_ = torque(name) if share.text == own.text else product(over(share, own), torque(name))
        yield equation(torque(other), total([(sign * own_sign, torque_)]), _shown(value))


def _element(merged: Merged, move: Balance) -> Step:
    columns = shaft_columns(merged.layout)
    turning, other = sides_of(merged.layout.element_named(move.name), columns)
    size = move.value.constant if move.value.known else None
    if size == 0:
        words = say("No torque is left for {element}: it carries nothing.", element=move.name)
    elif columns[other] == -1 and size is not None:
        words = say(
            "{element} has to hold {member} against that: it acts {way} with {torque}.",
            element=move.name,
            member=member_words(turning),
            way=way_of(size),
            torque=decimal(abs(size)),
        )
    elif columns[other] == -1:
        told = {"element": move.name, "member": member_words(turning), "torque": _said(move.value)}
        words = say("{element} has to hold {member} against that: it takes {torque}.", **told)
    else:
        words = _carries(move, _said(move.value) if size is None else decimal(abs(size)))
    return _step(words, [_sum(move)])


def _carries(move: Balance, size: str) -> str:
    match move.terms:
        case ((_, name),) if "." in name:
            told = {"member": member_words(name), "element": move.name, "torque": size}
            return say("All that {member} takes goes through {element}: it carries {torque}.", **told)
        case ((_, "input"),):
            return say("All of the input's torque goes through {element}: it carries {torque}.", element=move.name, torque=size)
        case ((_, "output"),):
            return say(
                "All of the output's torque goes through {element}: it carries {torque}.", element=move.name, torque=size
            )
        case ((_, name),):
            told = {"other": name, "element": move.name, "torque": size}
            return say("All that {other} carries goes through {element} too: it carries {torque}.", **told)
        case _:
            told = {"members": _shaft_words(move.shaft), "element": move.name, "torque": size}
            return say("The torques on the shaft of {members} add to zero, so {element} carries {torque}.", **told)


def _called(merged: Merged, move: Called) -> Step:
    words = say(
        "No shaft is left on which just one torque is unknown. Call the torque on {member} {letter}; in {set_name} {rest}.",
        member=member_words(move.name),
        letter=LETTER,
        set_name=set_words(move.name.partition(".")[0]),
        rest=_rest(move.rest),
    )
    return _step(words, list(_by_shares(merged, move.name, move.rest)), {LETTER: move.name})


def _closing(move: Closing, forms: Mapping[str, Form]) -> list[Step]:
    words = say(
        "The torques on the shaft of {members} add to zero too, and that gives {letter}.",
        members=_shaft_words(move.shaft),
        letter=LETTER,
    )
    sides = total([(sign, torque(name)) for sign, name in move.terms])
    formulas = [equation(sides, number(0)), gathered(move.condition), letter_result(LETTER, move.value)]
    put_in = {name: form.at({LETTER: move.value}) for name, form in forms.items()}
    taken = listed(
        say("{member} takes {torque}", member=member_words(name), torque=decimal(value)) for name, value in put_in.items()
    )
    with_x = say("With {letter} put in, {taken}.", letter=LETTER, taken=taken)
    return [
        _step(words, formulas),
        _step(with_x, [equation(torque(name), _shown(Form(value))) for name, value in put_in.items()]),
    ]


def _always_held(merged: Merged, statics: Statics) -> Iterator[Step]:
    columns = shaft_columns(merged.layout)
    for member in merged.layout.members:
        size = statics.members[member]
        if columns[member] == -1 and size:
            told = {"member": member_words(member), "way": way_of(size), "torque": decimal(abs(size))}
            yield _step(say("The housing always holds {member}: it acts {way} on it with {torque}.", **told))


def _said(value: Form) -> str:
    return decimal(value.constant) if value.known else linear(value.constant, value.parts).text


def _shown(value: Form) -> Maths:
    if not value.known:
        return linear(value.constant, value.parts)
    text = decimal(value.constant, 4)
    return Maths(text, text.replace(MINUS, "-"), text.startswith(MINUS))
