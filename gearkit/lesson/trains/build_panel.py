"""The panel in which a class puts a layout together: add a set, join members, add an element, and see at once what it is.

The parts are kept as the lines that `gearkit new` takes too (`train.typed_in`), so both read and refuse alike. A part that does
not fit is told and not taken, so what is shown is always a layout. Only the kernel changes the parts.
"""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path
from typing import Any

import traitlets

from gearkit.draw.core.wording import ratio_text
from gearkit.draw.stick import stick_diagram
from gearkit.draw.stick.placement import place, read, structure_of
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.solve import ratios as solver
from gearkit.solve.layout_warnings import warnings
from gearkit.solve.teeth.new_layout import Typed, new_layout
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.train.elements import Element
from gearkit.train.layout import Layout
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.typed_in import words_of
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import say, say_n
from gearkit.words.terms import HOUSING, INPUT, OUTPUT, ElementKind, FreeDirection, PinionKind

KINDS = ("sets", "joins", "elements", "ranges")
LETTERS = "ABCDEFGHJKLMNQTUVWXYZ"
# Part of the usual search for a placement: drawn in 0.1 to 0.6 s, with a crossing more here and there.
QUICK = 0.1
# So many combinations that drive are offered as ranges.
MOST_OFFERED = 24


class BuildPanel(Panel):
    """Parts in; drawing, chart, warnings and a layout file out. Traits can be read from Python; parts change by the methods.

    Args:
        start: a plain layout to go on from, or None.
        traits: title and first state.

    Raises:
        UsageError: the layout has machines, several outputs or a converter.
    """

    for_one_learner = True
    _esm = script("build_panel")
    sets = traitlets.List(traitlets.Unicode()).tag(sync=True)
    joins = traitlets.List(traitlets.Unicode()).tag(sync=True)
    elements = traitlets.List(traitlets.Unicode()).tag(sync=True)
    ranges = traitlets.List(traitlets.Unicode()).tag(sync=True)
    file = traitlets.Unicode("my_layout.toml").tag(sync=True)
    found = traitlets.Dict().tag(sync=True)
    trouble = traitlets.Unicode("").tag(sync=True)
    told = traitlets.Unicode("").tag(sync=True)

    def __init__(self, start: Layout | None = None, **traits: Any) -> None:
        self._written: dict[str, bytes] = {}
        # Where the parts of the drawing go, by what is joined and applied: a further range moves nothing.
        stored = None if start is None else read(start)
        self._places = {} if start is None or stored is None else {structure_of(start): stored}
        super().__init__(**{**({} if start is None else lines_of(start)), **traits})
        self.layout_shown: Layout | None = None
        self._renew(self._parts())
        self.on_msg(self._on_message)

    def add(self, kind: str, line: str) -> None:
        """Take a part in.

        Args:
            kind: one of `KINDS`.
            line: as `train.typed_in` reads it, such as "P1 single 30/66, 3 planets", "input = P1.sun", "A brake P1.ring" or
                "1: A K".

        Raises:
            GearkitError: the line cannot be read, or the part does not fit to the others.
        """
        if kind not in KINDS:
            raise UsageError(f"There is no kind of part {kind!r}; choose from: {', '.join(KINDS)}.")
        if kind == "sets" and "?" in line:
            raise UsageError(f"set {line.strip()[:60]!r}: give its teeth, such as: P1 single 30/66")
        parts = self._parts()
        self._renew({**parts, kind: [*parts[kind], line.strip()]})

    def remove(self, kind: str, number: int) -> None:
        """Take a part out, and with it what speaks of it.

        Args:
            kind: one of `KINDS`.
            number: its place in the list, from 0.

        Raises:
            UsageError: there is no such part.
        """
        if kind not in KINDS or not 0 <= number < len(self._parts()[kind]):
            raise UsageError(f"There is no part {number + 1} among the {kind} of this layout.")
        parts = self._parts()
        line = parts[kind].pop(number)
        name = words_of(line)[0]
        gone = []
        if kind == "sets":
            for other in ("joins", "elements"):
                gone += [each for each in parts[other] if _speaks_of(each, name)]
                parts[other] = [each for each in parts[other] if not _speaks_of(each, name)]
        lost = {words_of(each)[0] for each in gone} | ({name} if kind == "elements" else set())
        parts["ranges"] = [_without(each, lost) for each in parts["ranges"]]
        self._renew(parts)
        self.told = say("Taken out: {line}", line=line) + (say("; with it {gone}.", gone=listed(gone)) if gone else ".")

    def save(self, file: str | None = None) -> Path:
        """Write the layout's file and return where it is.

        Args:
            file: its name, ending in .toml; the panel's own when None. What somebody else wrote is never replaced.

        Raises:
            UsageError: no set, no file name for a layout, or a file that this panel did not write.
        """
        target = Path(file if file is not None else self.file)
        if self.layout_shown is None:
            raise UsageError("There is no set yet, so there is no layout to save. Add a set first.")
        if target.suffix != ".toml" or not target.stem:
            raise UsageError(f"{str(target)!r}: a layout file ends in .toml, such as my_layout.toml")
        if target.exists() and (not target.is_file() or target.read_bytes() != self._written.get(str(target))):
            raise UsageError(f"{target} is there already and is left as it is. Choose another name.")
        catalogue.write(self.layout_shown, target)
        self._written[str(target)] = target.read_bytes()
        self.told = say(
            'Saved as {target}. Use it anywhere by this name, such as in lesson.explore("{target}").', target=target
        )
        return target

    def _parts(self) -> dict[str, list[str]]:
        return {
            "sets": list(self.sets),
            "joins": list(self.joins),
            "elements": list(self.elements),
            "ranges": list(self.ranges),
        }

    def _renew(self, parts: dict[str, list[str]]) -> None:
        """Show what the parts make; where they make no layout, say so and leave everything as it is."""
        name = Path(self.file).stem.replace("_", " ") or say("my layout")
        sets, joins, elements, ranges = (tuple(parts[kind]) for kind in KINDS)
        typed = Typed(name, sets, joins, elements, ranges)
        made = new_layout(typed).layout if typed.sets else None
        if made is None and any(parts.values()):
            raise UsageError("Add a set first: what is joined and applied acts on its members.")
        result = _worked_out(made, self._drawing(made))
        with self.hold_sync():
            self.layout_shown = made
            self.sets, self.joins, self.elements, self.ranges = (parts[kind] for kind in KINDS)
            self.found, self.trouble, self.told = result, "", ""

    def _drawing(self, made: Layout | None) -> str:
        if made is None:
            return ""
        key = structure_of(made)
        if key not in self._places:
            self._places[key] = place(made, effort=QUICK)
        return stick_diagram.picture(made, None, self._places[key], alone=False).svg()

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        """Do what the browser asks for; what cannot be done is told in the panel."""
        if not isinstance(content, dict):
            return
        self.trouble = self.told = ""
        try:
            match content:
                case {"do": "add", "kind": str(kind), "line": str(line)}:
                    self.add(kind, line)
                case {"do": "remove", "kind": str(kind), "number": int(number)}:
                    self.remove(kind, number)
                case {"do": "save", "file": str(file)}:
                    self.file = file.strip()
                    self.save()
        except (GearkitError, OSError) as fault:
            self.trouble = str(fault)

    def words(self) -> str:
        """Return in a few sentences what the layout is now."""
        if self.layout_shown is None:
            return say("No set yet. Add the first one.")
        parts = [
            say_n("{sets} set: {sets2}", "{sets} sets: {sets2}", len(self.sets), sets=len(self.sets), sets2=listed(self.sets))
        ]
        parts += [
            (
                say("range {row}: ratio {row2}", row=row[0], row2=row[3])
                if row[3] != "–"
                else say("range {row}: {row2}", row=row[0], row2=row[2])
            )
            for row in self.found["chart"]
        ]
        return f"{'; '.join(parts)}. {' '.join(self.found['warnings'])}".strip()

    def pictures(self) -> tuple[str, ...]:
        """Return the stick diagram; nothing while there is no set."""
        return (self.found["drawing"],) if self.found["drawing"] else ()


