"""The numbers in a lesson's prose, each held to the value of its cell; run as a program it binds those that are new.

A file of ``tests/lesson/pinned`` belongs to a lesson. For each prose cell it lists the numbers in their order, each with the
expression that gives it once the code cell ``after`` has run; so neither can be altered alone. ``holds`` lists what must be
true besides, such as that a result by hand is the solver's. "plain" is a number of the wording or of a formula itself.

python -m tests.lesson.pinned_numbers            # binds new numbers, keeps what is bound, says what it cannot bind
"""

from __future__ import annotations

import ast
import itertools
import json
import re
import sys
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

from gearkit import find_layout
from gearkit.lesson.working.afterwords import AFTERWORDS
from gearkit.lesson.working.results import Results
from gearkit.solve.loads.torques import torques
from gearkit.solve.mobility import assess
from gearkit.solve.on_road.converter import at_turbine_speed, coupling_ratio
from gearkit.solve.on_road.road import road_chart
from gearkit.solve.on_road.vehicle import free_radius
from gearkit.solve.one_way import working
from gearkit.solve.ratios import chart, ratio
from gearkit.solve.service.shifts import shift, shift_chart
from gearkit.solve.several.motions import motions
from gearkit.solve.several.speeds_given import speeds_given
from gearkit.solve.several.torques_given import torques_given
from gearkit.solve.speeds import speeds

PINNED = Path(__file__).parent / "pinned"
PLAIN = "plain"
# Prose of these roles tells no results.
_OTHER = {"outcomes", "exercise", "progress", "sources", "caution", "discuss", "limits", "next"}
_TOKEN = re.compile(r"(?<![A-Za-z_\\\d.{])[−-]?\d+(?:\.\d+)?(?![\d])|(?<=\{)[−-]?\d+(?:\.\d+)?(?=[^\d.])")
_NOT_NUMBERS = (
    r"\]\([^)]*\)", r"`[^`]*`", r"^# Lesson.*$", r"^\d+\. ", r"\*\*\d+ minutes[^*]*\*\*", r"[Ll]essons? \d+(?:(?:,| and| to) \d+)*",
    r"[Ll]ast lessons", r"R\d+\b", r"ISO[^.;]*", r"\b(?:sun|ring|carrier|set)s? \d(?!\d)(?:(?:,| and| with) \d(?!\d))*", r"(?:from|to|and|ranges?) [1-6N](?= to|,| and)", r"Ranges 1 to 6",
)  # fmt: skip


@dataclass
class Cell:
    """A cell of a notebook, as the check needs it.

    Args:
        name: its id.
        code: whether it holds code.
        source: its text.
        tags: its roles.
    """

    name: str
    code: bool
    source: str
    tags: set[str]


@dataclass
class After:
    """What a code cell left behind.

    Args:
        names: all names, as they stood when the cell had run.
        shown: the values of the table that it shows, row by row.
        source: its text.
        own: names that it reads or sets.
        sources: the texts of all code cells.
    """

    names: dict[str, Any]
    shown: list[list[Any]]
    source: str
    own: set[str] = field(default_factory=set)
    sources: Mapping[str, str] = field(default_factory=dict)


def cells_of(path: Path) -> list[Cell]:
    """Return the cells of a notebook."""
    held = json.loads(path.read_text(encoding="utf-8"))["cells"]
    return [
        Cell(cell["id"], cell["cell_type"] == "code", "".join(cell["source"]), set(cell["metadata"].get("tags", [])))
        for cell in held
    ]


def is_working(cell: Cell) -> bool:
    """Return whether a cell works something out, so that panels, forms and pictures are left alone."""
    return cell.code and cell.source.startswith("# ") and not re.search(r"ipywidgets|lesson\.predict", cell.source)


def ran(cells: list[Cell]) -> dict[str, After]:
    """Run the cells that work something out, in order, and return what each left.

    Args:
        cells: all cells of a lesson.
    """
    space: dict[str, Any] = {}
    found = {}
    sources = {cell.name: cell.source for cell in cells if cell.code}
    for cell in filter(is_working, cells):
        tree = ast.parse(cell.source)
        last = tree.body[-1]
        shows = isinstance(last, ast.Expr)
        exec(compile(ast.Module(tree.body[:-1] if shows else tree.body, []), cell.name, "exec"), space)
        value = eval(compile(ast.Expression(last.value), cell.name, "eval"), space) if isinstance(last, ast.Expr) else None
        rows = [[each.value for each in row[0:]] for row in value.rows] if isinstance(value, Results) else []
        own = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
        found[cell.name] = After(dict(space), rows, cell.source, own, sources)
    return found


