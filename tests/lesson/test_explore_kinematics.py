"""What the fault, shift and tooth-count panels compute in the browser is what the solver says."""

from __future__ import annotations

import random
from fractions import Fraction
from itertools import permutations, product
from math import cos, dist, sin
from typing import Any

import pytest

from gearkit.draw.front.front_geometry import arrange, geometry
from gearkit.lesson import one_set
from gearkit.lesson.panels.spec import train_spec
from gearkit.solve.one_way import working
from gearkit.solve.service.diagnosis import Reading, diagnose
from gearkit.solve.service.faults import FaultTable, fault_table, with_faults
from gearkit.solve.service.shifts import shift
from gearkit.solve.teeth.assembly import assembly, pairs_assembly
from gearkit.solve.teeth.gear_choices import GearChoice, Limits, choices
from gearkit.train import catalogue
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import LayoutError
from gearkit.words.terms import (
    HOUSING,
    INPUT,
    MEMBERS,
    OUTPUT,
    Drive,
    ElementKind,
    FaultMode,
    FreeDirection,
    PinionKind,
    SourceKind,
    Verdict,
)
from tests.lesson import javascript
from tests.support.amounts import amount
from tests.support.random_layouts import one_way_layout

NAMES = ("Q24", "Q36", "Q48")


def text(value: Fraction | None) -> str | None:
    return None if value is None else str(value)


# One-way clutches

WORKING = """
return payload.map(({ spec, applied, drive }) => {
  const { working, Memory } = module_one_way;
  const found = working(new Memory(spec), applied, drive);
  return [found.holding, found.verdict, found.ratio === null ? null : found.ratio.toString()];
});
"""


def with_one_way_clutches(seeded: random.Random) -> Layout:
    """Return a train of two or three sets in which three elements are one-way clutches."""
    while True:
        sets = tuple(PlanetarySet(f"P{k + 1}", seeded.choice([PinionKind.SINGLE, PinionKind.SINGLE, PinionKind.DOUBLE]),
                                  seeded.randint(20, 50), seeded.randint(56, 100)) for k in range(seeded.randint(2, 3)))  # fmt: skip
        members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
        joins = ((INPUT, seeded.choice(members)), (OUTPUT, seeded.choice(members)),
                 *(tuple(seeded.sample(members, 2)) for _ in range(len(sets) - 1)))  # fmt: skip
        elements = []
        for name in "ABCDEF"[: seeded.randint(4, 6)]:
            kind = ElementKind.ONE_WAY_CLUTCH if name in "ABD" else seeded.choice([ElementKind.BRAKE, ElementKind.CLUTCH])
            held = kind is ElementKind.BRAKE or (kind is ElementKind.ONE_WAY_CLUTCH and seeded.random() < 0.7)
            pair = (seeded.choice(members), HOUSING) if held else (seeded.choice([INPUT, *members]), seeded.choice(members))
            elements.append(Element(name, kind, pair, seeded.choice(list(FreeDirection))))
        try:
            return Layout("random train", sets, joins, tuple(elements), (), Source(SourceKind.OWN, "drawn for a test"))
        except LayoutError:
            continue


def test_one_way_clutches_hold_and_overrun_in_the_browser_as_in_the_solver() -> None:
    seeded = random.Random("one-way clutches in the browser")
    asked = []
    for _ in range(amount(160, 70)):
        layout = with_one_way_clutches(seeded)
        free = [element.name for element in layout.elements if element.kind is not ElementKind.ONE_WAY_CLUTCH]
        for _ in range(4):
            asked.append((layout, [name for name in free if seeded.random() < 0.3], seeded.choice(list(Drive))))
    payload = [
        {"spec": train_spec(layout), "applied": applied, "drive": 1 if drive is Drive.DRIVE else -1}
        for layout, applied, drive in asked
    ]
    held = set()
    for (layout, applied, drive), found in zip(asked, javascript.run(["one_way"], WORKING, payload), strict=True):
        here = working(layout, applied, drive)
        assert found == [list(here.holding), here.verdict.value, text(here.ratio)], (layout, applied, drive)
        held.add((len(here.holding), drive, here.verdict is Verdict.RANGE))
    # Something is shown only if one clutch and two clutches held, driving and coasting.
    assert {(size, drive, True) for size, drive in product((1, 2), Drive)} <= held


# Faults

