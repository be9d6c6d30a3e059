"""Rules about torque, heat and steps of a layout, worked out by the solver on the drawn tooth counts."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Any

from gearkit.answers.draw_numbers.pool import layout_named, plain_name
from gearkit.answers.draw_numbers.seeded_random import SeededRandom
from gearkit.answers.families.loads.efficiency import TABLE
from gearkit.answers.families.loads.torques import carried
from gearkit.answers.families.steps import ordered
from gearkit.answers.item import ONE_PART, AnswerKind, Item
from gearkit.answers.judge.checkers import Checker, Key, Part, WrongForm
from gearkit.answers.kinds.choices import Choices
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker
from gearkit.answers.layouts.family import ask_of
from gearkit.answers.rules.built_item import BuiltItem, DrawnValues
from gearkit.answers.rules.trains import chart_of, signed
from gearkit.text.phrases import fixed
from gearkit.words.say import say

_CASES = (("D", "R"), ("F", "1"), ("B", "2"), ("C", "4"))
_MOST_POWER = 250
_YES_NO = ("yes", "no")


def order_torque(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Four elements of the Q24 in order of the torque that they carry in given ranges.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    ask, layout = ask_of(item, drawn, seeded), drawn.train
    sizes, outputs = {}, {}
    cases: tuple[tuple[str, str], ...] = _CASES
    if plain_name(drawn.layout_name) != drawn.layout_name:
        own = {
            drawn_element.name: set(drawn_element.between)
            for drawn_element in layout_named(plain_name(drawn.layout_name)).elements
        }
        kinds = {
            drawn_element.name: drawn_element.kind for drawn_element in layout_named(plain_name(drawn.layout_name)).elements
        }
        cases = tuple(
            (
                next(
                    drawn_element.name
                    for drawn_element in layout.elements
                    if (set(drawn_element.between), drawn_element.kind) == (own[name], kinds[name])
                ),
                place,
            )
            for name, place in _CASES
        )
    for element, range_name in cases:
        torque = carried(element, range_name)(ask.train)
        if torque is None:
            return None
        sizes[element], outputs[element] = torque, abs(ask.train.row(range_name).ratio)
    order, wrong = ordered(sizes), ordered(outputs)
    if order is None or wrong is None or wrong == order:
        return None
    choices = Choices(tuple(sorted(sizes)))
    forms = tuple(WrongForm(mistake.code, {ONE_PART: wrong}, mistake.sentence) for mistake in item.named_mistakes)
    part = Part(ONE_PART, "", AnswerKind.ORDERING, "", choices.options, Fraction(item.marks))
    key = Key({ONE_PART: OrderChecker(choices, order, item.marks)}, forms)
    named = {"1": say("first"), "2": say("second"), "4": say("fourth"), "R": say("reverse")}
    told = ", ".join(say("{element} in {named}", element=element, named=named[place]) for element, place in sorted(cases))
    words = {"chart": chart_of(drawn), "cases": told} if cases is not _CASES else {"chart": chart_of(drawn)}
    return BuiltItem((part,), key, words)


def hottest(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The range whose meshes turn the largest share of power into heat.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    rows = [say("| range | ratio | efficiency | power going round, percent |"), "| --- | --- | --- | --- |"]
    efficiencies: dict[str, Fraction] = {}
    train = ask_of(item, drawn, seeded).train
    for row in train.drives:
        loads = train.torques(row, TABLE)
        if loads is None or loads.efficiency is None or loads.recirculation is None:
            return None
        efficiencies[row.name] = loads.efficiency
        round_and_round = round(100 * loads.recirculation)
        rows.append(f"| {row.name} | {signed(row.ratio)} | {fixed(loads.efficiency, 4)} | {round_and_round} |")
    coldest_first = sorted(efficiencies, key=efficiencies.__getitem__)
    worst, next_worst = coldest_first[:2]
    # The table shows four decimals; the worst has to stand out in it, and must not be the greatest ratio as well.
    if efficiencies[next_worst] - efficiencies[worst] < Fraction(1, 1000) or worst == "1":
        return None
    names = tuple(efficiencies)
    forms = tuple(WrongForm(mistake.code, {ONE_PART: "1"}, mistake.sentence) for mistake in item.named_mistakes)
    part = Part(ONE_PART, say("range"), AnswerKind.CHOICE, "", names, Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(Choices(names), worst)}, forms), {"list": "\n".join(rows)})


def hottest_at_powers(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The range whose meshes make most heat where another power goes into each.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: which range it is, and the powers.
    """
    losses: dict[str, Fraction] = {}
    ratios: dict[str, Fraction] = {}
    train = ask_of(item, drawn, seeded).train
    for row in train.drives:
        loads = train.torques(row, TABLE)
        if loads is None or loads.efficiency is None:
            return None
        losses[row.name], ratios[row.name] = 1 - Fraction(round(10**4 * loads.efficiency), 10**4), row.ratio
    hottest = seeded.pick([name for name, lost in losses.items() if lost])
    powers = {name: 10 + 5 * seeded.below(11) for name in losses}
    # A tenth more than the next, so that a rounded step does not decide.
    next_to = max(powers[name] * lost for name, lost in losses.items() if name != hottest)
    powers[hottest] = 5 * (1 + int(next_to * Fraction(11, 10) / losses[hottest] / 5))
    most_power, most_lost = max(powers, key=powers.__getitem__), max(losses, key=losses.__getitem__)
    wrong = [name for name in dict.fromkeys((most_lost, most_power)) if name != hottest]
    if powers[hottest] > _MOST_POWER or not wrong:
        return None
    rows = [say("| range | ratio | power that goes in, kW | efficiency |"), "| --- | --- | --- | --- |"]
    rows += [f"| {name} | {signed(ratios[name])} | {powers[name]} | {fixed(1 - lost, 4)} |" for name, lost in losses.items()]
    forms = tuple(
        WrongForm(mistake.code, {ONE_PART: name}, mistake.sentence) for mistake in item.named_mistakes for name in wrong
    )
    part = Part(ONE_PART, say("range"), AnswerKind.CHOICE, "", tuple(losses), Fraction(item.marks))
    return BuiltItem((part,), Key({ONE_PART: ChoiceChecker(Choices(tuple(losses)), hottest)}, forms), {"list": "\n".join(rows)})