def lines_of(layout: Layout) -> dict[str, list[str]]:
    """Return the lines that describe a layout, by kind of part.

    Args:
        layout: a plain layout.

    Raises:
        UsageError: it has machines, several outputs or a converter.
    """
    if not layout.plain:
        raise UsageError(f"{layout.name}: only a layout with one input and one output can be put together here.")
    return {
        "sets": [_set_line(pset) for pset in layout.sets],
        "joins": [" = ".join(join) for join in layout.joins],
        "elements": [_element_line(element) for element in layout.elements],
        "ranges": [f"{item.name}: {' '.join(item.engaged)}".rstrip() for item in layout.ranges],
    }


def _set_line(pset: PlanetarySet) -> str:
    planets = f", {pset.planets} planets" if pset.planets else ""
    if pset.pinions is PinionKind.BEVEL:
        return f"{pset.name} bevel{planets}"
    if pset.sun_teeth is None:
        return f"{pset.name} {pset.pinions} R/S {pset.ring_to_sun}{planets}"
    counts = [pset.sun_teeth, pset.sun_pinion_teeth, pset.ring_pinion_teeth, pset.ring_teeth]
    return f"{pset.name} {pset.pinions} {'/'.join(str(count) for count in counts if count is not None)}{planets}"


def _element_line(element: Element) -> str:
    turns = " reverse" if element.free_direction is FreeDirection.REVERSE else ""
    return f"{element.name} {element.kind} {' '.join(element.between)}{turns}"


