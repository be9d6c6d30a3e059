"""What a panel needs to know of a layout, as plain numbers sent once; the browser works out everything that moves."""

from __future__ import annotations

from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.draw.front import front_geometry
from gearkit.draw.lever import lever_diagram
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
        "name": layout.name,
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
        "levers": _levers(layout, number),
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


def _levers(layout: Layout, number: dict[str, int]) -> list[dict[str, object]]:
    """Return the levers, sets that share two shafts merged, with the panel's shaft numbers as keys."""
    drawn: list[dict[str, object]] = []
    for lever in lever_diagram.geometry(layout)["levers"]:
        nodes = [
            {
                "key": number[node["members"][0]],
                "place": node["place"],
                "label": " · ".join(map(member_label, node["members"])),
                "kind": node["kind"],
                "role": node["role"],
            }
            for node in lever["nodes"]
        ]
        drawn.append({"title": sets_words(lever["sets"]), "nodes": nodes})
    return drawn
