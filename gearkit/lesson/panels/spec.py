"""What a panel needs to know of a layout, as plain numbers sent once; the browser works out everything that moves."""

from __future__ import annotations

from gearkit.solve.mobility import shaft_columns
from gearkit.train.layout import Layout
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT

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
            }
            for pset in layout.sets
        ],
        "elements": [
            {
                "name": element.name,
                "kind": element.kind.value,
                "between": [number[shaft] for shaft in element.between],
                "words": f"{element.kind.value} {element.between[0]} – {element.between[1]}",
            }
            for element in layout.elements
        ],
        "ranges": [{"name": item.name, "engaged": list(item.engaged)} for item in layout.ranges],
    }
