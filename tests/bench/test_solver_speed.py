"""How fast the solver is, beside SymPy doing the same in the same run. Shows figures; never fails on time."""

from __future__ import annotations

import random
import statistics
import subprocess
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import replace
from fractions import Fraction
from functools import partial
from itertools import combinations as subsets
from typing import Any

import pytest
import sympy
from sympy.core.cache import clear_cache

from gearkit.explain.story import tell
from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.ratios import combinations, ratio
from gearkit.solve.speeds import speeds
from gearkit.solve.teeth.targets_file import find_targets
from gearkit.solve.teeth.tooth_counts import search
from gearkit.train.catalogue import find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, Verdict
from tests.support.random_layouts import random_layout

LAYOUTS = ("bench_set", "Q24", "Q36", "Q48")
ROUNDS = 3
WARM = 20


def driving(layout: Layout) -> list[tuple[str, ...]]:
    return [r.engaged for r in layout.ranges if assess(layout, r.engaged).verdict is Verdict.RANGE]


def best_of(work: Callable[[], object], rounds: int = WARM) -> float:
    """The shortest of some rounds: the machine may be busy, the work is always the same."""
    shortest = float("inf")
    for _ in range(rounds):
        start = time.perf_counter()
        work()
        shortest = min(shortest, time.perf_counter() - start)
    return shortest


def shaft_symbols(layout: Layout, engaged: Sequence[str]) -> dict[str, Any]:
    """One unknown a shaft after joins and applied elements, the housing at 0: the smallest system SymPy can be given."""
    groups = layout.groups.copy()
    for name in engaged:
        groups.join(*layout.element_named(name).between)
    names = {member: groups.name_of(member) for member in (*layout.members, INPUT, OUTPUT, HOUSING)}
    unknown = {name: sympy.Symbol(f"w_{name.replace('.', '_')}") for name in set(names.values())}
    unknown[names[HOUSING]] = sympy.Integer(0)
    return {member: unknown[name] for member, name in names.items()}


def by_sympy(layout: Layout, engaged: Sequence[str]) -> Any:
    """The ratio in tooth symbols with `sympy.solve` and `cancel`."""
    speed = shaft_symbols(layout, engaged)
    equations = []
    for number, pset in enumerate(layout.sets, start=1):
        sun, ring = sympy.symbols(f"S{number} R{number}", positive=True)
        s, c, r = (speed[f"{pset.name}.{member}"] for member in ("sun", "carrier", "ring"))
        equations.append(sympy.expand(sun * (s - c) + ring * (r - c)))
    equations = [equation for equation in equations if equation != 0]
    driven = [equation.subs(speed[INPUT], 1) for equation in equations]
    unknowns = sorted({symbol for symbol in speed.values() if symbol not in (0, speed[INPUT])}, key=str)
    if speed[OUTPUT] == speed[INPUT]:
        return sympy.Integer(1)
    (solution,) = sympy.solve(driven, unknowns, dict=True)
    return sympy.cancel(1 / solution[speed[OUTPUT]])


@pytest.mark.bench
def test_closed_form_of_a_range_beside_sympy_solve(capsys: pytest.CaptureFixture[str]) -> None:
    factors, lines = [], []
    for name in LAYOUTS:
        layout = find(name)
        times: dict[str, list[float]] = {"kit": [], "new": [], "again": []}
        for engaged in driving(layout):
            for _ in range(ROUNDS):
                took, formula = timed(partial(formula_of, layout, engaged))
                times["kit"].append(took)
                # SymPy keeps what it has seen; a range is worked out once with an empty and once with a full memory.
                clear_cache()
                for key in ("new", "again"):
                    took, expected = timed(partial(by_sympy, layout, engaged))
                    times[key].append(took)
            assert sympy.cancel(sympy.sympify(formula, locals=positive(formula)) - expected) == 0
        kit, new, again = (statistics.median(values) for values in times.values())
        factors.append(again / kit)
        lines.append(f"  {name:10s} {kit * 1e6:8.0f} {new * 1e6:10.0f} {again * 1e6:10.0f} {new / kit:8.0f} {again / kit:8.0f}")
    with capsys.disabled():
        print("\nclosed form of a range, median us: kit, sympy.solve with empty and with full memory, times faster")
        print("\n".join(lines))
    assert len(factors) == len(LAYOUTS)


