"""From readings to suspects: hand-worked cases, and every single fault found again from its own readings."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from gearkit.solve.ratios import chart
from gearkit.solve.service.diagnosis import Diagnosis, Reading, diagnose, next_test, reading
from gearkit.solve.service.faults import ElementFault, element_faults, with_faults
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import FaultMode, Verdict

OFF, ON = FaultMode.STUCK_OFF, FaultMode.STUCK_ON


def found_from(name: str, *texts: str, tolerance: Fraction = Fraction(2, 100)) -> Diagnosis:
    layout = find(name)
    return diagnose(layout, [reading(layout, text) for text in texts], tolerance)


def test_third_that_runs_as_second_leaves_both_stories() -> None:
    found = found_from("Q36", "2400:931.6:3")
    names = [suspect.name for suspect in found.standing]
    assert names[:2] == ["A stuck on", "A stuck on and D stuck off"]
    assert found.standing[0].evidence[0].words == "tie-up, but D gives way: A and C give 2.576"
    assert found.standing[1].evidence[0].words == "runs at the ratio of 2, 2.576"


def test_fourth_decides_between_the_two_stories() -> None:
    right = found_from("Q36", "2400:931.6:3", "2400:1685.1:4")
    assert right.standing[0].name == "D stuck off"
    (refuted,) = [s for s in right.suspects if s.name == "A stuck on"]
    assert refuted.refuted == 1
    assert [e.supports for e in refuted.evidence] == [True, False]
    assert refuted.evidence[1].words == "tie-up: it could not turn, but the reading gives 1.424"
    again = found_from("Q36", "2400:931.6:3", "2400:931.6:4")
    assert again.standing[0].name == "A stuck on"


def test_a_flare_points_to_what_slips() -> None:
    found = found_from("Q36", "3000:600:3")
    assert [s.name for s in found.standing] == ["C slips", "D slips"]
    assert found.standing[0].evidence[0].words == "input and output are independent: the reading gives 5"
    cleared = found_from("Q36", "3000:600:3", "2000:2000:5")
    assert [s.name for s in cleared.standing] == ["C slips"]
    assert [s.name for s in found_from("Q36", "3000:600:3", "2000:776.3:2").standing] == ["D slips"]


def test_an_output_that_stands_points_to_what_is_off_and_not_to_a_slip() -> None:
    assert {s.name for s in found_from("Q36", "3000:0:3").standing} >= {"C stuck off", "D stuck off"}


def test_a_slip_within_the_tolerance_is_none() -> None:
    assert found_from("Q36", "2028:1000:3").sound


def test_ranges_that_bind_point_to_what_is_extra() -> None:
    found = found_from("Q48", "0:0:2", "0:0:3", "1000:259.8:1")
    assert [s.name for s in found.standing] == ["A stuck on"]


def test_one_factor_in_every_range_is_a_signal_not_an_element() -> None:
    chart_ratios = {row.name: row.ratio.exact for row in chart(find("Q36")).rows if row.ratio}
    texts = [f"2000:{float(2000 / chart_ratios[name] / Fraction(9, 8)):.2f}:{name}" for name in ("2", "4", "5")]
    found = found_from("Q36", *texts)
    assert found.signal_factor == pytest.approx(1.125, abs=1e-4)
    assert found_from("Q36", texts[0]).signal_factor is None
    assert found_from("Q36", "2000:776.3:2", "2000:1404.3:4").signal_factor is None


def test_readings_as_asked_are_called_sound() -> None:
    assert found_from("Q36", "2000:776.3:2", "2000:1404.3:4").sound
    assert not found_from("Q36", "2000:776.3:2", "2000:1200:4").sound


def test_neutral_that_drives_is_found() -> None:
    found = found_from("Q36", "700:172.06:N")
    assert found.standing[0].name == "C stuck on"
    assert found.standing[0].evidence[0].words == "runs at the ratio of 1, 4.068"


def test_a_lost_one_way_clutch_and_one_turned_round_are_told_apart_by_the_test_proposed() -> None:
    found = found_from("Q24", "2000:0:1", "2000:735.3:1L")
    assert {s.name for s in found.standing} == {"F stuck off", "F fitted the wrong way round"}
    proposed = next_test(found)
    assert proposed.range_name in ("2", "3", "4")
    assert {len(group) for group in proposed.outcomes.values()} == {1}
    assert "tie-up" in proposed.outcomes
    assert next_test(found_from("Q24", "2000:0:1", "2000:735.3:1L", "0:0:2")) is None


def test_the_proposed_test_splits_the_suspects_most_evenly() -> None:
    found = found_from("Q36", "3000:600:3")
    proposed = next_test(found)
    for item in find("Q36").ranges:
        if item.name == "3":
            continue
        seen = [with_faults(find("Q36"), item.name, s.faults) for s in found.standing]
        groups = [(w.verdict, w.ratio) for w in seen]
        largest = max(groups.count(group) for group in groups)
        assert max(map(len, proposed.outcomes.values())) <= largest


def test_a_wider_tolerance_lets_more_stand() -> None:
    narrow = found_from("Q36", "2000:1950:5", tolerance=Fraction(1, 100))
    wide = found_from("Q36", "2000:1950:5", tolerance=Fraction(5, 100))
    assert not narrow.sound
    assert wide.sound


# --- every single fault from its own readings --------------------------------------------------------------------------------


def shown_by(layout: Layout, fault: ElementFault, range_name: str, speed: int) -> Reading:
    """What the speed sensors show when a fault does what it must."""
    state = with_faults(layout, range_name, [fault])
    match state.verdict:
        case Verdict.RANGE:
            return Reading(Fraction(speed), speed / state.ratio, range_name)
        case Verdict.NEUTRAL:
            return Reading(Fraction(speed), Fraction(0), range_name)
        case Verdict.OUTPUT_LOCKED:
            return Reading(Fraction(speed), Fraction(0), range_name)
        case Verdict.INPUT_LOCKED | Verdict.TIE_UP:
            return Reading(Fraction(0), Fraction(0), range_name)
    raise AssertionError(state.verdict)


@pytest.mark.parametrize("name", ["Q24", "Q36", "Q48"])
def test_a_single_fault_is_never_refuted_by_its_own_readings_and_leads_the_list(name: str) -> None:
    layout = find(name)
    for fault in element_faults(layout)[:: 1 if name == "Q24" else 3]:
        own = [shown_by(layout, fault, item.name, 1500) for item in layout.ranges]
        found = diagnose(layout, own)
        if found.sound:
            continue
        leaders = [s for s in found.standing if s.support == found.standing[0].support]
        assert (fault,) in [s.faults for s in leaders], str(fault)
        # Whoever stands with it does the very same in every range.
        for other in leaders:
            assert [(w.verdict, w.ratio) for w in (with_faults(layout, r.name, other.faults) for r in layout.ranges)] == [
                (w.verdict, w.ratio) for w in (with_faults(layout, r.name, [fault]) for r in layout.ranges)
            ]


@given(st.sampled_from(["Q36", "Q48"]), st.data())
@settings(max_examples=15, deadline=None)
def test_two_per_cent_of_noise_hides_no_fault(name: str, data: st.DataObject) -> None:
    layout = find(name)
    fault = data.draw(st.sampled_from(element_faults(layout)))
    asked = data.draw(st.lists(st.sampled_from([r.name for r in layout.ranges]), min_size=1, max_size=4, unique=True))
    noise = [data.draw(st.fractions(Fraction(-1, 100), Fraction(1, 100))) for _ in asked]
    own = [shown_by(layout, fault, range_name, 1500) for range_name in asked]
    noisy = [Reading(r.input_speed, r.output_speed * (1 + e), r.range_name) for r, e in zip(own, noise, strict=True)]
    found = diagnose(layout, noisy)
    assert (fault,) in [s.faults for s in found.standing]
    assert [s.refuted for s in found.suspects] == sorted(s.refuted for s in found.suspects)
    for suspect in found.suspects:
        assert len(suspect.evidence) == len(noisy)
        assert all(e.words for e in suspect.evidence)


# --- reading readings ---------------------------------------------------------------------------------------------------


def test_slip_is_a_share_of_the_input_speed() -> None:
    taken = reading(find("Q36"), "2000:900:5")
    assert taken.slip(Fraction(1)) == Fraction(2000 - 900, 2000)
    assert taken.ratio == Fraction(20, 9)
    assert reading(find("Q36"), "0:0:N").slip(Fraction(1)) is None
    assert str(taken) == "2000:900:5"
    assert reading(find("Q36"), "1000:−404.3:R").output_speed == Fraction("-404.3")


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("2400:931.6", "write input speed, output speed and range with colons"),
        ("2400:fast:3", "write input speed, output speed and range"),
        ("2400:1/0:3", "write input speed, output speed and range"),
        ("2400:931.6:9", r"no range '9'\. It has: 1, 2"),
        ("-2400:931.6:3", "the engine turns one way, so give 0 or more"),
    ],
)
def test_a_reading_that_cannot_be_used_is_explained(text: str, message: str) -> None:
    with pytest.raises(UsageError, match=message):
        reading(find("Q36"), text)


def test_no_reading_and_a_wild_tolerance_are_refused() -> None:
    with pytest.raises(UsageError, match="No reading: give at least one"):
        diagnose(find("Q36"), [])
    with pytest.raises(UsageError, match=r"Tolerance 2: give a share above 0 and below 0\.2"):
        found_from("Q36", "2400:931.6:3", tolerance=Fraction(2))