def numbers_in(text: str) -> list[str]:
    """Return the numbers of a prose cell in their order, as they are written.

    Args:
        text: Markdown with formulas.
    """
    for pattern in _NOT_NUMBERS:
        text = re.sub(pattern, " ", text, flags=re.MULTILINE)
    text = re.sub(r"(?<=\d)(?:\\,| )(?=\d{3}\b)", "", text)
    return [found[0].replace("-", "−") for found in _TOKEN.finditer(text)]


def agrees(written: str, value: Any) -> bool:
    """Return whether a value, rounded as a number is written, is that number.

    Args:
        written: a number, as the prose has it.
        value: what an expression gives.
    """
    if isinstance(value, bool) or not isinstance(value, int | float | Fraction):
        return False
    places = len(written.partition(".")[2])
    return f"{float(value):.{places}f}".replace("-", "−").removeprefix("−") == written.removeprefix("−") and (
        not written.startswith("−") or value < 0
    )


def value_of(expression: str, after: After) -> Any:
    """Return what an expression gives once a cell has run; ``row(2)`` is the first value of the table's row 2 from 0.

    Args:
        expression: Python, with the lesson's names; ``given(30)`` is 30 where the cell's
            source holds that number, ``given(30, "l03-predict-panel")`` where another cell's does.
        after: what the cell left.
    """

    def row(number: int, column: int = 1) -> Any:
        return after.shown[number][column]

    def given(number: float, cell: str = "") -> float:
        if number not in literals(after.sources[cell] if cell else after.source):
            raise AssertionError(f"the cell no longer holds {number}")
        return number

    return eval(expression, {**TOOLS, **after.names, "row": row, "given": given})


def literals(source: str) -> list[float]:
    """Return the numbers that stand in a code cell."""
    nodes = (node for node in ast.walk(ast.parse(source)) if isinstance(node, ast.Constant))
    return [node.value for node in nodes if isinstance(node.value, int | float) and not isinstance(node.value, bool)]


# What the expressions of ``holds`` use of the kit, which the lessons need not import.
TOOLS = {
    each.__name__: each
    for each in (
        Fraction,
        assess,
        at_turbine_speed,
        chart,
        coupling_ratio,
        find_layout,
        free_radius,
        motions,
        ratio,
        road_chart,
        shift,
        shift_chart,
        speeds,
        speeds_given,
        torques,
        torques_given,
        working,
    )
}


@dataclass
class Pins:
    """What is pinned of one lesson.

    Args:
        cells: prose cell or afterword -> (the code cell after which it is looked at, its numbers with their expressions).
        holds: code cell -> what must be true once it has run.
    """

    cells: dict[str, tuple[str, list[tuple[str, str]]]]
    holds: dict[str, list[str]]


def read(number: str) -> Pins:
    """Return what is pinned of a lesson.

    Args:
        number: two digits.
    """
    path = PINNED / f"{number}.toml"
    held = tomllib.loads(path.read_text(encoding="utf-8")) if path.exists() else {}
    cells = {}
    for name, entry in held.get("prose", {}).items():
        pairs = [tuple(part.strip() for part in line.split("=", 1)) for line in entry["numbers"]]
        cells[name] = (entry["after"], [(pair[0], pair[1]) for pair in pairs])
    return Pins(cells, dict(held.get("holds", {})))


def prose_of(number: str, cells: list[Cell]) -> Iterator[tuple[str, str, str]]:
    """Yield for each text that tells numbers: its name, its words, and the code cell after which its numbers are looked at.

    Args:
        number: the lesson's number.
        cells: the lesson's cells.
    """
    working = [place for place, cell in enumerate(cells) if is_working(cell) and "open" not in cell.tags]
    for place, cell in enumerate(cells):
        if not cell.code and not cell.tags & _OTHER and numbers_in(cell.source):
            near = (
                next((k for k in working if k > place), working[-1])
                if cell.tags & {"by-hand"} or not cell.tags
                else working[-1]
            )
            yield cell.name, cell.source, cells[near].name
    for place, each in enumerate(word for word in AFTERWORDS if word.lesson == number):
        if working and numbers_in(each.text):
            yield f"afterword-{place + 1}", each.text, cells[working[-1]].name


def troubles(number: str, cells: list[Cell], pins: Pins) -> list[str]:
    """Return what does not agree between prose, cells and what is pinned, each as a sentence.

    Args:
        number: the lesson's number.
        cells: the lesson's cells.
        pins: what is pinned.
    """
    found = []
    after = ran(cells)
    told = {name: text for name, text, _ in prose_of(number, cells)}
    for name in told.keys() ^ pins.cells.keys():
        found.append(f"{name}: {'tells numbers that are not pinned' if name in told else 'is pinned and tells no numbers'}")
    for name in told.keys() & pins.cells.keys():
        where, pairs = pins.cells[name]
        if numbers_in(told[name]) != [written for written, _ in pairs]:
            found.append(f"{name}: its numbers are {numbers_in(told[name])}, pinned are {[written for written, _ in pairs]}")
            continue
        found += [f"{name}: {trouble}" for trouble in _off(pairs, after[where])]
    for name, claims in pins.holds.items():
        if name not in after:
            found.append(f"{name} is pinned and is no cell that works something out")
            continue
        found += [f"{name}: {claim} does not hold" for claim in claims if not _true(claim, after[name])]
    return found


