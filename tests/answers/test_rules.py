"""What the rules work out, checked another way: by trying, by counting, or by the solver on the drawn layout."""

from __future__ import annotations

import re
from fractions import Fraction
from itertools import combinations

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.draw_numbers.pool import layout_named as items_layout
from gearkit.answers.judge import marking
from gearkit.solve import mobility
from gearkit.solve.loads.torques import torques
from gearkit.solve.speeds import speeds
from gearkit.solve.teeth.assembly import assembly
from gearkit.train.layout import Layout
from gearkit.words.terms import Verdict
from tests.answers.before import several_before


def many(item_id: str, number: int = 15) -> list[variants.Variant]:
    return [variants.practice(items.find(item_id), f"rule {count}") for count in range(number)]


def many_before(item_id: str, number: int = 15) -> list[variants.Variant]:
    return list(several_before(items.find(item_id), number))


def layout_of(variant: variants.Variant) -> Layout:
    assert variant.layout is not None
    return variant.layout


def test_every_pair_that_gives_the_ratio_is_taken_in_the_chart_and_no_other() -> None:
    for variant in many("L06-01", 4):
        layout = layout_of(variant)
        right = marking.right_answer(variant)
        for part in variant.parts:
            wanted = mobility.assess(layout, right[part.name].split(", ")).ratio
            for pair in combinations("ABCDE", 2):
                given = {**right, part.name: "".join(pair)}
                gives = mobility.assess(layout, pair).ratio == wanted
                result = marking.mark(variant, given)
                assert (result.verdict == "right") is gives, (part.name, pair)
                designers = set(pair) == set(right[part.name].split(", "))
                assert ("the designer chose another" in result.comment) is (gives and not designers)


def test_states_are_those_of_exact_rank_with_one_of_each_kind() -> None:
    for variant in many("L07-03"):
        right = marking.right_answer(variant)
        rows = {part.name: part.label.split(", ") for part in variant.parts}
        assert right == {name: str(mobility.assess(layout_of(variant), pair).verdict) for name, pair in rows.items()}
        assert {"neutral", "range", "tie-up", "input locked"} <= set(right.values())
        assert any(len(rows[name]) == 3 and state == "range" for name, state in right.items())


def test_only_external_meshes_reverse() -> None:
    for variant in many_before("L01-06"):
        for part in variant.parts:
            external, _internal = (int(text) for text in re.findall(r"\d+", part.label))
            assert marking.right_answer(variant)[part.name] == ("reverse" if (-1) ** external < 0 else "forward")
    for variant in many("L01-06"):
        ticked = marking.right_answer(variant)["answer"].split(", ")
        for letter, option in zip("abcd", variant.options, strict=True):
            assert (letter in ticked) is ((-1) ** int(option.split()[0]) < 0)


def test_pairs_are_ordered_from_reduction_to_overdrive() -> None:
    for variant in many("L01-09"):
        quotients = {}
        for letter, option in zip("abcd", variant.options, strict=True):
            driver, driven = (int(text) for text in re.findall(r"\d+", option))
            quotients[letter] = Fraction(driven, driver)
        order = sorted(quotients, key=lambda letter: quotients[letter], reverse=True)
        assert marking.right_answer(variant)["answer"] == ", ".join(order)


def test_the_ring_turns_the_way_that_its_speed_says() -> None:
    seen = set()
    for variant in many("L02-06", 60):
        numbers = {name: variant.key.values.get(name, variant.values[name]) for name in ("S", "R", "ns", "nc")}
        ring = ((numbers["S"] + numbers["R"]) * numbers["nc"] - numbers["S"] * numbers["ns"]) / numbers["R"]
        expected = "forward" if ring > 0 else "reverse" if ring < 0 else "standing still"
        assert marking.right_answer(variant)["answer"] == expected
        seen.add(expected)
    assert seen == {"forward", "reverse", "standing still"}