def timed(work: Callable[[], Any]) -> tuple[float, Any]:
    start = time.perf_counter()
    found = work()
    return time.perf_counter() - start, found


def formula_of(layout: Layout, engaged: Sequence[str]) -> str:
    found = ratio(layout, engaged)
    assert found is not None
    return found.formula


def positive(formula: str) -> dict[str, Any]:
    names = {f"{letter}{number}" for letter in "SR" for number in range(1, 5)}
    return {name: sympy.Symbol(name, positive=True) for name in names if name in formula}


def analysed(layout: Layout, stories: bool = True) -> int:
    """States, ratios with formulas, speeds, torques with losses, power flow, and the story of every range."""
    parts = 0
    for item in layout.ranges:
        found = ratio(layout, item.engaged)
        parts += len(found.formula) if found else 0
        parts += len(speeds(layout, item.engaged).members)
        parts += len(torques(layout, item.engaged).members)
        if stories:
            parts += len(tell(layout, item.name).steps)
    return parts


def by_sympy_numbers(layout: Layout) -> list[Any]:
    """Ratio, speeds and lossy torques of every range with `sympy.solve`; no story, no power flow, signs given."""
    found = []
    for engaged in driving(layout):
        expression = by_sympy(layout, engaged)
        speed = shaft_symbols(layout, engaged)
        equations = [
            pset.weights[0] * (speed[f"{pset.name}.sun"] - speed[f"{pset.name}.carrier"])
            + pset.weights[1] * (speed[f"{pset.name}.ring"] - speed[f"{pset.name}.carrier"])
            for pset in layout.sets
        ]
        turning = sympy.solve([*equations, speed[INPUT] - 1], dict=True)
        found.append((expression, turning, torque_balance(layout, engaged)))
    return found


def torque_balance(layout: Layout, engaged: Sequence[str]) -> Any:
    """The torques with `sympy.solve`: one unknown a set, an element, the output; one equation a permanent shaft."""
    signs = torques(layout, engaged).power
    assert signs is not None
    groups = layout.groups
    sums: dict[str, Any] = {}

    def act(member: str, torque: Any) -> None:
        sums[groups.name_of(member)] = sums.get(groups.name_of(member), 0) + torque

    for pset in layout.sets:
        share = sympy.Symbol(f"t_{pset.name}")
        rolling = signs.rolling[pset.name] or 0
        factor = sympy.Rational(98, 100) ** ((rolling > 0) - (rolling < 0))
        sun, ring = pset.weights[0], pset.weights[1] * factor
        for member, part in (("sun", sun), ("ring", ring), ("carrier", -sun - ring)):
            act(f"{pset.name}.{member}", -part * share)
    for name in engaged:
        first, second = layout.element_named(name).between
        act(first, sympy.Symbol(f"m_{name}"))
        act(second, -sympy.Symbol(f"m_{name}"))
    act(OUTPUT, sympy.Symbol("T_out"))
    act(INPUT, 1)
    return sympy.solve([total for shaft, total in sums.items() if shaft != groups.name_of(HOUSING)], dict=True)


@pytest.mark.bench
def test_full_analysis_of_every_range_of_the_four_set_layout(capsys: pytest.CaptureFixture[str]) -> None:
    layout = find("Q48")
    analysed(layout)
    full, numbers = best_of(lambda: analysed(layout)), best_of(lambda: analysed(layout, stories=False))
    clear_cache()
    start = time.perf_counter()
    found = by_sympy_numbers(layout)
    theirs = time.perf_counter() - start
    balance = found[0][2][0][sympy.Symbol("T_out")]
    assert Fraction(str(balance)) == torques(layout, driving(layout)[0]).output_torque
    with capsys.disabled():
        print(
            f"\nQ48, all {len(layout.ranges)} ranges, warm: full analysis with stories {full * 1e3:.1f} ms (aim 50); without "
            f"stories {numbers * 1e3:.1f} ms; ratios, speeds and torques with sympy.solve {theirs * 1e3:.0f} ms, "
            f"{theirs / numbers:.0f} times"
        )