FAULTS = """
return payload.map((spec) => {
  const { Memory } = module_one_way;
  const memory = new Memory(spec);
  const shown = (value) => (value === null ? null : value.toString());
  return spec.elements.flatMap((element) => module_faults.modesOf(element).map((mode) => {
    const fault = { element: element.name, mode };
    return [fault.element, mode, spec.ranges.map((range) => {
      const each = module_faults.faultCase(memory, range, fault);
      return [each.range, each.faulty.engaged, each.faulty.verdict, shown(each.faulty.ratio), shown(each.sound.ratio),
        each.effect, each.actual, each.brakingLost, module_faults.symptom(each), module_faults.unsafe(each)];
    })];
  }));
});
"""


# Layouts of the kit, and some in which one-way clutches block ranges and let them go.
FAULTY = {**{name: catalogue.find(name) for name in NAMES},
          **{f"random {seed}": one_way_layout(f"browser/{seed}", 1 + seed % 3) for seed in range(8)}}  # fmt: skip


@pytest.fixture(scope="module")
def tables() -> dict[str, FaultTable]:
    return {name: fault_table(layout) for name, layout in FAULTY.items()}


def test_every_fault_of_every_range_is_told_as_the_solver_tells_it(tables: dict[str, FaultTable]) -> None:
    found = javascript.run(["faults", "one_way"], FAULTS, [train_spec(layout) for layout in FAULTY.values()])
    seen = set()
    for name, there in zip(FAULTY, found, strict=True):
        table = tables[name]
        here = [
            [fault.element, fault.mode.value, [
                [case.range_name, list(case.faulty.engaged), case.faulty.verdict.value, text(case.faulty.ratio),
                 text(case.sound.ratio), case.effect.value, case.actual_range, case.braking_lost, case.symptom(),
                 case.range_name in table.unsafe(fault)]
                for case in table.of(fault)]]
            for fault in table.faults
        ]  # fmt: skip
        assert there == here
        seen |= {case.effect.value for case in table.cases}
        seen |= {case.symptom().split(":")[0] for case in table.cases if case.sound.note}
    assert {"same", "other range", "neutral", "tie-up"} <= seen
    assert {"tie-up with or without the fault", "drives forward, tie-up without the fault"} <= seen


DIAGNOSE = """
const { Exact } = module_exact;
const exact = (text) => { const [n, d] = text.split("/"); return new Exact(BigInt(n), BigInt(d || "1")); };
const memories = payload.specs.map((spec) => new module_one_way.Memory(spec));
return payload.asked.map(({ layout, readings }) => {
  const found = module_faults.diagnose(memories[layout], readings.map(({ range, input, output }) => ({ range, input: exact(input), output: exact(output) })));
  return [found.sound, found.suspects.map((one) => [module_faults.suspectName(one), one]).map(([name, { refuted, support, evidence }]) => [name, refuted, support, evidence.map(({ words }) => words)])];
});
"""


def readings_of(seeded: random.Random, table: FaultTable) -> list[Reading]:
    """Return readings that a fault would give, or at times any readings, in whole r/min and tenths."""
    layout = table.layout
    fault = seeded.choice(table.faults)
    taken = []
    for item in seeded.sample(layout.ranges, seeded.randint(1, 3)):
        state = with_faults(layout, item.name, [fault])
        speed = Fraction(seeded.choice([900, 1500, 2400]))
        output = round(speed / state.ratio * 10) if state.ratio else seeded.choice([0, 0, seeded.randint(-9000, 20000)])
        sound = with_faults(layout, item.name, []).ratio
        if state.ratio is None and sound and seeded.random() < 0.4:
            # The element drives still, and slips.
            output = round(speed / sound * seeded.randint(1, 12))
        stands = state.verdict in (Verdict.TIE_UP, Verdict.INPUT_LOCKED) and seeded.random() < 0.7
        taken.append(Reading(Fraction(0) if stands else speed, Fraction(0 if stands else output, 10), item.name))
    return taken