def test_the_impossible_reading_is_the_only_one_that_breaks_the_speed_equation() -> None:
    for variant in many("L02-07"):
        sun, ring = (variant.values[letter] for letter in "SR")
        residuals = []
        for line in variant.options:
            w_sun, w_carrier, w_ring = (Fraction(text.replace("−", "-")) for text in re.findall(r"−?\d+", line))
            residuals.append(abs(sun * (w_sun - w_carrier) + ring * (w_ring - w_carrier)) / ring)
        worst = residuals.index(max(residuals))
        assert marking.right_answer(variant)["answer"] == "abc"[worst]
        assert sorted(residuals)[1] <= Fraction(1, 2) < 50 < max(residuals)


def case_ratio(drive: str, hold: str, sun: Fraction, ring: Fraction) -> Fraction:
    """Return the ratio of one set with one member driven and one held.

    From a*w_sun + b*w_ring = (a + b)*w_carrier with the held speed 0.

    Args:
        drive: the driven-in member.
        hold: the held member.
        sun: sun teeth.
        ring: ring teeth.
    """
    weights = {"sun": sun, "ring": ring, "carrier": -(sun + ring)}
    (driven,) = {*weights} - {drive, hold}
    return -weights[driven] / weights[drive]


def test_the_members_chosen_give_the_wanted_kind_of_ratio() -> None:
    wishes = {
        "strongest forward reduction": lambda ratio, every: ratio == max(every),
        "milder forward reduction": lambda ratio, every: ratio == min(one for one in every if one > 1),
        "milder overdrive": lambda ratio, every: ratio == max(one for one in every if 0 < one < 1),
        "strongest overdrive": lambda ratio, every: ratio == min(one for one in every if 0 < one < 1),
        "reverse that is a reduction": lambda ratio, every: ratio < -1,
        "reverse that is an overdrive": lambda ratio, every: -1 < ratio < 0,
    }
    seen = set()
    for variant in many("L03-04", 40):
        sun, ring = (variant.values[letter] for letter in "SR")
        every = [
            case_ratio(one, two, sun, ring)
            for one in ("sun", "carrier", "ring")
            for two in ("sun", "carrier", "ring")
            if one != two
        ]
        right = marking.right_answer(variant)
        (wish,) = [name for name in wishes if name in variant.prompt]
        assert wishes[wish](case_ratio(right["drive"], right["hold"], sun, ring), every), (wish, right)
        assert {right["drive"], right["hold"], right["driven"]} == {"sun", "carrier", "ring"}
        seen.add(wish)
    assert seen == set(wishes)


@pytest.mark.parametrize(
    ("drive", "hold", "ratio"),
    [
        ("sun", "ring", Fraction(16, 5)),
        ("carrier", "ring", Fraction(5, 16)),
        ("ring", "sun", Fraction(16, 11)),
        ("carrier", "sun", Fraction(11, 16)),
        ("sun", "carrier", Fraction(-11, 5)),
        ("ring", "carrier", Fraction(-5, 11)),
    ],
)
def test_the_six_cases_of_a_set_have_the_textbook_ratios(drive: str, hold: str, ratio: Fraction) -> None:
    assert case_ratio(drive, hold, Fraction(30), Fraction(66)) == ratio


def test_six_ratios_are_ordered_by_size() -> None:
    for variant in many("L03-09"):
        sun, ring = (variant.values[letter] for letter in "SR")
        letters = marking.right_answer(variant)["answer"].split(", ")
        sizes = []
        for letter in letters:
            drive, hold = re.match(r"(\w+) in, (\w+) held", variant.options["abcdef".index(letter)]).groups()
            sizes.append(abs(case_ratio(drive, hold, sun, ring)))
        assert sizes == sorted(sizes)


def test_the_planets_that_fit_are_those_of_the_assembly_check() -> None:
    for variant in many("L04-02", 30):
        sun, planet, ring = (int(variant.values[letter]) for letter in "SPR")
        fits = [
            str(number)
            for number in (3, 4, 5, 6)
            if assembly(sun, planet, ring, number).equal_spacing and assembly(sun, planet, ring, number).neighbours
        ]
        assert marking.right_answer(variant)["answer"] == ", ".join(fits)


