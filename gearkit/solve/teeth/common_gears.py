"""Gears that several sets have in common: one gear has one number of teeth, whatever sets it serves."""

from __future__ import annotations

from dataclasses import dataclass

from gearkit.solve.teeth.gear_choices import SEARCHED, GearChoice
from gearkit.train.layout import Layout


@dataclass(frozen=True)
class CommonGear:
    """One gear that several sets have in common, since their planets sit on one carrier.

    Args:
        member: "sun" or "ring".
        sets: the sets that it serves.
    """

    member: str
    sets: tuple[str, ...]

    def teeth(self, choice: GearChoice) -> int:
        """The gear's teeth in a choice for one of the sets."""
        return choice.sun if self.member == "sun" else choice.ring

    def key(self, choice: GearChoice) -> tuple[int, int]:
        """What has to be alike in all sets: the gear's teeth, and the planets on the carrier."""
        return self.teeth(choice), choice.planets


def common_gears(layout: Layout) -> tuple[CommonGear, ...]:
    """Return the gears that sets on one carrier have in common.

    Args:
        layout: the layout.

    >>> from gearkit.train.catalogue import find
    >>> common_gears(find("pair_two_suns"))
    (CommonGear(member='ring', sets=('P1', 'P2')),)
    """
    shaft = layout.groups.name_of
    gears = []
    for member in ("sun", "ring"):
        alike: dict[tuple[str, str], list[str]] = {}
        for pset in layout.sets:
            if pset.pinions in SEARCHED:
                alike.setdefault((shaft(f"{pset.name}.carrier"), shaft(f"{pset.name}.{member}")), []).append(pset.name)
        gears += [CommonGear(member, tuple(names)) for names in alike.values() if len(names) > 1]
    return tuple(gears)