def test_readings_leave_the_same_suspects_in_the_same_order_with_the_same_reasons(tables: dict[str, FaultTable]) -> None:
    seeded = random.Random("readings in the browser")
    asked = [(number, readings_of(seeded, tables[NAMES[number]])) for number in (0, 1, 2) for _ in range(12)]
    payload = {
        "specs": [train_spec(catalogue.find(name)) for name in NAMES],
        "asked": [
            {"layout": number, "readings": [
                {"range": r.range_name, "input": str(r.input_speed), "output": str(r.output_speed)} for r in readings]}
            for number, readings in asked
        ],
    }  # fmt: skip
    longest, slipping = 0, 0
    for (number, readings), there in zip(asked, javascript.run(["faults", "exact", "one_way"], DIAGNOSE, payload), strict=True):
        here = diagnose(tables[NAMES[number]].layout, readings)
        assert there == [here.sound, [
            [suspect.name, suspect.refuted, suspect.support, [e.words for e in suspect.evidence]]
            for suspect in here.suspects]]  # fmt: skip
        longest = max(longest, *(len(suspect.faults) for suspect in here.suspects), 0)
        slipping += sum(suspect.slips for suspect in here.suspects)
    assert longest == 2
    assert slipping > 3


# Shifts

SHIFTS = """
return payload.map(({ spec, speed, pairs }) => {
  const { Exact } = module_exact;
  const memory = new module_one_way.Memory(spec);
  const named = (name) => spec.ranges.find((range) => range.name === name);
  const shown = (value) => (value === null ? null : value.toString());
  return pairs.map(([from, to]) => {
    const shift = module_shifts.shiftOf(memory, named(from), named(to));
    const at = (n, d) => {
      const { input, shafts, slips } = module_shifts.speedsAt(memory, shift, speed, new Exact(BigInt(n), BigInt(d)));
      return { input: shown(input), output: shown(shafts[spec.output]), slips: Object.fromEntries([...slips].map(([name, slip]) => [name, shown(slip)])) };
    };
    const states = shift.step === null && !shift.standing ? null : [at(0, 1), at(1, 4), at(1, 1)];
    return [shift.offGoing, shift.onComing, shift.lettingGo, shift.takingHold, shift.kind, shown(shift.step),
      module_shifts.overlapWords(memory, shift), module_shifts.underlapWords(memory, shift), states];
  });
});
"""