def test_the_module_chosen_fits_and_the_next_one_does_not() -> None:
    modules = [Fraction(text) for text in ("1", "1.25", "1.5", "2", "2.5", "3")]
    for variant in many("L13-03", 30):
        ring, wall, width = (variant.values[name] for name in ("R", "wl", "D"))
        chosen = Fraction(marking.right_answer(variant)["answer"])
        fitting = [one for one in modules if one * (ring + Fraction(5, 2)) + 2 * wall <= width]
        assert chosen == max(fitting)


def test_the_one_way_clutch_holds_in_first_only() -> None:
    for variant in many_before("L07-06", 5):
        layout = layout_of(variant)
        for name, state in marking.right_answer(variant).items():
            range_name = name.removeprefix("range_")
            carrier = speeds(layout, layout.engaged_in(range_name)).members["P1.carrier"]
            assert carrier is not None
            assert (state == "overrunning") is (carrier > 0)
        assert marking.right_answer(variant)["range_1"] == "holding"
        assert marking.right_answer(variant)["range_R"].startswith("idle")
    for variant in many("L07-06", 5):
        layout, rows = layout_of(variant), rows_of(variant)
        right = {name: set(text.split(", ")) for name, text in marking.right_answer(variant).items()}
        for row, applied in rows.items():
            carrier = speeds(layout, applied).members["P1.carrier"]
            assert carrier is not None
            assert (row in right["overrunning"]) is (carrier > 0)
            # Where the carrier stands, F holds it unless the brake D does.
            assert (row in right["idle"]) is (carrier == 0 and "D" in applied)
            assert (row in right["holding"]) is (carrier == 0 and "D" not in applied)


def rows_of(variant: variants.Variant) -> dict[str, set[str]]:
    """The rows of the chart without names that stands in a prompt."""
    rows = {}
    for line in variant.prompt.splitlines():
        cells = [cell.strip() for cell in line.strip("| ").split("|")]
        if len(cells) == 7 and cells[0].isdigit():
            rows[f"row {cells[0]}"] = {letter for letter, mark in zip("ABCDEF", cells[1:], strict=True) if mark == "●"}
    assert len(rows) == 6
    return rows


def test_torques_are_ordered_by_what_a_lone_element_has_to_hold() -> None:
    for variant in (*many_before("L08-09", 4), *many("L08-09")):
        layout = layout_of(variant)
        ratio = {name: mobility.assess(layout, layout.engaged_in(name)).ratio for name in ("1", "2", "R")}
        assert all(one is not None for one in ratio.values())
        letter = dict.fromkeys("DFBC", "")
        for name in letter:
            own = items_layout("Q24").element_named(name)
            letter[name] = next(one.name for one in layout.elements if (one.between, one.kind) == (own.between, own.kind))
        sizes = {
            letter["D"]: 1 - ratio["R"],
            letter["F"]: ratio["1"] - 1,
            letter["B"]: ratio["2"] - 1,
            letter["C"]: Fraction(1),
        }
        order = ", ".join(sorted(sizes, key=lambda name: sizes[name], reverse=True))
        assert marking.right_answer(variant)["answer"] == order


def test_the_hottest_range_has_the_lowest_efficiency() -> None:
    for variant in many_before("L09-09", 4):
        layout = layout_of(variant)
        found = {one.name: torques(layout, one.engaged).efficiency for one in layout.ranges if one.name != "N"}
        assert marking.right_answer(variant)["answer"] == min(found, key=lambda name: found[name] or 0)


def test_the_hottest_range_at_given_powers_is_the_one_that_loses_most() -> None:
    seen = set()
    for variant in many("L09-09", 12):
        layout = layout_of(variant)
        lost = {}
        for line in variant.prompt.splitlines():
            cells = [cell.strip() for cell in line.strip("| ").split("|")]
            if len(cells) == 4 and cells[0] in "123456R":
                efficiency = torques(layout, layout.engaged_in(cells[0])).efficiency
                assert efficiency is not None
                assert abs(float(efficiency) - float(cells[3])) <= 0.00005
                lost[cells[0]] = int(cells[2]) * (1 - efficiency)
        right = marking.right_answer(variant)["answer"]
        assert right == max(lost, key=lambda name: lost[name])
        seen.add(right)
    assert len(seen) > 3


