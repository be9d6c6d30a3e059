"""What lesson 11 works out about rows of the chart names elements, and the ways round are single swaps."""

from __future__ import annotations

import json
from types import SimpleNamespace
from typing import Any

from gearkit import find_layout
from gearkit.solve.service.shifts import ways_round
from gearkit.text import places


def rows() -> dict[str, list[set[str]]]:
    notebook = json.loads((places.lessons() / "11_shifting" / "shifting.ipynb").read_text(encoding="utf-8"))
    cells = [cell for cell in notebook["cells"] if cell["id"] == "l11-rows-numbers"]
    told: list[Any] = []
    lesson = SimpleNamespace(table=lambda head, body: told.extend(body))
    exec("".join(cells[0]["source"]), {"lesson": lesson, "q36": find_layout("Q36"), "ways_round": ways_round})
    return {name: [set(filter(None, each.split(", "))) for each in more] for name, *more in told}


def test_what_goes_off_and_comes_on_are_elements_of_the_train() -> None:
    elements = {element.name for element in find_layout("Q36").elements}
    for name, columns in rows().items():
        assert set().union(*columns) <= elements, name


def test_each_step_of_a_way_round_is_a_single_swap_and_the_direct_shift_is_none() -> None:
    table = rows()
    assert [[len(each) for each in table[name][:2]] for name in ("3-4", "2-6")] == [[1, 1], [2, 2]]
    steps = [name for name in table if name not in ("3-4", "2-6")]
    assert len(steps) >= 2
    assert [[len(each) for each in table[name]] for name in steps] == [[1, 1, 1]] * len(steps)