def many_elements(sets: int, seed: int) -> Layout:
    """A layout with 16 elements between shafts drawn at random."""
    draw = random.Random(seed)
    base = random_layout(f"bench {seed}", sets)
    groups = base.groups
    shafts = sorted({groups.name_of(m) for m in (*base.members, INPUT, OUTPUT)} - {groups.name_of(HOUSING)})
    pairs = [(s, HOUSING) for s in shafts if s != groups.name_of(OUTPUT)] + list(subsets(shafts, 2))
    elements = tuple(
        Element("ABCDEFGHJKLMNPQR"[number], ElementKind.BRAKE if HOUSING in pair else ElementKind.CLUTCH, pair)
        for number, pair in enumerate(draw.sample(pairs, 16))
    )
    return replace(base, elements=elements, ranges=())


@pytest.mark.bench
def test_all_combinations_of_sixteen_elements(capsys: pytest.CaptureFixture[str]) -> None:
    lines = []
    for sets in (3, 5, 8):
        layout = many_elements(sets, sets)
        start = time.perf_counter()
        found = list(combinations(layout))
        taken = time.perf_counter() - start
        assert len(found) == 2**16
        sample = found[:: 2**16 // 64]
        start = time.perf_counter()
        alone = [assess(layout, engaged) for engaged, _ in sample]
        each = (time.perf_counter() - start) / len(sample)
        assert alone == [mobility for _, mobility in sample]
        ranges = sum(mobility.verdict is Verdict.RANGE for _, mobility in found)
        lines.append(f"  {sets} sets: {taken:.2f} s, {ranges} ranges; one by one {each * 2**16:.1f} s")
    with capsys.disabled():
        print("\nall 65 536 combinations of 16 elements judged")
        print("\n".join(lines))


WORK: dict[str, Callable[[Layout, Sequence[str]], object]] = {
    "verdict": assess,
    "formula": formula_of,
    "speeds": speeds,
    "torques": torques,
}


@pytest.mark.bench
def test_growth_with_the_number_of_sets(capsys: pytest.CaptureFixture[str]) -> None:
    lines = []
    for sets in range(1, 9):
        times: dict[str, list[float]] = {what: [] for what in WORK}
        for seed in range(4):
            layout = random_layout(f"growth {seed}", sets)
            for engaged in driving(layout)[:3]:
                for what, work in WORK.items():
                    times[what].append(best_of(partial(work, layout, engaged), 3))
        cells = "".join(f"{statistics.median(values) * 1e6:12.0f}" for values in times.values())
        lines.append(f"  {sets:4d}{cells}")
    with capsys.disabled():
        print("\none range, median us\n  sets     verdict     formula      speeds     torques")
        print("\n".join(lines))
    assert len(lines) == 8


@pytest.mark.bench
def test_tooth_counts_with_proof(capsys: pytest.CaptureFixture[str]) -> None:
    targets = find_targets("q36_even_steps")
    start = time.perf_counter()
    found = search(targets)
    taken = time.perf_counter() - start
    assert found.proved
    with capsys.disabled():
        print(f"\ntooth counts of Q36: best of {found.combinations:,} proved in {taken:.2f} s, {found.boxes:,} boxes")


@pytest.mark.bench
def test_importing_the_package_and_the_solver(capsys: pytest.CaptureFixture[str]) -> None:
    measure = (
        "import sys, time; start = time.perf_counter(); import {what}; taken = time.perf_counter() - start; "
        "print(taken, sorted({{'sympy', 'numpy', 'matplotlib', 'ipywidgets', 'hypothesis'}} & set(sys.modules)))"
    )
    lines = []
    for what in (
        "gearkit",
        "gearkit.solve.loads.torques",
        "gearkit.solve.service.diagnosis",
        "gearkit.solve.teeth.tooth_counts",
    ):
        taken = []
        for _ in range(ROUNDS):
            result = subprocess.run(
                [sys.executable, "-c", measure.format(what=what)], capture_output=True, text=True, check=True
            )
            seconds, heavy = result.stdout.split(" ", 1)
            assert heavy.strip() == "[]"
            taken.append(float(seconds))
        lines.append(f"  import {what}: {min(taken) * 1e3:.1f} ms")
    with capsys.disabled():
        print("\nnothing heavy is loaded by any of these (aim for gearkit: 60 ms)")
        print("\n".join(lines))