def test_steps_are_quotients_of_neighbouring_ratios() -> None:
    for variant in many("L10-04", 8):
        order = marking.right_answer(variant)["answer"].split(", ")
        layout = layout_of(variant)
        quotients = []
        for shift in order:
            low, high = (mobility.assess(layout, layout.engaged_in(one)).ratio for one in shift.split("-"))
            quotients.append(low / high)
        assert quotients == sorted(quotients, reverse=True)
        assert set(order) == set(variant.options)
    for variant in many_before("L10-04", 8):
        layout = layout_of(variant)
        ratio = {str(one): mobility.assess(layout, layout.engaged_in(str(one))).ratio for one in range(1, 7)}
        steps = {f"{one}-{one + 1}": ratio[str(one)] / ratio[str(one + 1)] for one in range(1, 6)}
        order = sorted(steps, key=lambda name: steps[name], reverse=True)
        right = marking.right_answer(variant)
        assert right["order"] == ", ".join(order)
        assert right["falling"] == ("yes" if order == sorted(steps) else "no")


def test_swaps_follow_from_two_rows_of_the_chart() -> None:
    (variant,) = many("L11-01", 1)
    layout, right = layout_of(variant), marking.right_answer(variant)
    for low in range(1, 6):
        before, after = (set(layout.engaged_in(str(one))) for one in (low, low + 1))
        assert before - {right[f"off_{low}_{low + 1}"]} | {right[f"on_{low}_{low + 1}"]} == after


def test_double_swaps_share_no_element() -> None:
    for variant in many("L11-05"):
        layout = layout_of(variant)
        ticked = marking.right_answer(variant)["answer"].split(", ")
        for letter, shift in zip("abcdef", variant.options, strict=True):
            low, high = shift.split(" to ")
            shares = set(layout.engaged_in(low)) & set(layout.engaged_in(high))
            assert (letter in ticked) is (not shares)


@pytest.mark.parametrize("item_id", ["L12-05", "L12-06"])
def test_one_way_faults_are_those_of_rank_and_direction(item_id: str) -> None:
    for variant in many(item_id, 4):
        layout, rows = layout_of(variant), rows_of(variant)
        if item_id == "L12-05":
            works = [row for row, applied in rows.items() if mobility.assess(layout, applied - {"F"}).verdict is Verdict.RANGE]
        else:
            works = [row for row, applied in rows.items() if (speeds(layout, applied).members["P1.carrier"] or 0) > 0]
        assert marking.right_answer(variant)["answer"] == ", ".join(works)
    for variant in many_before(item_id, 4):
        layout = layout_of(variant)
        names = ["1", "1L", "2", "3", "4", "R"]
        if item_id == "L12-05":
            expected = [
                name for name in names if mobility.assess(layout, set(layout.engaged_in(name)) - {"F"}).verdict is Verdict.RANGE
            ]
        else:
            expected = [name for name in names if (speeds(layout, layout.engaged_in(name)).members["P1.carrier"] or 0) > 0]
        assert marking.right_answer(variant)["answer"] == ", ".join(expected)


def test_lost_and_tied_up_ranges_follow_from_rank() -> None:
    for item_id in ("L12-01", "L12-02"):
        for variant in many_before(item_id, 10):
            layout = layout_of(variant)
            element = re.search(r"Element ([A-E])", variant.prompt).group(1)
            for one in layout.ranges:
                if one.name == "N":
                    continue
                engaged = set(one.engaged)
                if item_id == "L12-01":
                    still = mobility.assess(layout, engaged - {element}).verdict is Verdict.RANGE
                    assert (one.name in marking.right_answer(variant)["answer"].split(", ")) is (not still)
                else:
                    state = mobility.assess(layout, engaged | {element})
                    expected = "tie-up" if state.verdict is Verdict.TIE_UP else "right"
                    assert marking.right_answer(variant)[f"range_{one.name}"] == expected
    for variant in many("L12-02", 10):
        layout = layout_of(variant)
        element = re.search(r"Element ([A-E])", variant.prompt).group(1)
        still = [
            one.name
            for one in layout.ranges
            if one.name != "N" and mobility.assess(layout, {*one.engaged, element}).verdict is Verdict.RANGE
        ]
        assert marking.right_answer(variant)["answer"] == ", ".join(still)


