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
from gearkit.print.document import Block, Document, Entries, Figure, Heading, NewPage, Paragraph, Table, Together, as_text
from gearkit.solve.ratios import ratio
from gearkit.text.phrases import decimal, fixed, listed, member_label, set_words
from gearkit.train.layout import Layout
from gearkit.words.say import later, said, say
from gearkit.words.terms import ElementKind

# So many steps stand in one picture.
_IN_A_PICTURE = 5
_TURNS = 12
# Of the page's width a picture takes so much: two of them stand on a page, each with its steps.
_SHARE = 0.72
# Round surfaces in pictures have so many sides.
_SIDES = 40
# How two parts of one body hold together, by the word that the half-section has for it.
_JOINTS = {"tabs": later("tabs"), "loose keys": later("loose keys"), "keys": later("keys"), "screws": later("screws")}
MORE_CAUTIONS = (
    later(
        "Pinch points: keep fingers, hair and sleeves out of the windows and away from the gears while anybody turns the crank."
    ),
    later("Drills, knives and keys slip: clamp the part, cut away from your hand."),
    later("Glue and fumes of hot plastic: air the room, and follow the maker's instructions."),
)


def document(whole: Whole, checks: list[Check]) -> Document:
    """Return the pages of a whole train.

    Args:
        whole: the train.
        checks: what was looked at before it was written.
    """
    return Document(say("A model to print: {name}", name=whole.layout.said_name), tuple(_Pages(whole, checks).blocks()))


def not_freewheeling(layout: Layout) -> str:
    """Return what is said of a layout's one-way clutches; empty where it has none.

    Args:
        layout: any layout.
    """
    ways = [element.name for element in layout.elements if element.kind is ElementKind.ONE_WAY_CLUTCH]
    if not ways:
        return ""
    kind = say("a one-way clutch by its kind") if len(ways) == 1 else say("one-way clutches by their kind")
    return say(
        "{ways}: {kind}, made here with a screw. The model does not freewheel: with the screw in it holds both ways. Take the screw back where the real one would run free.",
        ways=listed(ways),
        kind=kind,
    )


