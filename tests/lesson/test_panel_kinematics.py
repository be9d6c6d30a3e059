"""What a panel computes in the browser is what the solver says, exactly, over random trains."""

from __future__ import annotations

import random
from fractions import Fraction
from typing import Any

import pytest

from gearkit.draw.front.front_geometry import geometry
from gearkit.lesson.panels.base import TrainPanel
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.solve.mobility import assess
from gearkit.solve.speeds import speeds
from gearkit.train import catalogue
from gearkit.train.catalogue import find
from gearkit.train.elements import Element
from gearkit.train.layout import Layout, Source
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import LayoutError
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, PinionKind, SourceKind, Verdict
from tests.lesson import javascript

TRAINS = 150
COMBINATIONS = 8
ASSESS = """
const shown = (value) => (value === null ? null : value.toString());
return payload.map(({ spec, engaged }) => {
  const found = module_train.assess(spec, new Set(engaged));
  return { ...found, ratio: shown(found.ratio), speeds: found.speeds.map(shown) };
});
"""


def random_layout(seeded: random.Random) -> Layout:
    """Return a train of one to four sets with any joins and elements that make a valid layout."""
    while True:
        sets = tuple(random_set(seeded, f"P{k + 1}") for k in range(seeded.randint(1, 4)))
        members = [f"{pset.name}.{member}" for pset in sets for member in MEMBERS]
        joins = tuple(tuple(seeded.sample([INPUT, OUTPUT, *members], 2)) for _ in range(seeded.randint(1, len(sets) + 2)))
        elements = tuple(random_element(seeded, letter, members) for letter in "ABCDEF"[: seeded.randint(2, 6)])
        try:
            return Layout("random train", sets, joins, elements, (), Source(SourceKind.OWN, "drawn for a test"))
        except LayoutError:
            continue


def random_set(seeded: random.Random, name: str) -> PlanetarySet:
    sun = seeded.randint(20, 50)
    ring = sun + 2 * seeded.randint(14, 30)
    kind = seeded.choice([PinionKind.SINGLE, PinionKind.SINGLE, PinionKind.DOUBLE, PinionKind.STEPPED, PinionKind.BEVEL])
    match kind:
        case PinionKind.BEVEL:
            return PlanetarySet(name, pinions=kind)
        case PinionKind.STEPPED:
            return PlanetarySet(
                name, kind, sun, ring, sun_pinion_teeth=seeded.randint(12, 30), ring_pinion_teeth=seeded.randint(12, 30)
            )
        case _:
            return PlanetarySet(name, kind, sun, ring)


def random_element(seeded: random.Random, name: str, members: list[str]) -> Element:
    if seeded.random() < 0.5:
        return Element(name, ElementKind.BRAKE, (seeded.choice(members), HOUSING))
    return Element(name, ElementKind.CLUTCH, (seeded.choice([INPUT, *members]), seeded.choice(members)))


def solved(layout: Layout, engaged: tuple[str, ...]) -> dict[str, Any]:
    """Return the solver's words for the same question, shaft by shaft in the panel's numbering."""
    mobility = assess(layout, engaged)
    stuck = mobility.verdict in (Verdict.INPUT_LOCKED, Verdict.TIE_UP)
    found = speeds(layout, engaged, input_speed=0 if stuck else 1)
    known: dict[str, Fraction | None] = {**found.members, **found.shafts}
    spec = train_spec(layout)
    shafts: Any = spec["shafts"]
    return {
        "verdict": mobility.verdict.value,
        "freedom": mobility.freedom,
        "ratio": None if mobility.ratio is None else str(mobility.ratio),
        "speeds": [None if known[shaft[0]] is None else str(known[shaft[0]]) for shaft in shafts],
    }


