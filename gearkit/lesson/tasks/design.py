"""Design two cross-joined sets for a bench model: predict which demand fails first, then see the report card."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import floor, pi, sin

from gearkit.draw.front import front_view
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setup, Table
from gearkit.text.phrases import capital, decimal, listed, localized, member_label, set_words
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say

PASSED = later("none: all pass")
FEWEST_TEETH = 17
LEAST_GAP = 1.5
# Settings that are words in the name of a case.
_IN_A_CASE = (later("module"), later("plate"), later("wall"), later("line"), later("backlash"))
LEAST_LINES = 3
TOLERANCE = Fraction(2, 100)
MODULES = ("1", "1.25", "1.5", "2", "2.5", "3")


@dataclass(frozen=True)
class Demand:
    """One line of the report card.

    Args:
        name: what is asked.
        passed: whether the design meets it.
        figures: the numbers that say so.
    """

    name: str
    passed: bool
    figures: str


class DesignTask(PredictionTask):
    """Set tooth counts and sizes of both sets; predict the first demand that fails.

    Args:
        first: ratio wanted in first.
        reverse: size of the ratio wanted in reverse.
    """

    def __init__(self, first: Fraction = Fraction(270, 100), reverse: Fraction = Fraction(280, 100)) -> None:
        self._first, self._reverse = first, reverse
        counts = [
            Number(f"{letter}{k}", f"{word} {k}", "", Fraction(low), Fraction(high), Fraction(1), Fraction(start))
            for k, starts in ((1, (30, 28, 3)), (2, (48, 17, 4)))
            for letter, word, low, high, start in (
                ("S", say("Sun teeth"), 20, 60, starts[0]), ("P", say("Planet teeth"), 14, 36, starts[1]), ("N", say("Planets"), 3, 5, starts[2]),
            )
        ]  # fmt: skip
        super().__init__(
            say("a bench model"),
            say("Wanted: first {first}, reverse −{reverse}, each within 2 %, in two cross-joined sets. Read the report card from the top: which demand is the first that fails?", first=decimal(first), reverse=decimal(reverse)),
            (
                *counts,
                Choice("module", say("Module, mm"), MODULES, "1.5"),
                Number("plate", say("Plate"), "mm", Fraction(100), Fraction(250), Fraction(10), Fraction(150)),
                Number("wall", say("Wall beyond the ring's roots"), "mm", Fraction(6), Fraction(10), Fraction(1), Fraction(8)),
                Number("line", say("Width of a printed line"), "mm", Fraction(40, 100), Fraction(60, 100), Fraction(2, 100),
                       Fraction(42, 100)),
                Number("backlash", say("Backlash"), "mm", Fraction(1, 10), Fraction(4, 10), Fraction(1, 10), Fraction(3, 10)),
            ),
        )  # fmt: skip

    def case(self, setup: Setup) -> str:
        """Return the whole design: a change of any part makes a new one."""
        parts = [f"{say(name)} {localized(value) if isinstance(value, str) else decimal(value)}" for name, value in setup.values.items()
                 if not isinstance(value, tuple)]  # fmt: skip
        return ", ".join(parts)

    def asks(self, setup: Setup) -> tuple[Ask, ...]:
        """Return the one question: the first demand that fails."""
        names = tuple(demand.name for demand in self.demands(setup))
        return (Ask("fails", say("The first that fails"), (*names, say(PASSED))),)

    def truth(self, setup: Setup) -> dict[str, Fraction | str]:
        """Return the first demand that fails."""
        return {"fails": next((demand.name for demand in self.demands(setup) if not demand.passed), say(PASSED))}

    def sets(self, setup: Setup) -> tuple[PlanetarySet, PlanetarySet]:
        """Return both sets; the ring follows from sun and planet."""
        first, second = (
            PlanetarySet(
                f"P{k}",
                sun_teeth=int(setup.number(f"S{k}")),
                ring_teeth=int(setup.number(f"S{k}") + 2 * setup.number(f"P{k}")),
                planets=int(setup.number(f"N{k}")),
            )
            for k in (1, 2)
        )
        return first, second

    def demands(self, setup: Setup) -> tuple[Demand, ...]:
        """Return the report card, in the order in which it is read."""
        module = Fraction(setup.word("module"))
        demands = []
        for pset in self.sets(setup):
            demands += _assembly(pset, module)
        (s1, r1), (s2, r2) = (pset.weights for pset in self.sets(setup))
        first, reverse = 1 + Fraction(r2, s2), Fraction(r1, s1)
        demands.append(_ratio(say("first within 2 %"), first, self._first, f"1 + {r2}/{s2}"))
        demands.append(_ratio(say("reverse within 2 %"), reverse, self._reverse, f"{r1}/{s1}"))
        outside = module * (max(r1, r2) + Fraction(5, 2)) + 2 * setup.number("wall")
        plate = setup.number("plate")
        demands.append(
            Demand(
                say("fits the plate"),
                outside <= plate,
                say("outside {outside} mm, plate {plate} mm", outside=decimal(outside, 1), plate=decimal(plate)),
            )
        )
        lines = floor((pi * float(module) / 2 - float(setup.number("backlash")) / 2) / float(setup.number("line")))
        demands.append(
            Demand(
                say("{least_lines} lines across a tooth", least_lines=LEAST_LINES),
                lines >= LEAST_LINES,
                say("{lines} whole lines at the pitch circle", lines=lines),
            )
        )
        return tuple(demands)

    def given(self, setup: Setup) -> Scene:
        """Return both sets from the front, and the report card without its results."""
        teeth = [f"{set_words(p.name)}: S {p.sun_teeth}, R {p.ring_teeth}, N {p.planets}" for p in self.sets(setup)]
        words = say("{join}; module {word} mm.", join="; ".join(teeth), word=localized(setup.word("module")))
        card = Table(say("Report card"), (say("Demand"), say("Result")), tuple((d.name, "?") for d in self.demands(setup)))
        return Scene(words, (card,), self._views(setup))

    def _views(self, setup: Setup) -> tuple[str, ...]:
        return tuple(front_view.picture(pset, size=300).svg() for pset in self.sets(setup))

    def found(self, setup: Setup) -> Scene:
        """Return the report card with its numbers, and the bill of gears."""
        demands = self.demands(setup)
        failed = [demand.name for demand in demands if not demand.passed]
        words = (
            say("Fails: {failed}.", failed=listed(failed)) if failed else say("All demands are met; this design can be made.")
        )
        rows = tuple((d.name, say("✓ pass") if d.passed else say("○ fail"), d.figures) for d in demands)
        marked = frozenset(number for number, demand in enumerate(demands) if not demand.passed)
        card = Table(say("Report card"), (say("Demand"), say("Result"), say("Numbers")), rows, marked)
        return Scene(words, (card, self._bill(setup), self._ranges(setup)), self._views(setup))

    def _bill(self, setup: Setup) -> Table:
        module = Fraction(setup.word("module"))
        rows = []
        for pset in self.sets(setup):
            sun, ring = pset.weights
            planet = (ring - sun) // 2
            sizes = (("sun", 1, sun, 2), ("planet", pset.planets, planet, 2), ("ring", 1, ring, -2))
            for name, count, teeth, tip in sizes:
                cells = (module * teeth, module * (teeth + tip))
                rows.append(
                    (member_label(f"{pset.name}.{name}"), str(count), str(teeth), *(decimal(cell, 2) for cell in cells))
                )
        head = (say("Gear"), say("Pieces"), say("Teeth"), say("Pitch diameter, mm"), say("Tip diameter, mm"))
        return Table(say("Bill of gears"), head, tuple(rows))

    def _ranges(self, setup: Setup) -> Table:
        (s1, r1), (s2, r2) = (pset.weights for pset in self.sets(setup))
        ratios = (
            (say("first"), 1 + Fraction(r2, s2)), (say("second"), 1 + Fraction(r2 * s1, s2 * (s1 + r1))), (say("third"), Fraction(1)),
            (say("fourth"), Fraction(r1, s1 + r1)), (say("reverse"), -Fraction(r1, s1)),
        )  # fmt: skip
        return Table(say("Ranges of the pair"), tuple(name for name, _ in ratios), (tuple(decimal(i) for _, i in ratios),))


def _assembly(pset: PlanetarySet, module: Fraction) -> list[Demand]:
    sun, ring = pset.weights
    planets = pset.planets or 1
    planet = (ring - sun) // 2
    gap = float(module) * ((sun + planet) * sin(pi / planets) - (planet + 2))
    name = capital(set_words(pset.name))
    return [
        Demand(
            say("{name}: planets equally spaced", name=name), (sun + ring) % planets == 0, f"(S + R)/N = {sun + ring}/{planets}"
        ),
        Demand(
            say("{name}: planet tips clear by {least_gap} mm", name=name, least_gap=decimal(LEAST_GAP)),
            gap >= LEAST_GAP,
            say("gap {gap} mm", gap=decimal(gap, 2)),
        ),
        Demand(
            say("{name}: at least {fewest_teeth} teeth", name=name, fewest_teeth=FEWEST_TEETH),
            min(sun, planet) >= FEWEST_TEETH,
            say("sun {sun}, planet {planet}", sun=sun, planet=planet),
        ),
    ]


def _ratio(name: str, value: Fraction, wanted: Fraction, formula: str) -> Demand:
    off = 100 * (value - wanted) / wanted
    passed = abs(value - wanted) <= TOLERANCE * wanted
    return Demand(
        name,
        passed,
        say(
            "{formula} = {value}, wanted {wanted}, {off} % off",
            formula=formula,
            value=decimal(value),
            wanted=decimal(wanted),
            off=decimal(off, 1),
        ),
    )