def _speaks_of(line: str, set_name: str) -> bool:
    return re.search(rf"(?<!\S){re.escape(set_name)}[.\s]", " ".join(words_of(line)) + " ") is not None


def _without(line: str, elements: set[str]) -> str:
    name, *applied = words_of(line)
    return f"{name}: {' '.join(each for each in applied if each not in elements)}".rstrip()


def _worked_out(layout: Layout | None, drawing: str) -> dict[str, Any]:
    """Return what the browser shows of the parts, ready for JSON."""
    ends = [INPUT, OUTPUT, HOUSING]
    if layout is None:
        return {"drawing": "", "members": ends, "elements": [], "chart": [], "drives": [], "warnings": [], "next": _next(None)}
    chart = [
        [
            row.name,
            " ".join(row.engaged) or say("nothing"),
            say(row.mobility.verdict),
            _ratio(row.ratio.exact if row.ratio else None),
        ]
        for row in solver.chart(layout).rows
    ]
    drives = [[ratio_text(row.ratio.exact), " ".join(row.engaged)] for row in solver.driving_rows(layout) if row.ratio]
    return {
        "drawing": drawing,
        "members": [*ends[:2], *layout.members, HOUSING],
        "elements": [
            {"name": element.name, "applied": element.kind is not ElementKind.ONE_WAY_CLUTCH} for element in layout.elements
        ],
        "chart": chart,
        "drives": drives[:MOST_OFFERED],
        "warnings": list(warnings(layout)),
        "next": _next(layout),
    }


def _ratio(ratio: Fraction | None) -> str:
    return "–" if ratio is None else ratio_text(ratio)


def _next(layout: Layout | None) -> dict[str, str]:
    """Return a free name for the next set, element and range."""
    taken = {each.name for parts in ((layout.sets, layout.elements, layout.ranges) if layout else ()) for each in parts}
    letter = next((letter for letter in LETTERS if letter not in taken), "")
    numbers = [str(number) for number in range(1, 40)]
    return {
        "set": next(f"P{number}" for number in numbers if f"P{number}" not in taken),
        "element": letter,
        "range": next(number for number in numbers if number not in taken),
    }
