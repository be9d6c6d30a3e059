"""The pages that come with a whole train: what is needed, how it goes together, how it is locked, turned and counted."""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction

from gearkit.draw.core.wording import shaft_words
from gearkit.make.bench_model import CAUTIONS
from gearkit.make.whole import bill
from gearkit.make.whole.exploded import exploded
from gearkit.make.whole.handles import GAUGE_STEPS, MARKS
from gearkit.make.whole.model import Whole
from gearkit.make.whole.proof import Check, end_plays
from gearkit.make.whole.solids import Solid
from gearkit.print.document import Block, Document, Entries, Figure, Heading, NewPage, Paragraph, Table, as_text
from gearkit.solve.ratios import ratio
from gearkit.text.phrases import listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.words.terms import ElementKind

# So many steps stand in one picture.
_IN_A_PICTURE = 5
_TURNS = 12
# Round surfaces in pictures have so many sides.
_SIDES = 40
MORE_CAUTIONS = (
    "Pinch points: keep fingers, hair and sleeves out of the windows and away from the gears while anybody turns the crank.",
    "Drills, knives and keys slip: clamp the part, cut away from your hand.",
    "Glue and fumes of hot plastic: air the room, and follow the maker's instructions.",
)


def document(whole: Whole, checks: list[Check]) -> Document:
    """Return the pages of a whole train.

    Args:
        whole: the train.
        checks: what was looked at before it was written.
    """
    return Document(f"A model to print: {whole.layout.name}", tuple(_Pages(whole, checks).blocks()))


def not_freewheeling(layout: Layout) -> str:
    """Return what is said of a layout's one-way clutches; empty where it has none.

    Args:
        layout: any layout.
    """
    ways = [element.name for element in layout.elements if element.kind is ElementKind.ONE_WAY_CLUTCH]
    if not ways:
        return ""
    kind = "a one-way clutch by its kind" if len(ways) == 1 else "one-way clutches by their kind"
    return (
        f"{listed(ways)}: {kind}, made here with a screw. The model does not freewheel: with the screw in it holds both ways. "
        "Take the screw back where the real one would run free."
    )


