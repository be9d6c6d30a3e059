"""Tooth counts for targets: the best of all, checked against trying every combination, and sets that go together."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from itertools import product
from math import pi, sin
from pathlib import Path

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from gearkit.solve.ratios import chart, ratio
from gearkit.solve.teeth.common_gears import common_gears
from gearkit.solve.teeth.gear_choices import GearChoice, Limits, choices
from gearkit.solve.teeth.targets_file import find_targets
from gearkit.solve.teeth.tooth_counts import Search, Targets, search
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import PinionKind
from tests.support.random_layouts import random_layout

NARROW = Limits(sun=(24, 33), pinion=(17, 22), ring=(58, 76), planets=(3, 4))


def wanted(layout: Layout, ratios: dict[str, str], limits: Limits = NARROW, **more: object) -> Targets:
    targets = {name: Fraction(value) for name, value in ratios.items()}
    return Targets(layout, targets, {p.name: limits for p in layout.sets}, **more)


def smallest_error(targets: Targets) -> Fraction:
    """The least error over every combination of quotients, one after the other, exactly."""
    sets = [p for p in targets.layout.sets if p.name not in targets.fixed]
    quotients = [list(choices(p.pinions, targets.limits[p.name])) for p in sets]
    found = []
    for combination in product(*quotients):
        parts = {p.name: replace(p, sun_teeth=None, ring_teeth=None, ring_to_sun=q, planets=None)
                 for p, q in zip(sets, combination, strict=True)}  # fmt: skip
        if any(len({parts[name].ring_to_sun for name in group}) > 1 for group in targets.same):
            continue
        layout = replace(targets.layout, sets=tuple(parts.get(p.name, p) for p in targets.layout.sets), text="")
        ratios = {name: ratio(layout, layout.engaged_in(name)) for name in targets.ratios}
        if all(ratios.values()):
            found.append(max(abs(r.exact / targets.ratios[name] - 1) for name, r in ratios.items()))
    return min(found)


def test_the_best_of_two_sets_is_the_best_of_every_combination() -> None:
    targets = wanted(find("Q24"), {"1": "2.6", "2": "1.42", "4": "0.72", "R": "-2.5"})
    found = search(targets)
    assert found.proved
    assert found.combinations == len(choices(PinionKind.SINGLE, NARROW)) ** 2
    assert found.designs[0].worst == smallest_error(targets)


@given(st.integers(0, 200), st.integers(1, 2), st.data())
@settings(max_examples=12, deadline=None)
def test_the_best_is_the_best_in_any_layout(seed: int, sets: int, data: st.DataObject) -> None:
    layout = random_layout(seed, sets, single_only=True)
    # Trying every combination knows nothing of gears in common; tests/solve/test_common_gears.py has those.
    assume(not common_gears(layout))
    rows = [row for row in chart(layout).rows if row.ratio and row.ratio.sets]
    assume(rows)
    factor = data.draw(st.fractions(Fraction(9, 10), Fraction(11, 10), max_denominator=50))
    limits = Limits(sun=(24, 30), pinion=(17, 21), ring=(58, 72), planets=(3, 4))
    targets = Targets(layout, {row.name: row.ratio.exact * factor for row in rows}, {p.name: limits for p in layout.sets})
    assert search(targets).designs[0].worst == smallest_error(targets)


def test_targets_that_a_design_meets_exactly_are_met_exactly() -> None:
    goal = find("Q36").with_teeth({"P1": (28, 72), "P2": (27, 69), "P3": (33, 75)})
    names = ("1", "2", "3", "4", "6", "R")
    exact = {name: str(ratio(goal, goal.engaged_in(name)).exact) for name in names}
    found = search(wanted(find("Q36"), exact))
    assert found.designs[0].worst == 0
    assert {n: c.quotient for n, c in found.designs[0].teeth.items()} == {
        "P1": Fraction(72, 28), "P2": Fraction(69, 27), "P3": Fraction(75, 33),
    }  # fmt: skip


def test_the_next_best_follow_in_order_and_none_between_is_left_out() -> None:
    targets = wanted(find("Q24"), {"1": "2.6", "R": "-2.5"})
    found = search(targets, keep=6)
    errors = [design.worst for design in found.designs]
    assert errors == sorted(errors)
    assert len({tuple(c.quotient for c in d.teeth.values()) for d in found.designs}) == 6
    single = [choices(PinionKind.SINGLE, NARROW)] * 2
    every = sorted(
        max(abs((1 + second) / Fraction("2.6") - 1), abs(-first / Fraction("-2.5") - 1)) for first, second in product(*single)
    )
    assert errors == every[:6]


def test_a_design_knows_its_ratios_errors_and_layout() -> None:
    found = search(wanted(find("Q24"), {"1": "2.6", "R": "-2.5"})).designs[0]
    rows = {row.name: row.ratio.exact for row in chart(found.layout).rows if row.ratio}
    assert {name: rows[name] for name in found.ratios} == found.ratios
    assert found.errors["1"] == found.ratios["1"] / Fraction("2.6") - 1
    for name, choice in found.teeth.items():
        pset = found.layout.set_named(name)
        assert (pset.sun_teeth, pset.ring_teeth, pset.planets) == (choice.sun, choice.ring, choice.planets)
        assert all(other.quotient == choice.quotient for other in found.alike[name])


def test_sets_that_are_the_same_parts_get_the_same_teeth() -> None:
    targets = wanted(find("Q24"), {"1": "2.6", "R": "-2.5"}, same=(("P1", "P2"),))
    found = search(targets)
    assert found.designs[0].teeth["P1"] == found.designs[0].teeth["P2"]
    assert found.designs[0].worst == smallest_error(targets) > search(replace(targets, same=())).designs[0].worst
    three = search(wanted(find("Q36"), {"1": "4.0", "4": "1.42"}, same=(("P1", "P3"),)))
    assert three.designs[0].teeth["P1"] == three.designs[0].teeth["P3"]


def test_a_fixed_set_keeps_its_teeth_and_a_set_without_part_is_told() -> None:
    fixed = search(wanted(find("Q24"), {"1": "2.6", "2": "1.42"}, fixed=("P1",)))
    assert set(fixed.designs[0].teeth) == {"P2"}
    assert fixed.designs[0].layout.set_named("P1") == find("Q24").set_named("P1")
    alone = search(wanted(find("Q36"), {"2": "2.5"}))
    assert alone.free == ("P1", "P2")
    assert set(alone.designs[0].teeth) == {"P3"}


def test_a_layout_with_a_double_set_is_searched_too() -> None:
    limits = Limits(sun=(27, 31), pinion=(12, 30), ring=(68, 76), planets=(3,))
    layout = find("four_range_two_suns_one_ring")
    targets = wanted(layout, {"1": "2.5", "2": "1.5", "R": "-2.1"}, limits)
    found = search(targets)
    assert found.proved
    assert found.designs[0].worst == smallest_error(targets)
    double = found.designs[0].teeth["P1"]
    assert (double.ring - double.sun) % double.planets == 0


def test_giving_up_is_said() -> None:
    found = search(wanted(find("Q36"), {"1": "4.1", "4": "1.42", "6": "0.72"}), most_boxes=2)
    assert not found.proved
    assert found.designs


def test_progress_is_reported_with_a_falling_error() -> None:
    seen: list[tuple[int, float]] = []
    search(wanted(find("Q36"), {"1": "4.1", "4": "1.42"}), report=lambda boxes, best: seen.append((boxes, best)))
    assert [boxes for boxes, _ in seen] == sorted(boxes for boxes, _ in seen)
    assert [best for _, best in seen] == sorted((best for _, best in seen), reverse=True)


# --- sets that go together ---------------------------------------------------------------------------------------------------


def test_every_single_choice_meets_the_conditions_of_assembly() -> None:
    limits = Limits(sun=(20, 40), pinion=(14, 30), ring=(48, 99), planets=(3, 4, 5), tip_gap=Fraction(1))
    found = [choice for alike in choices(PinionKind.SINGLE, limits).values() for choice in alike]
    for choice in found:
        assert choice.ring == choice.sun + 2 * choice.pinion
        assert (choice.sun + choice.ring) % choice.planets == 0
        assert (choice.sun + choice.pinion) * sin(pi / choice.planets) - (choice.pinion + 2) >= 1
    wide = [
        GearChoice(s, p, s + 2 * p, n)
        for s in range(20, 41)
        for p in range(14, 31)
        for n in (3, 4, 5)
        if 48 <= s + 2 * p <= 99 and (2 * s + 2 * p) % n == 0 and (s + p) * sin(pi / n) - (p + 2) >= 1
    ]
    assert sorted(found, key=repr) == sorted(wide, key=repr)
    assert list(choices(PinionKind.SINGLE, limits)) == sorted({choice.quotient for choice in wide})


def test_choices_of_one_quotient_start_with_the_smallest_ring() -> None:
    for alike in choices(PinionKind.SINGLE, Limits()).values():
        assert [choice.ring for choice in alike] == sorted(choice.ring for choice in alike)


def test_a_double_pair_reaches_from_sun_to_ring_and_no_pinion_does_alone() -> None:
    for alike in choices(PinionKind.DOUBLE, Limits(pinion=(12, 40))).values():
        for choice in alike:
            across = choice.ring - choice.sun
            assert across % choice.planets == 0
            assert 4 * choice.pinion >= across
            assert 2 * choice.pinion < across - 4


# --- refusals ------------------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: wanted(find("Q24"), {}), "No targets: give at least one range"),
        (lambda: wanted(find("Q24"), {"9": "2"}), r"no range '9'"),
        (lambda: wanted(find("Q24"), {"1": "0"}), "Target 1: 0; a ratio is never 0"),
        (lambda: wanted(find("Q24"), {"1": "2"}, fixed=("P9",)), r"no set 'P9'"),
        (lambda: wanted(find("Q24"), {"1": "2"}, fixed=("P1",), same=(("P1", "P2"),)), "cannot be the same parts"),
        (lambda: search(wanted(find("Q24"), {"N": "2"})), "Target N: the layout has no ratio there"),
        (lambda: search(wanted(find("Q24"), {"3": "1"})), "No set to search"),
        (lambda: search(wanted(find("Q24"), {"1": "2"}), keep=0), "Keep 0 designs: give a number from 1 to 100"),
        (lambda: Limits(sun=(60, 24)), "Limits: sun 60 to 24; give fewest and most teeth"),
        (lambda: Limits(planets=()), r"Limits: planets \[\]; give numbers of pinions"),
        (lambda: Limits(tip_gap=Fraction(-1)), "Limits: tip gap -1; give 0 or more"),
        (lambda: choices(PinionKind.SINGLE, Limits(ring=(30, 31))), "No single set meets the limits"),
        (lambda: choices(PinionKind.BEVEL, Limits()), "Tooth counts of a bevel set are not searched"),
    ],
)
def test_what_cannot_be_searched_is_explained(call: Callable[[], Search], message: str) -> None:
    with pytest.raises(UsageError, match=message):
        call()


# --- targets files ---------------------------------------------------------------------------------------------------------------


def written(folder: Path, text: str) -> Path:
    file = folder / "wanted.toml"
    file.write_text(text, encoding="utf-8")
    return file


def test_a_file_gives_targets_and_limits_per_set(tmp_path: Path) -> None:
    text = """
        format = 1
        layout = "Q36"
        fixed = ["P2"]
        same = [["P1", "P3"]]
        [targets]
        "1" = "4.10"
        2 = 2.6
        R = "-5/2"
        [limits]
        sun = [20, 40]
        planets = [3]
        [limits.P3]
        ring = [60, 90]
        tip_gap = 1.5
    """
    found = find_targets(written(tmp_path, text))
    assert found.ratios == {"1": Fraction("4.1"), "2": Fraction("2.6"), "R": Fraction(-5, 2)}
    assert (found.fixed, found.same) == (("P2",), (("P1", "P3"),))
    assert found.limits["P1"] == Limits(sun=(20, 40), planets=(3,))
    assert found.limits["P3"] == Limits(sun=(20, 40), planets=(3,), ring=(60, 90), tip_gap=Fraction(3, 2))


def test_the_layout_may_lie_beside_the_file(tmp_path: Path) -> None:
    (tmp_path / "own.toml").write_text(find("Q24").text, encoding="utf-8")
    found = find_targets(written(tmp_path, 'format = 1\nlayout = "own.toml"\n[targets]\n1 = 2.7\n'))
    assert found.layout == find("Q24")


def test_the_kits_own_targets_are_found_by_name() -> None:
    assert find_targets("q36_even_steps").layout == find("Q36")
    with pytest.raises(UsageError, match="No targets 'q99': give the path of a targets file, or one of q36_even_steps"):
        find_targets("q99")


def test_every_fault_of_a_file_is_told_at_once(tmp_path: Path) -> None:
    text = """
        format = 2
        layout = "Q36"
        speed = 3
        fixed = "P1"
        [targets]
        "1" = "four"
        "2" = [2]
        [limits]
        sun = [60, 24]
        ring = 90
        wheels = 4
        [limits.P9]
    """
    with pytest.raises(UsageError) as raised:
        find_targets(written(tmp_path, text))
    lines = str(raised.value).splitlines()
    assert [line.removeprefix("wanted.toml: ").split(":")[0] for line in lines] == [
        "speed", "format", "[targets].1", "[targets].2", "fixed",
        "[limits].sun", "[limits].ring", "[limits].wheels", "[limits.P9]",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("format = ", "no valid TOML"),
        ('format = 1\nlayout = "Q99"\n[targets]\n1 = 2', "layout: No layout 'Q99'"),
        ("format = 1\n[targets]\n1 = 2", "layout: found nothing; expected a catalogue name"),
        ('format = 1\nlayout = "Q24"', r"\[targets\]: found nothing; expected ranges with their ratios"),
        ('format = 1\nlayout = "Q24"\nsame = 3\n[targets]\n1 = 2', "same: found 3; expected groups of sets"),
        ('format = 1\nlayout = "Q24"\nlimits = 3\n[targets]\n1 = 2', r"\[limits\]: found 3; expected a table"),
        ('format = 1\nlayout = "Q24"\n[targets]\n7 = 2', "no range '7'"),
        ('format = true\nlayout = "Q24"\n[targets]\n1 = 2', "format: found True; expected 1"),
        ('format = 1\nlayout = "Q24"\nsource = 3\n[targets]\n1 = 2', r"\[source\]: found 3; expected a table"),
        (
            'format = 1\nlayout = "Q24"\n[targets]\n1 = 2\n[source]\nkind = "hearsay"\nyear = 2',
            r"(?s)\[source\].year: no such key.*\[source\].kind: found 'hearsay'.*\[source\].citation: found nothing",
        ),
        ("x = " + "[" * 50_000, "brackets nested very deep|no valid TOML"),
    ],
)
def test_a_faulty_file_is_explained(tmp_path: Path, text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        find_targets(written(tmp_path, text))


def test_a_file_that_is_not_there_is_named(tmp_path: Path) -> None:
    with pytest.raises(UsageError, match=r"nowhere\.toml: cannot be read"):
        find_targets(tmp_path / "nowhere.toml")