@pytest.fixture(scope="module")
def questions() -> list[tuple[Layout, tuple[str, ...]]]:
    seeded = random.Random("panel kinematics")
    layouts = [random_layout(seeded) for _ in range(TRAINS)] + [entry.layout for entry in catalogue.entries()]
    asked = []
    for layout in layouts:
        names = [element.name for element in layout.elements]
        for _ in range(COMBINATIONS):
            asked.append((layout, tuple(name for name in names if seeded.random() < 0.4)))
        asked += [(layout, item.engaged) for item in layout.ranges]
    return asked


def test_state_ratio_and_every_speed_agree_with_the_solver(questions: list[tuple[Layout, tuple[str, ...]]]) -> None:
    payload = [{"spec": train_spec(layout), "engaged": list(engaged)} for layout, engaged in questions]
    answers = javascript.run(["train"], ASSESS, payload)
    assert len(answers) == len(questions) > 1000
    verdicts = set()
    for (layout, engaged), answer in zip(questions, answers, strict=True):
        expected = solved(layout, engaged)
        verdicts.add(expected["verdict"])
        assert {key: answer[key] for key in expected} == expected, (layout, engaged)
    # The draw is worth something only if every state came up in it.
    assert verdicts == {verdict.value for verdict in Verdict}


def test_a_combination_that_says_something_twice_is_told_apart_from_one_that_does_not() -> None:
    q36 = catalogue.find("Q36")
    payload = [{"spec": train_spec(q36), "engaged": engaged} for engaged in (["A", "D"], ["A", "D", "E"])]
    direct, all_three = javascript.run(["train"], ASSESS, payload)
    assert (direct["ratio"], direct["redundant"]) == ("1", 0)
    assert (all_three["ratio"], all_three["redundant"]) == ("1", 1)


def test_a_third_speed_obeys_the_speed_equation() -> None:
    seeded = random.Random("third speed")
    payload = []
    for _ in range(300):
        sun = seeded.randint(20, 50)
        speeds_given: dict[str, int | None] = {member: seeded.randint(-3000, 3000) for member in MEMBERS}
        speeds_given[seeded.choice(MEMBERS)] = None
        payload.append({"weights": [sun, sun + 2 * seeded.randint(14, 36)], "speeds": speeds_given})
    body = """
    const { Exact } = module_exact;
    return payload.map(({ weights, speeds }) => {
      const exact = Object.fromEntries(Object.entries(speeds).map(([name, speed]) => [name, speed === null ? null : Exact.of(speed)]));
      return module_train.thirdSpeed(weights, exact).toString();
    });
    """
    for case, third in zip(payload, javascript.run(["train", "exact"], body, payload), strict=True):
        weights: Any = case["weights"]
        given: Any = case["speeds"]
        sun, carrier, ring = (Fraction(third) if given[member] is None else Fraction(given[member]) for member in MEMBERS)
        assert weights[0] * (sun - carrier) + weights[1] * (ring - carrier) == 0


CASE = """
return payload.map(({ sun, planet, roles }) => {
  const found = module_one_set_cases.heldCase([sun, sun + 2 * planet], roles);
  return [found.verdict, found.ratio === null ? null : found.ratio.toString(), module_one_set_cases.caseWord(found)];
});
"""


def held(drive: str, hold: str, driven: str, joined: str = "none") -> dict[str, str]:
    return {"drive": drive, "hold": hold, "driven": driven, "joined": joined}