class _Pages:
    def __init__(self, whole: Whole, checks: list[Check]) -> None:
        self.whole, self.checks, self.layout = whole, checks, whole.layout

    def blocks(self) -> Iterator[Block]:
        """Yield everything."""
        train = self.whole.train
        yield Heading(f"A model to print: {as_text(self.layout.name)}")
        yield Paragraph(
            f"{2 * train.outside:.0f} mm across, {train.length[1] - train.length[0]:.0f} mm long, gears of module {self.whole.module:g} mm. "
            "Turned by hand. Each clutch and brake is locked with a set screw from outside."
        )
        yield Heading("Cautions", 2)
        yield Entries((*CAUTIONS, *MORE_CAUTIONS))
        yield from self._needed()
        yield from self._gauge()
        yield from self._together()
        yield from self._locking()
        yield from self._counting()
        yield from self._running()
        yield Heading("What was checked", 2)
        yield Paragraph("Worked out on the finished shapes, not on a printed model:")
        yield Entries(tuple(as_text(check.what) for check in self.checks))

    def _needed(self) -> Iterator[Block]:
        yield Heading("What you need", 2)
        rows = [
            (made.name, as_text(words), str(count), " × ".join(f"{value:.0f}" for value in size), self._time(effort))
            for made, (_, words, count, size, effort) in zip(self.whole.made, bill.table(self.whole), strict=True)
        ]
        yield Table(("File", "Part", "Pieces", "Size, mm", "Time"), tuple(rows))
        printer = self.whole.printer
        yield Paragraph(
            f"Together about {bill.total(self.whole).told}. An estimate for a nozzle of {printer.nozzle:g} mm, layers of "
            f"{printer.nozzle / 2:g} mm, three lines of wall and a fifth of the inside filled. The files stand as they are printed; "
            "no part needs supports."
        )
        yield Table(("Pieces", "Bought"), tuple((str(count), as_text(words)) for count, words in bill.screws(self.whole)))

    @staticmethod
    def _time(effort: bill.Effort) -> str:
        return f"{int(effort.minutes) // 60} h {int(effort.minutes) % 60:02d} min"

    def _gauge(self) -> Iterator[Block]:
        yield Heading("Print the gauge first", 2)
        yield Paragraph(
            "Print gauge_plate and gauge_peg before any other part, with the filament and the settings that the train will have. The "
            "edge beside each bore has notches: count them to know which bore it is."
        )
        yield Table(
            ("Notches beside the bore", "Clearance, mm"),
            tuple((str(notches), f"{step:g}") for notches, step in enumerate(GAUGE_STEPS, 1)),
        )
        yield Paragraph(
            "Try the peg from one notch upwards. The first bore in which you can turn it with two fingers is yours: its clearance is what "
            "your printer needs between a shaft and what turns on it. This model was made for "
            f"{self.whole.printer.clearance:g} mm. If your bore has another clearance, make the files again with it before you print the "
            "rest; for three notches add this:"
        )
        # In a line of its own, because a line may break at its hyphens.
        yield Paragraph(f"`--clearance {GAUGE_STEPS[2]:g}`")

    def _together(self) -> Iterator[Block]:
        steps = self.whole.steps
        yield NewPage()
        yield Heading("Put it together", 2)
        yield Paragraph(
            "Lay the base on two blocks, marks downwards, so that the input can stick out below. Then put on one part after the other from "
            "above. Parts of one shaft get a drop of glue where they meet; keep glue away from all that turns. Turn a part until its keys "
            "find the grooves or its teeth find the gaps. Turn the set screws of clutches into their drums before you put the drum in."
        )
        coarse = self._coarse()
        for start in range(0, len(steps), _IN_A_PICTURE):
            some = range(start, min(start + _IN_A_PICTURE, len(steps)))
            shown = [(str(number + 1), coarse[number]) for number in some]
            told = f"Steps {start + 1} to {some[-1] + 1}, from left to right: {listed([steps[number][1] for number in some])}"
            yield Figure(exploded(shown, f"Parts pulled apart, steps {start + 1} to {some[-1] + 1}", f"{told}."))
            yield Entries(tuple(self._step(number) for number in some))
        yield Paragraph(
            f"Put the casing's cup over everything last, with the longest marks of both in line, and screw it to the base ({bill.LID_SCREW} mm "
            "screws). Push the crank on the input and "
            "the pointer on the output."
        )

    def _coarse(self) -> list[list[Solid]]:
        """The same parts with fewer corners, for pictures."""
        return [solids for _, _, solids in self.whole.with_sides(_SIDES).steps]

    def _step(self, number: int) -> str:
        key, words, solids = self.whole.steps[number]
        told = f"**Step {number + 1}** · {as_text(words)}"
        if isinstance(key, int):
            told += f" ({self.whole.parts[key].name})"
            kinds = sorted(
                {f"{joint.kind} to {self.whole.parts[joint.first].name}" for joint in self.whole.joints if joint.second == key}
            )
            kinds += self._pins(key)
            return f"{told}: {'; '.join(kinds)}." if kinds else f"{told}."
        return f"{told}, {len(solids)} pieces."

    def _pins(self, key: int) -> list[str]:
        """What pins of a part do, or what pins it takes."""
        pieces, split = self.whole.split.stock.pieces, self.whole.split
        sentences = []
        for a, b, how in split.joints:
            first, second = ({n for n, part in enumerate(split.parts) if number in part.pieces} for number in (a, b))
            if how == "pins" and second == {key}:
                (other,) = first
                name = self.whole.parts[other].name
                sentences.append(f"its pins go into {name}" if pieces[b].kind == "pins" else f"goes on the pins of {name}")
        return sorted(set(sentences))

    def _locking(self) -> Iterator[Block]:
        yield Heading("Clutches and brakes", 2)
        rows = []
        for lock in self.whole.locks:
            element = self.layout.elements[lock.pack.element]
            between = listed(member_label(name) for name in element.between)
            rows.append(
                (element.name, element.kind.value, as_text(between), f"M3 × {lock.length}", f"{lock.x:.0f} mm",
                 f"{math.degrees(lock.at):.0f}°", f"{lock.step:.0f}°")
            )  # fmt: skip
        head = ("Element", "Kind", "Between", "Screw", "From the base's face", "Hole in the casing at", "Next hole after")
        yield Table(head, tuple(rows))
        yield Paragraph(
            "To apply an element, turn its shafts until you see its screw through its hole in the casing, then turn the screw in until it "
            "stops; if it does not go in, turn one shaft on by less than one hole. To release it, turn the screw back by about five turns: it "
            "stays in its drum. Angles are measured from the longest mark, clockwise as seen from the "
            "input. A brake's screw sticks out of the casing, so it is set by hand without looking for it."
        )
        if not_freewheeling(self.layout):
            yield Paragraph(not_freewheeling(self.layout))

    def _counting(self) -> Iterator[Block]:
        yield Heading("Turn and count", 2)
        yield Paragraph(
            f"Both ends of the casing have {MARKS} marks; counting starts at the longer one. Bring crank and pointer to it, turn the crank "
            f"{_TURNS} times, and count the turns of the pointer and the marks it is past. Compare with the ratio."
        )
        rows = []
        for item in self.layout.ranges:
            formula = ratio(self.layout, item.engaged)
            if formula is not None:
                exact = formula.exact
                turns = Fraction(_TURNS) / exact
                whole, rest = divmod(abs(turns), 1)
                way = "the same way" if turns > 0 else "the other way"
                rows.append(
                    (
                        item.name,
                        listed(item.engaged),
                        f"{float(exact):.3f}".replace("-", "−"),
                        f"{whole} turns and {float(rest * MARKS):.1f} marks, {way}",
                    )
                )
        yield Table(("Range", "Screws in", "Ratio", f"Pointer after {_TURNS} turns of the crank"), tuple(rows))

    def _running(self) -> Iterator[Block]:
        yield Heading("What runs on what", 2)
        rows = []
        for body, (left, right) in end_plays(self.whole).items():
            name = as_text(shaft_words(self.layout.shafts[body]))
            rows.append((name, as_text(self._bearing(body)), f"{left + right:.1f} mm"))
        yield Table(("Shaft", "Runs on", "End play"), tuple(rows))

    def _bearing(self, body: int) -> str:
        runs = self.whole.split.stock.bearings.get(body, [])
        bearings = dict[str, None]()
        for other, _, radius in sorted(runs, key=lambda run: (run[2], -run[1])):
            bearings.setdefault(f"{shaft_words(self.layout.shafts[other]) if other else 'the casing'} at {2 * radius:.0f} mm")
        held = [
            other
            for other, below in self.whole.split.stock.bearings.items()
            for beside, _, _ in below
            if beside == body and other == 0
        ]
        if held:
            bearings.setdefault("the wall of the casing")
        gears = {set_words(self.layout.sets[wheel.set].name) for wheel in self.whole.train.wheels if wheel.body == body}
        if gears:
            bearings.setdefault(f"centred by the planets of {listed(sorted(gears))}")
        return "; ".join(bearings) or "held between its neighbours"