def order_some_steps(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """Five shifts of a layout, skip shifts among them, from the largest step to the smallest.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: which five shifts, and in which order they are listed.
    """
    forward = ask_of(item, drawn, seeded).train.forward
    shifts = {f"{low.name}-{high.name}": (low.ratio, high.ratio) for low, high in combinations(forward, 2)}
    chosen = seeded.sample(tuple(shifts), 5)
    order = ordered({name: shifts[name][0] / shifts[name][1] for name in chosen})
    wrong = ordered({name: shifts[name][0] - shifts[name][1] for name in chosen})
    if order is None or wrong is None or order == wrong:
        return None
    choices = Choices(chosen)
    forms = tuple(WrongForm(mistake.code, {ONE_PART: wrong}, mistake.sentence) for mistake in item.named_mistakes)
    part = Part(ONE_PART, say("steps, largest first"), AnswerKind.ORDERING, "", chosen, Fraction(item.marks))
    key = Key({ONE_PART: OrderChecker(choices, order, item.marks)}, forms)
    return BuiltItem((part,), key, {"chart": chart_of(drawn, with_ratios=True), "list": ", ".join(chosen)})


def order_steps(item: Item, drawn: DrawnValues, seeded: SeededRandom) -> BuiltItem | None:
    """The steps of a layout from largest to smallest, and whether they fall all the way.

    Args:
        item: the item.
        drawn: the drawn layout.
        seeded: not used.
    """
    forward = ask_of(item, drawn, seeded).train.forward
    steps = {f"{low.name}-{high.name}": low.ratio / high.ratio for low, high in pairwise(forward)}
    falls = {f"{low.name}-{high.name}": low.ratio - high.ratio for low, high in pairwise(forward)}
    order, wrong = ordered(steps), ordered(falls)
    if order is None or wrong is None or order == wrong:
        return None
    falling = "yes" if order == tuple(steps) else "no"
    choices = Choices(tuple(steps))
    # Whether they fall is guessed half the time: the order carries the marks.
    parts = (
        Part("order", say("steps, largest first"), AnswerKind.ORDERING, "", choices.options, Fraction(item.marks - 1)),
        Part("falling", say("do they fall all the way?"), AnswerKind.CHOICE, "", _YES_NO),
    )
    checkers: dict[str, Checker] = {
        "order": OrderChecker(choices, order, item.marks - 1),
        "falling": ChoiceChecker(Choices(_YES_NO), falling),
    }
    forms = tuple(WrongForm(mistake.code, {"order": wrong}, mistake.sentence) for mistake in item.named_mistakes)

    def falls_all_the_way(given: Mapping[str, Any]) -> str | None:
        order = given.get("order")
        return order and ("yes" if tuple(order) == tuple(steps) else "no")

    key = Key(checkers, forms, follows={"falling": falls_all_the_way})
    return BuiltItem(parts, key, {"chart": chart_of(drawn, with_ratios=True)})


RULES: dict[str, Callable[[Item, DrawnValues, SeededRandom], BuiltItem | None]] = {
    "order_torque": order_torque,
    "hottest": hottest,
    "hottest_at_powers": hottest_at_powers,
    "order_steps": order_steps,
    "order_some_steps": order_some_steps,
}