class _Pages:
    def __init__(self, whole: Whole, checks: list[Check]) -> None:
        self.whole, self.checks, self.layout = whole, checks, whole.layout

    def blocks(self) -> Iterator[Block]:
        """Yield everything."""
        train = self.whole.train
        yield Heading(say("A model to print: {as_text}", as_text=as_text(self.layout.said_name)))
        yield Paragraph(
            say(
                "{value} mm across, {value_2} mm long, gears of module {module} mm. Turned by hand. Each clutch and brake is locked with a set screw from outside.",
                value=f"{2 * train.outside:.0f}",
                value_2=f"{train.length[1] - train.length[0]:.0f}",
                module=decimal(self.whole.module),
            )
        )
        yield Heading(say("Cautions"), 2)
        yield Entries(tuple(say(caution) for caution in (*CAUTIONS, *MORE_CAUTIONS)))
        yield from self._needed()
        yield from self._gauge()
        yield from self._together()
        yield from self._locking()
        yield from self._counting()
        yield from self._running()
        yield Heading(say("What was checked"), 2)
        yield Paragraph(say("Worked out on the finished shapes, not on a printed model:"))
        yield Entries(tuple(as_text(check.what) for check in self.checks))

    def _needed(self) -> Iterator[Block]:
        yield Heading(say("What you need"), 2)
        rows = [
            (made.name, as_text(words), str(count), " × ".join(f"{value:.0f}" for value in size), self._time(effort))
            for made, (_, words, count, size, effort) in zip(self.whole.made, bill.table(self.whole), strict=True)
        ]
        yield Table((say("File"), say("Part"), say("Pieces"), say("Size, mm"), say("Time")), tuple(rows))
        printer = self.whole.printer
        yield Paragraph(
            say(
                "Together about {told}. An estimate for a nozzle of {nozzle} mm, layers of {value} mm, three lines of wall and a fifth of the inside filled. The files stand as they are printed; no part needs supports.",
                told=bill.total(self.whole).told,
                nozzle=decimal(printer.nozzle),
                value=decimal(printer.nozzle / 2),
            )
        )
        bought = tuple((str(count), as_text(words)) for count, words in bill.screws(self.whole))
        yield Together((Table((say("Pieces"), say("Bought")), bought),))

    @staticmethod
    def _time(effort: bill.Effort) -> str:
        return say("{value} h {value_2} min", value=int(effort.minutes) // 60, value_2=f"{int(effort.minutes) % 60:02d}")

    def _gauge(self) -> Iterator[Block]:
        yield Heading(say("Print the gauge first"), 2)
        yield Paragraph(
            say(
                "Print gauge_plate and gauge_peg before any other part, with the filament and the settings that the train will have. The edge beside each bore has notches: count them to know which bore it is."
            )
        )
        yield Table(
            (say("Notches beside the bore"), say("Clearance, mm")),
            tuple((str(notches), decimal(step)) for notches, step in enumerate(GAUGE_STEPS, 1)),
        )
        yield Paragraph(
            say(
                "Try the peg from one notch upwards. The first bore in which you can turn it with two fingers is yours: its clearance is what your printer needs between a shaft and what turns on it. This model was made for {clearance} mm. If your bore has another clearance, make the files again with it before you print the rest; for three notches add this:",
                clearance=decimal(self.whole.printer.clearance),
            )
        )
        # In a line of its own, because a line may break at its hyphens.
        yield Paragraph(f"`--clearance {GAUGE_STEPS[2]:g}`")

    def _together(self) -> Iterator[Block]:
        steps = self.whole.steps
        yield NewPage()
        yield Heading(say("Put it together"), 2)
        yield Paragraph(
            say(
                "Lay the base on two blocks, marks downwards, so that the input can stick out below. Then put on one part after the other from above. Parts of one shaft get a drop of glue where they meet; keep glue away from all that turns. Turn a part until its keys find the grooves or its teeth find the gaps. The screw of a clutch goes into its drum before the drum goes in: the steps say when."
            )
        )
        coarse = self._coarse()
        for start in range(0, len(steps), _IN_A_PICTURE):
            some = range(start, min(start + _IN_A_PICTURE, len(steps)))
            shown = [(str(number + 1), coarse[number]) for number in some]
            told = say(
                "Steps {value} to {value_2}, from left to right: {value_3}",
                value=start + 1,
                value_2=some[-1] + 1,
                value_3=listed([steps[number][1] for number in some]),
            )
            picture = exploded(
                shown,
                say("Parts pulled apart, steps {value} to {value_2}", value=start + 1, value_2=some[-1] + 1),
                f"{told}.",
            )
            yield Together((Figure(picture, _SHARE), Entries(tuple(self._step(number) for number in some))))
        yield Paragraph(
            say(
                "Put the casing's cup over everything last, with the longest marks of both in line, and screw it to the base ({LID_SCREW} mm screws). Push the crank on the input and the pointer on the output.",
                LID_SCREW=bill.LID_SCREW,
            )
        )

    def _coarse(self) -> list[list[Solid]]:
        """The same parts with fewer corners, for pictures."""
        return [solids for _, _, solids in self.whole.with_sides(_SIDES).steps]

    def _step(self, number: int) -> str:
        key, words, solids = self.whole.steps[number]
        told = say("**Step {value}** · {as_text}", value=number + 1, as_text=as_text(words))
        if isinstance(key, int):
            told += f" ({self.whole.parts[key].name})"
            screws = [
                say(
                    "turn in the set screw of {element} (M3 × {length}) first",
                    element=self.layout.elements[lock.pack.element].name,
                    length=lock.length,
                )
                for lock in self.whole.workshop.threaded(self.whole.split.parts[key])
            ]
            kinds = sorted(
                {
                    say("{kind} to {name}", kind=say(_JOINTS[joint.kind]), name=self.whole.parts[joint.first].name)
                    for joint in self.whole.joints
                    if joint.second == key
                }
            )
            kinds += self._pins(key) + screws
            return f"{told}: {'; '.join(kinds)}." if kinds else f"{told}."
        return say("{told}, {solids} pieces.", told=told, solids=len(solids))

    def _pins(self, key: int) -> list[str]:
        """What pins of a part do, or what pins it takes."""
        pieces, split = self.whole.split.stock.pieces, self.whole.split
        sentences = []
        for a, b, how in split.joints:
            first, second = ({n for n, part in enumerate(split.parts) if number in part.pieces} for number in (a, b))
            if how == "pins" and second == {key}:
                (other,) = first
                name = self.whole.parts[other].name
                sentences.append(
                    say("its pins go into {name}", name=name)
                    if pieces[b].kind == "pins"
                    else say("goes on the pins of {name}", name=name)
                )
        return sorted(set(sentences))

    def _locking(self) -> Iterator[Block]:
        yield Heading(say("Clutches and brakes"), 2)
        rows = []
        for lock in self.whole.locks:
            element = self.layout.elements[lock.pack.element]
            between = listed(member_label(name) for name in element.between)
            rows.append(
                (element.name, said(element.kind), as_text(between), f"M3 × {lock.length}", say("{x} mm", x=f'{lock.x:.0f}'),
                 f"{math.degrees(lock.at):.0f}°", f"{lock.step:.0f}°")
            )  # fmt: skip
        head = (
            say("Element"),
            say("Kind"),
            say("Between"),
            say("Screw"),
            say("From the base's face"),
            say("Hole in the casing at"),
            say("Next hole after"),
        )
        yield Table(head, tuple(rows))
        yield Paragraph(
            say(
                "To apply an element, turn its shafts until you see its screw through its hole in the casing, then turn the screw in until it stops; if it does not go in, turn one shaft on by less than one hole. To release it, turn the screw back by about five turns: it stays in its drum. Angles are measured from the longest mark, clockwise as seen from the input. A brake's screw sticks out of the casing, so it is set by hand without looking for it."
            )
        )
        if not_freewheeling(self.layout):
            yield Paragraph(not_freewheeling(self.layout))

    def _counting(self) -> Iterator[Block]:
        yield Heading(say("Turn and count"), 2)
        yield Paragraph(
            say(
                "Both ends of the casing have {MARKS} marks; counting starts at the longer one. Bring crank and pointer to it, turn the crank {TURNS} times, and count the turns of the pointer and the marks it is past. Compare with the ratio.",
                MARKS=MARKS,
                TURNS=_TURNS,
            )
        )
        rows = []
        for item in self.layout.ranges:
            formula = ratio(self.layout, item.engaged)
            if formula is not None:
                exact = formula.exact
                turns = Fraction(_TURNS) / exact
                whole, rest = divmod(abs(turns), 1)
                way = say("the same way") if turns > 0 else say("the other way")
                rows.append(
                    (
                        item.name,
                        listed(item.engaged),
                        fixed(exact, 3),
                        say("{whole} turns and {value} marks, {way}", whole=whole, value=fixed(rest * MARKS, 1), way=way),
                    )
                )
        yield Table(
            (say("Range"), say("Screws in"), say("Ratio"), say("Pointer after {TURNS} turns of the crank", TURNS=_TURNS)),
            tuple(rows),
        )

    def _running(self) -> Iterator[Block]:
        yield Heading(say("What runs on what"), 2)
        rows = []
        for body, (left, right) in end_plays(self.whole).items():
            name = as_text(shaft_words(self.layout.shafts[body]))
            rows.append((name, as_text(self._bearing(body)), say("{value} mm", value=fixed(left + right, 1))))
        yield Table((say("Shaft"), say("Runs on"), say("End play")), tuple(rows))

    def _bearing(self, body: int) -> str:
        runs = self.whole.split.stock.bearings.get(body, [])
        bearings = dict[str, None]()
        for other, _, radius in sorted(runs, key=lambda run: (run[2], -run[1])):
            shaft = shaft_words(self.layout.shafts[other]) if other else say("the casing")
            bearings.setdefault(say("{shaft} at {size} mm", shaft=shaft, size=f"{2 * radius:.0f}"))
        held = [
            other
            for other, below in self.whole.split.stock.bearings.items()
            for beside, _, _ in below
            if beside == body and other == 0
        ]
        if held:
            bearings.setdefault(say("the wall of the casing"))
        gears = {set_words(self.layout.sets[wheel.set].name) for wheel in self.whole.train.wheels if wheel.body == body}
        if gears:
            bearings.setdefault(say("centred by the planets of {sets}", sets=listed(sorted(gears))))
        return "; ".join(bearings) or say("held between its neighbours")