def _off(pairs: list[tuple[str, str]], after: After) -> Iterator[str]:
    for written, expression in pairs:
        if expression == PLAIN:
            continue
        try:
            value = value_of(expression, after)
        except Exception as fault:
            yield f"{expression} cannot be worked out: {fault}"
            continue
        if not agrees(written, value):
            yield f"the prose says {written}, {expression} is {value}"


def _true(claim: str, after: After) -> bool:
    try:
        return bool(value_of(claim, after))
    except Exception:
        return False


def _candidates(after: After) -> Iterator[str]:
    """Expressions that a number may be bound to, the plainest first."""
    own = {name: value for name, value in after.names.items() if name in after.own and not name.startswith("_")}
    plain = [name for name, value in own.items() if isinstance(value, int | float | Fraction) and not isinstance(value, bool)]
    yield from plain
    yield from (f"-{name}" for name in plain)
    for name, value in own.items():
        if isinstance(value, list | tuple):
            yield from (f"{name}[{place}]" for place in range(min(len(value), 12)))
        elif isinstance(value, Mapping):
            yield from (f"{name}[{key!r}]" for key in value)
    for number, row in enumerate(after.shown):
        yield from (f"row({number}, {column})" if column != 1 else f"row({number})" for column in range(1, len(row)))
    yield from (f"100*{name}" for name in plain)
    held = [f"given({number:g})" for number in dict.fromkeys(literals(after.source))]
    yield from held
    for one, two in itertools.permutations([*plain, *held], 2):
        yield from (f"{one} {sign} {two}" for sign in "+-*/")


def bound(written: str, after: After) -> str:
    """Return the plainest expression that gives a number; "plain" for a small whole number, "?" where there is none.

    Args:
        written: the number, as the prose has it.
        after: what its cell left.
    """
    if re.fullmatch(r"[0-4]", written) and not any(agrees(written, after.names.get(name)) for name in after.own):
        return PLAIN
    for expression in _candidates(after):
        try:
            if agrees(written, value_of(expression, after)):
                return expression
        except Exception:
            continue
    return PLAIN if re.fullmatch(r"\d", written) else "?"


def rebound(number: str, cells: list[Cell], pins: Pins) -> Pins:
    """Return what is pinned with new numbers bound and old ones kept.

    Args:
        number: the lesson's number.
        cells: the lesson's cells.
        pins: what was pinned before.
    """
    after = ran(cells)
    found: dict[str, tuple[str, list[tuple[str, str]]]] = {}
    for name, text, near in prose_of(number, cells):
        where, old = pins.cells.get(name, (near, []))
        written = numbers_in(text)
        kept = dict(old) if [each for each, _ in old] != written else None
        pairs = old if kept is None else [(each, kept.get(each) or bound(each, after[where])) for each in written]
        found[name] = (where, list(pairs))
    return Pins(found, pins.holds)


def written_down(pins: Pins) -> str:
    """Return the text of a file of pins."""
    lines = ["# Numbers in the prose of a lesson and the expressions that give them: see tests/lesson/pinned_numbers.py."]
    for name, (where, pairs) in pins.cells.items():
        lines += ["", f"[prose.{name}]", f'after = "{where}"', "numbers = ["]
        lines += [f"    {json.dumps(f'{written} = {expression}', ensure_ascii=False)}," for written, expression in pairs] + [
            "]"
        ]
    lines += ["", "[holds]"] if pins.holds else []
    for name, claims in pins.holds.items():
        lines += [f"{name} = [", *(f"    {json.dumps(claim, ensure_ascii=False)}," for claim in claims), "]"]
    return "\n".join(lines) + "\n"


if __name__ == "__main__":
    from gearkit.text import places
    from tests.lesson.notebooks import all_lessons

    for file in all_lessons(places.lessons()):
        lesson = file.parent.name[:2]
        if not re.fullmatch(r"0[1-9]|1[0-5]", lesson):
            continue
        pinned = rebound(lesson, cells_of(file), read(lesson))
        (PINNED / f"{lesson}.toml").write_text(written_down(pinned), encoding="utf-8")
        open_ones = [
            f"{name}: {written}"
            for name, (_, pairs) in pinned.cells.items()
            for written, expression in pairs
            if expression == "?"
        ]
        print(
            f"lesson {lesson}: {sum(len(pairs) for _, pairs in pinned.cells.values())} numbers",
            *open_ones,
            sep="\n  ",
            file=sys.stderr,
        )