@pytest.mark.parametrize(
    ("roles", "ratio", "word"),
    [
        (held("sun", "ring", "carrier"), lambda S, R: 1 + Fraction(R, S), "forward reduction"),
        (held("carrier", "ring", "sun"), lambda S, R: Fraction(S, S + R), "forward overdrive"),
        (held("ring", "sun", "carrier"), lambda S, R: 1 + Fraction(S, R), "forward reduction"),
        (held("carrier", "sun", "ring"), lambda S, R: Fraction(R, S + R), "forward overdrive"),
        (held("sun", "carrier", "ring"), lambda S, R: -Fraction(R, S), "reverse reduction"),
        (held("ring", "carrier", "sun"), lambda S, R: -Fraction(S, R), "reverse overdrive"),
        (held("sun", "none", "ring", "carrier ring"), lambda S, R: Fraction(1), "direct"),
        (held("sun", "none", "carrier"), lambda S, R: None, "neutral"),
        (held("sun", "ring", "carrier", "sun ring"), lambda S, R: None, "tie-up"),
    ],
)
def test_each_case_of_one_set_has_its_ratio_and_its_name(roles: dict[str, str], ratio: Any, word: str) -> None:
    payload = [{"sun": S, "planet": P, "roles": roles} for S, P in [(36, 21), (20, 36), (60, 14)]]
    for case, found in zip(payload, javascript.run(["one_set_cases"], CASE, payload), strict=True):
        expected = ratio(case["sun"], int(str(case["sun"])) + 2 * int(str(case["planet"])))
        assert found[1] == (None if expected is None else str(expected))
        assert found[2] == word


def test_a_member_has_one_role_at_a_time_and_every_choice_keeps_three_different_ones() -> None:
    body = """
    const out = [];
    const members = ["sun", "carrier", "ring"];
    for (const drive of members) for (const hold of [...members, "none"]) for (const driven of members) {
      const roles = { drive, hold, driven };
      if (new Set([drive, hold, driven]).size < 3) continue;
      for (const role of ["drive", "hold", "driven"]) for (const member of members) {
        out.push([roles, role, member, module_one_set_cases.withRole(roles, role, member)]);
      }
    }
    return out;
    """
    changes = javascript.run(["one_set_cases"], body, None)
    assert len(changes) == 12 * 9
    for before, role, member, after in changes:
        assert after[role] == member, (before, role, member)
        assert len(set(after.values())) == 3, (before, role, member, after)


@pytest.mark.parametrize(("S", "P", "N"), [(36, 21, 3), (32, 20, 4), (26, 31, 3), (35, 20, 3), (20, 36, 5)])
def test_the_browser_places_and_meshes_the_gears_as_the_kernel_does(S: int, P: int, N: int) -> None:
    body = "return module_gear_outline.singleSetGeometry(payload.S, payload.P, payload.N);"
    here = geometry(PlanetarySet("P1", sun_teeth=S, ring_teeth=S + 2 * P, planets=N))
    there = javascript.run(["gear_outline"], body, {"S": S, "P": P, "N": N})
    for key in ("pinions", "outer_radius", "planets", "equally_spaced"):
        assert there[key] == here[key]
    assert len(there["gears"]) == len(here["gears"]) == 2 + N
    for mine, model in zip(there["gears"], here["gears"], strict=True):
        for key, value in model.items():
            if isinstance(value, float):
                assert mine[key] == pytest.approx(value, abs=1e-9), key
            elif key == "turns":
                assert mine[key] == pytest.approx(value)
            else:
                assert mine[key] == value, key
    assert set(there["outlines"]) == set(here["outlines"])


@pytest.mark.parametrize("value", ["19/6", "-5/2", "16", "-3", "0", "123456789012345678901/7"])
def test_a_number_that_the_kernel_read_is_taken_over_exactly(value: str) -> None:
    assert javascript.run(["exact"], "return module_exact.exactOf(payload).toString();", value) == value


@pytest.mark.parametrize("kind", [LayoutPanel, CutawayPanel])
def test_a_case_has_one_name_in_the_browser_and_in_the_kernel_however_many_elements_are_applied(kind: type[TrainPanel]) -> None:
    layout = find("Q36")
    panel = kind(layout)
    named = {}
    for count in range(4):
        panel.apply(*(element.name for element in layout.elements[:count]))
        named[" ".join(panel.engaged)] = panel.case
    assert [len(key.split()) for key in named] == [0, 1, 2, 3]
    assert javascript.run(["layout_cases"], "return payload.map(module_layout_cases.caseOf);", list(named)) == list(
        named.values()
    )
