"""What a panel needs to know of a layout, as plain numbers sent once; the browser works out everything that moves."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.front import front_geometry
from gearkit.draw.lever.lever_geometry import levers
from gearkit.solve.mobility import shaft_columns
from gearkit.text.phrases import member_label, sets_words
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import said
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, ElementKind, FreeDirection, PinionKind

Spec = dict[str, object]


def train_spec(layout: Layout) -> Spec:
    """Return sets with their weights, shafts as numbers, elements and ranges, ready for JSON.

    Shaft numbers run from 0; the housing has the last one. Weights are whole numbers (a, b) with
    a*w_sun + b*w_ring = (a + b)*w_carrier.
    """
    columns = shaft_columns(layout)
    count = max(columns.values()) + 1
    number = {member: column if column >= 0 else count for member, column in columns.items()}
    shafts: list[list[str]] = [[] for _ in range(count + 1)]
    for member, shaft in number.items():
        shafts[shaft].append(member)
    return {
        "name": layout.said_name,
        "shafts": shafts,
        "input": number[INPUT],
        "output": number[OUTPUT],
        "housing": number[HOUSING],
        "sets": [
            {
                "name": pset.name,
                "weights": list(pset.weights),
                "shafts": [number[f"{pset.name}.{member}"] for member in MEMBERS],
                "codes": {member: _code(layout, f"{pset.name}.{member}") for member in MEMBERS},
                **_front(pset),
            }
            for pset in layout.sets
        ],
        "elements": [
            {
                "name": element.name,
                "kind": element.kind.value,
                "between": [number[shaft] for shaft in element.between],
                "words": f"{said(element.kind)} {member_label(element.between[0])} – {member_label(element.between[1])}",
                **_holds(element),
            }
            for element in layout.elements
        ],
        "ranges": [{"name": item.name, "engaged": list(item.engaged)} for item in layout.ranges],
        "levers": levers_shown(layout, lambda members: number[members[0]]),
    }


def _code(layout: Layout, member: str) -> dict[str, str]:
    """Return colour role and dash of a member's shaft, as all pictures of the layout have them."""
    code = shaft_codes(layout)[layout.shaft_of(member)]
    return {"role": code.role, "dash": " ".join(f"{length:g}" for length in code.dash)}


def _holds(element: Element) -> dict[str, object]:
    """Return the sense in which a one-way clutch can push its first part: +1 forward, -1 reverse."""
    if element.kind is not ElementKind.ONE_WAY_CLUTCH:
        return {}
    return {"holds": 1 if element.free_direction is FreeDirection.FORWARD else -1}


def _front(pset: PlanetarySet) -> dict[str, object]:
    """Return what the front view needs: three counts where the browser can do the rest, else all outlines."""
    planet = pset.planet_teeth
    simple = pset.pinions is PinionKind.SINGLE and pset.own_planet_teeth is None
    if simple and planet is not None and planet.denominator == 1:
        return {"front": [pset.sun_teeth, int(planet), pset.planets or front_geometry.DEFAULT_PLANETS]}
    return {"geometry": front_geometry.geometry(pset)}


def levers_shown(
    layout: Layout, key_of: Callable[[Sequence[str]], object], more: Callable[[Sequence[str]], Iterable[str]] = lambda _: ()
) -> list[dict[str, object]]:
    """Return a layout's levers as a panel draws them, sets that share two shafts merged.

    Args:
        layout: any layout.
        key_of: gives the panel's key of a shaft from the names on it.
        more: further names that a shaft's label tells.
    """
    codes = shaft_codes(layout)
    drawn: list[dict[str, object]] = []
    for lever in levers(layout):
        nodes = []
        for shaft, place in sorted(lever.nodes.items(), key=lambda node: node[1]):
            members = lever.members(layout, shaft)
            label = " · ".join(member_label(name) for name in (*members, *more(members)))
            kind = lever.kind(layout, shaft)
            nodes.append(
                {"key": key_of(members), "place": float(place), "label": label, "kind": kind, "role": codes[shaft].role}
            )
        drawn.append({"title": sets_words(lever.sets), "nodes": nodes})
    return drawn