def test_every_shift_is_told_as_the_solver_tells_it_and_its_speeds_agree_at_both_ends() -> None:
    speed = 3000
    asked = [(catalogue.find(name), list(permutations([r.name for r in catalogue.find(name).ranges], 2))) for name in NAMES]
    payload = [{"spec": train_spec(layout), "speed": speed, "pairs": pairs} for layout, pairs in asked]
    kinds, seen, stood = set(), 0, 0
    for (layout, pairs), found in zip(asked, javascript.run(["shifts", "exact", "one_way"], SHIFTS, payload), strict=True):
        for pair, (*facts, states) in zip(pairs, found, strict=True):
            here = shift(layout, *pair, speed)
            assert facts == [list(here.off_going), list(here.on_coming), list(here.letting_go), list(here.taking_hold),
                             here.kind.value, text(here.step), here.overlap_words(), here.underlap_words()]  # fmt: skip
            kinds.add(here.kind.value)
            if states is None:
                continue
            seen += 1
            start, quarter, end = states
            if here.input_after is None:
                # From neutral at standstill: the output stays at rest, and with the range so does everything that it fixes.
                stood += 1
                assert start["output"] == end["output"] == "0"
                assert (start["input"], quarter["input"], end["input"]) == (str(speed), str(speed * 3 // 4), "0")
                assert {name: start["slips"][name] for name in here.on_coming} == {
                    n: text(s) for n, s in here.slip_before.items()
                }
                assert set(end["slips"].values()) <= {"0", None}
                continue
            assert (start["input"], end["input"]) == (str(here.input_before), text(here.input_after))
            assert start["output"] == quarter["output"] == end["output"]
            assert {name: start["slips"][name] for name in here.on_coming} == {n: text(s) for n, s in here.slip_before.items()}
            assert {name: end["slips"][name] for name in here.off_going} == {n: text(s) for n, s in here.slip_after.items()}
            assert Fraction(quarter["input"]) == here.input_before + (here.input_after - here.input_before) / 4
    assert {"single swap", "double swap", "freewheel shift"} <= kinds
    assert seen > 100
    assert stood > 20


def test_on_the_way_of_a_single_swap_every_speed_obeys_the_equations_of_what_stays_applied() -> None:
    """A single swap leaves two freedoms, input and output, so what goes evenly at both ends goes evenly between."""
    q36 = catalogue.find("Q36")
    spec: Any = train_spec(q36)
    body = """
    const memory = new module_one_way.Memory(payload);
    const named = (name) => payload.ranges.find((range) => range.name === name);
    const shift = module_shifts.shiftOf(memory, named("2"), named("3"));
    return [module_shifts.settledOnTheWay(shift), shift.staying, module_shifts.speedsAt(memory, shift, 3000, new module_exact.Exact(2n, 5n)).shafts.map(String)];
    """
    settled, staying, shafts = javascript.run(["shifts", "exact", "one_way"], body, spec)
    assert settled is True
    speeds = [Fraction(value) for value in shafts]
    for pset in spec["sets"]:
        (a, b), (sun, carrier, ring) = pset["weights"], (speeds[shaft] for shaft in pset["shafts"])
        assert a * sun + b * ring == (a + b) * carrier
    for element in spec["elements"]:
        if element["name"] in staying:
            first, second = element["between"]
            assert speeds[first] == speeds[second]


# Tooth counts

CONDITIONS = "return payload.map((teeth) => module_tooth_counts.conditions(teeth));"


def test_a_single_set_meets_the_conditions_of_assembly_in_the_browser_as_in_the_solver() -> None:
    teeth = [
        {"pinions": "single", "sun": S, "planet": P, "ring": S + 2 * P + off, "planets": N}
        for S, P, N, off in product(range(12, 91, 6), range(10, 61, 5), range(2, 9), (0, 2))
    ]
    seen = set()
    for case, found in zip(teeth, javascript.run(["tooth_counts"], CONDITIONS, teeth), strict=True):
        here = assembly(case["sun"], case["planet"], case["ring"], case["planets"])
        assert found == [here.coaxial, here.equal_spacing, here.neighbours], case
        seen.add(tuple(found))
    assert len(seen) == 8


def test_a_double_set_meets_the_conditions_that_a_search_for_tooth_counts_asks() -> None:
    limits = Limits(sun=(24, 40), pinion=(17, 24), ring=(60, 99), planets=(3, 4))
    searched = {choice for alike in choices(PinionKind.DOUBLE, limits).values() for choice in alike}
    counts = [
        {"pinions": "double", "sun": S, "planet": P, "ring": R, "planets": N}
        for S, R, P, N in product(range(24, 41), range(60, 100), range(17, 25), (3, 4))
    ]
    found = javascript.run(["tooth_counts"], CONDITIONS, counts)
    for case, met in zip(counts, found, strict=True):
        here = pairs_assembly(case["sun"], case["planet"], case["ring"], case["planets"])
        assert met == [here.reaches, here.room, here.equal_spacing, here.neighbours], case
    # The search takes the smallest pinion that reaches; the panel takes any, so each of its sets must be one that passes.
    passes = {(c["sun"], c["planet"], c["ring"], c["planets"]) for c, met in zip(counts, found, strict=True) if all(met[:3])}
    assert {(c.sun, c.pinion, c.ring, c.planets) for c in searched} <= passes
    for S, P, R, N in passes:
        assert any(GearChoice(S, smaller, R, N) in searched for smaller in range(17, P + 1))


@pytest.mark.parametrize(("S", "P", "R", "N"), [(30, 20, 90, 3), (36, 19, 96, 4), (24, 22, 84, 5), (40, 17, 97, 3)])
def test_neighbouring_pairs_are_as_far_apart_as_the_kernels_picture_sets_them(S: int, P: int, R: int, N: int) -> None:
    pset = PlanetarySet("P1", PinionKind.DOUBLE, S, R, planets=N, sun_pinion_teeth=P, ring_pinion_teeth=P)
    front = arrange(pset)
    assert front.equally_spaced
    centres = [
        (gear.centre_radius * cos(gear.centre_angle), gear.centre_radius * sin(gear.centre_angle))
        for gear in front.gears if gear.kind == "pinion"
    ]  # fmt: skip
    pairs = [centres[k : k + 2] for k in range(0, 2 * N, 2)]
    nearest = min(dist(one, other) for first, second in permutations(pairs, 2) for one, other in product(first, second))
    teeth = {"pinions": "double", "sun": S, "planet": P, "ring": R, "planets": N}
    found = javascript.run(["tooth_counts"], "return module_tooth_counts.tipGap(payload);", teeth)
    assert found == pytest.approx(nearest - (P + 2))


@pytest.mark.parametrize(("S", "P", "R", "N"), [(30, 20, 90, 3), (36, 19, 96, 4), (24, 22, 85, 5)])
def test_pairs_of_planets_are_placed_and_meshed_as_the_kernel_does(S: int, P: int, R: int, N: int) -> None:
    body = """
    const { S, P, R, N } = payload;
    return module_gear_outline.doubleSetGeometry(S, P, N, R, module_tooth_counts.pairOf(S, R, P));
    """
    there = javascript.run(["gear_outline", "tooth_counts"], body, {"S": S, "P": P, "R": R, "N": N})
    here = geometry(PlanetarySet("P1", PinionKind.DOUBLE, S, R, planets=N, sun_pinion_teeth=P, ring_pinion_teeth=P))
    for key in ("pinions", "outer_radius", "planets", "equally_spaced"):
        assert there[key] == here[key]
    assert set(there["outlines"]) == set(here["outlines"])
    for mine, model in zip(there["gears"], here["gears"], strict=True):
        for key, value in model.items():
            assert mine[key] == (pytest.approx(value, abs=1e-9) if isinstance(value, float | dict) else value), key


@pytest.mark.parametrize(
    ("sun", "planet", "ring", "planets", "pinions"),
    [(30, 24, 78, 5, "single"), (36, 21, 80, 3, "single"), (31, 20, 90, 4, "double"), (12, 60, 132, 8, "single")],
)
def test_the_counts_offered_go_together_and_none_lies_nearer(
    sun: int, planet: int, ring: int, planets: int, pinions: str
) -> None:
    teeth = {"pinions": pinions, "sun": sun, "planet": planet, "ring": ring, "planets": planets}
    body = "return [module_tooth_counts.nearest(payload), module_tooth_counts.LIMITS];"
    offered, limits = javascript.run(["tooth_counts"], body, teeth)
    double = pinions == "double"

    def far(S: int, P: int, R: int, N: int) -> int:
        return abs(S - sun) + abs(P - planet) + (abs(R - ring) if double else 0) + 3 * abs(N - planets)

    steps = range(-8, 9)
    everything = [
        (S + sun, P + planet, R if double else S + sun + 2 * (P + planet), N)
        for S, P, N in product(steps, steps, (planets - 1, planets, planets + 1))
        for R in (range(ring - 8, ring + 9) if double else (0,))
    ]
    passing = [
        counts for counts in everything
        if all(low <= value <= high for value, (low, high) in zip(counts, (limits[n] for n in ("sun", "planet", "ring", "planets")), strict=True))
        and _passes(double, *counts) and counts != (sun, planet, ring, planets)
    ]  # fmt: skip
    got = [(o["sun"], o["planet"], o["ring"], o["planets"]) for o in offered]
    assert (
        [o["far"] for o in offered]
        == [far(*counts) for counts in got]
        == sorted(far(*counts) for counts in passing)[: len(got)]
    )
    assert set(got) <= set(passing)
    assert len(got) == min(4, len(passing))


def _passes(double: bool, S: int, P: int, R: int, N: int) -> bool:
    if not double:
        found = assembly(S, P, R, N)
        return found.coaxial and found.equal_spacing and found.neighbours
    pairs = pairs_assembly(S, P, R, N)
    return pairs.reaches and pairs.room and pairs.equal_spacing and pairs.neighbours


@pytest.mark.parametrize(("pinions", "S", "R"), [("single", 36, 78), ("double", 30, 90)])
def test_the_six_ways_have_the_ratios_of_the_solver(pinions: str, S: int, R: int) -> None:
    pset = PlanetarySet("P1", PinionKind(pinions), S, R)
    body = "return module_tooth_counts.sixWays(payload).map(({ held, drives, driven, ratio }) => [held, drives, driven, ratio.toString()]);"
    found = javascript.run(["tooth_counts"], body, {"pinions": pinions, "sun": S, "ring": R})
    assert len({(held, drives) for held, drives, _, _ in found}) == 6
    for held, drives, driven, ratio in found:
        assert ratio == str(one_set.outcome(pset, one_set.Roles(drives, held, driven)).ratio)


def test_every_way_a_fault_can_be_has_its_word_in_the_browser() -> None:
    body = "return [module_faults.STUCK_OFF, module_faults.STUCK_ON, module_faults.REVERSED];"
    assert javascript.run(["faults"], body, None) == [mode.value for mode in FaultMode]