def test_the_actual_range_is_the_one_whose_ratio_the_readings_give() -> None:
    for variant in many("L12-03", 20):
        layout = layout_of(variant)
        commanded = re.search(r"Range (\d) is commanded", variant.prompt).group(1)
        turns = re.search(r"read (\d+) r/min at the input and ([\d.]+) r/min", variant.prompt)
        assert turns is not None
        measured = Fraction(turns.group(1)) / Fraction(turns.group(2))
        near = [
            one.name
            for one in layout.ranges
            if one.name.isdigit() and abs((mobility.assess(layout, one.engaged).ratio or 0) / measured - 1) < Fraction(1, 100)
        ]
        right = marking.right_answer(variant)
        assert near == [right["actual"]]
        changed = set(layout.engaged_in(commanded)) - {right["missing"]} | {right["extra"]}
        assert changed == set(layout.engaged_in(right["actual"]))


def test_only_one_fault_explains_the_whole_table() -> None:
    for variant in many("L12-07", 10):
        layout = layout_of(variant)
        table = re.findall(r"\| (\w+) \(ratio [^)]*\) \| ([^|]+) \|", variant.prompt)
        explains = []
        for element in "ABCDEF":
            for mode in ("stuck off", "stuck on"):
                shows = []
                for name, _ in table:
                    engaged = set(layout.engaged_in(name))
                    state = mobility.assess(layout, engaged - {element} if mode == "stuck off" else engaged | {element})
                    good = state.verdict is Verdict.RANGE
                    shows.append("ratio" if good else "runs free" if state.verdict is Verdict.NEUTRAL else "binds")
                if shows == [re.sub(r"ratio.*", "ratio", seen.strip()) for _, seen in table]:
                    explains.append({"element": element, "mode": mode})
        assert explains == [marking.right_answer(variant)]


def test_the_best_test_has_the_smallest_largest_group() -> None:
    for variant in many("L12-09", 10):
        layout = layout_of(variant)
        suspects = re.findall(r"([A-F]) (stuck o\w+)", variant.prompt.split("suspects are")[1].split(".")[0])
        largest = {}
        for test in variant.options:
            engaged = set(layout.engaged_in(test.rpartition(" ")[2]))
            found = [
                mobility.assess(layout, engaged - {element} if mode == "stuck off" else engaged | {element}).verdict
                for element, mode in suspects
            ]
            largest[test] = max(map(found.count, found))
        best = min(largest.values())
        (right,) = [letter for letter, size in zip("abcd", largest.values(), strict=True) if size == best]
        assert marking.right_answer(variant)["answer"] == right
        assert len(suspects) >= 3


def test_nothing_turns_where_three_elements_disagree() -> None:
    seen = set()
    for variant in many("L12-10", 20):
        name = re.search(r"range (\w) is commanded", variant.prompt).group(1)
        found = mobility.assess(layout_of(variant), {*layout_of(variant).engaged_in(name), "B"})
        text = marking.right_answer(variant)["answer"]
        if found.verdict is Verdict.TIE_UP:
            assert text == "0 r/min"
        else:
            assert abs(Fraction(text.split()[0]) * found.ratio / variant.values["n"] - 1) < Fraction(1, 10**4)
        seen.add(found.verdict)
    assert seen == {Verdict.TIE_UP, Verdict.RANGE}
    for variant in many_before("L12-10", 5):
        name = str(variant.key.values.get("rg", variant.values["rg"]))
        engaged = {*layout_of(variant).engaged_in(name), "B"}
        assert mobility.assess(layout_of(variant), engaged).verdict is Verdict.TIE_UP
        assert marking.right_answer(variant)["answer"] == "0 r/min"
