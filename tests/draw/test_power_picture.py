"""Power flow: what the lines carry is what the solver says, and nothing is lost at a joint."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.draw.core.state import state_of
from gearkit.draw.core.wording import ratio_text
from gearkit.draw.power import power_picture
from gearkit.draw.power.power_path import Piece, Spot, pieces, taps
from gearkit.draw.power.power_streams import drains, streams
from gearkit.draw.stick.placement import place, placed
from gearkit.solve.loads.torques import torques
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.terms import LoadState, Verdict
from tests.draw.pictures import catalogue_layouts, check_picture, many_layouts

RANGES = [(layout, item.name) for layout in catalogue_layouts() for item in layout.ranges]
EACH_RANGE = pytest.mark.parametrize(("layout", "range_name"), RANGES, ids=lambda value: getattr(value, "file", value))


def _flows(layout: Layout, range_name: str) -> dict[Piece, Fraction]:
    engaged = layout.engaged_in(range_name)
    spot = placed(layout)
    return streams(pieces(spot, state_of(layout, engaged)), drains(spot, torques(layout, engaged)))


@EACH_RANGE
def test_no_power_is_lost_at_a_joint_of_a_shaft(layout: Layout, range_name: str) -> None:
    balance: dict[tuple[int, Spot], Fraction] = {}
    for piece, flow in _flows(layout, range_name).items():
        for spot, amount in ((piece.first, -flow), (piece.last, flow)):
            balance[piece.net, spot] = balance.get((piece.net, spot), Fraction(0)) + amount
    spot = placed(layout)
    ends = {(net, at) for (net, _), at in taps(spot).items()}
    ends |= {(spot.nets.input, (0, spot.wiring.entry)), (spot.nets.output, spot.wiring.leaving)}
    for (net, at), left in balance.items():
        beside_plates = at[1] != int(at[1])
        assert left == 0 or (net, at) in ends or beside_plates


@EACH_RANGE
def test_a_member_gets_from_its_lines_the_power_that_the_solver_gives_it(layout: Layout, range_name: str) -> None:
    found = torques(layout, layout.engaged_in(range_name))
    if found.power is None:
        return
    flows = _flows(layout, range_name)
    spot = placed(layout)
    # Two sets that are built as one share a carrier and a ring: its lines bring what both take.
    wanted: dict[tuple[int, Spot], Fraction] = {}
    for (net, number), at in taps(spot).items():
        power = found.power.members[f"{layout.sets[number // 3].name}.{('sun', 'carrier', 'ring')[number % 3]}"]
        assert power is not None
        wanted[net, at] = wanted.get((net, at), Fraction(0)) + power
    for (net, at), power in wanted.items():
        arriving = sum(
            (
                flow if piece.last == at else -flow
                for piece, flow in flows.items()
                if piece.net == net and at in (piece.first, piece.last)
            ),
            Fraction(0),
        )
        assert arriving == power


@EACH_RANGE
def test_every_range_of_the_catalogue_is_a_whole_picture(layout: Layout, range_name: str) -> None:
    engaged = layout.engaged_in(range_name)
    drawn = power_picture.picture(layout, engaged)
    check_picture(drawn)
    found = torques(layout, engaged)
    said = [text.text for text in drawn.texts()]
    if found.state is LoadState.SETTLED:
        assert all(ratio_text(torque) in said for torque in found.members.values() if torque is not None)
    else:
        assert found.reason in drawn.description


def test_recirculating_power_is_named_in_words() -> None:
    layout = find("Q48")
    drawn = power_picture.picture(layout, layout.engaged_in("2"))
    assert torques(layout, layout.engaged_in("2")).recirculation
    assert "recirculation" in drawn.description
    assert "Power goes round through" in drawn.description


@pytest.mark.parametrize("layout", many_layouts()[:12], ids=lambda layout: layout.name)
def test_no_label_overlaps_for_a_random_layout(layout: Layout) -> None:
    engaged = layout.ranges[0].engaged
    assert state_of(layout, engaged).mobility.verdict is Verdict.RANGE
    check_picture(power_picture.picture(layout, engaged, place(layout, effort=0.015)))
