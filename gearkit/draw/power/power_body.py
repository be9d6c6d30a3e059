"""What both power pictures are made of: the streams on a stick diagram, their arrow heads and the key to their widths."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from gearkit.draw.core.frame import MARGIN
from gearkit.draw.core.measure import text_width
from gearkit.draw.core.svg import Group, Look, Picture, Text
from gearkit.draw.power.power_path import Piece
from gearkit.draw.power.power_streams import drains, streams
from gearkit.draw.stick.stick_diagram import Body
from gearkit.draw.stick.stick_geometry import CARD_TYPE
from gearkit.draw.stick.stick_symbols import Line, free_stretches
from gearkit.solve.loads.torques import Torques
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.say import later, say

THINNEST, WIDEST = 2.0, 8.0
COLUMN_GAP = 14.0


ROWS = ("ring", "carrier", "sun")


LINE = 17.0


KEY = later("width: power, arrow: its way; torque and power as multiples of the input's")


class PowerBody(Body):
    """The half-section with lines by power."""

    def fill(self, loads: Torques, cards: dict[str, list[tuple[str, str, str]]]) -> None:
        """Put in torques and power of a layout with one input and one output.

        Args:
            loads: torques and power.
            cards: set -> the rows of its card.
        """
        self.fill_with(streams(self.parts, drains(self.place.placement, loads)), cards)

    def fill_with(self, flows: dict[Piece, Fraction], cards: dict[str, list[tuple[str, str, str]]]) -> None:
        """Put in what the lines and the cards show.

        Args:
            flows: power through every piece.
            cards: set -> the rows of its card.
        """
        self.flows, self.cards = flows, cards
        self.most = max((abs(flow) for flow in flows.values()), default=Fraction(0))

    def piece_line(self, piece: Piece) -> Line:
        """How one piece is drawn: as wide as the power in it is large."""
        flow = abs(self.flows.get(piece, Fraction(0)))
        if not flow:
            line = self.line(piece.net)
            return replace(line, width=1.6, arrows=False)
        return Line(self.line(piece.net).role, THINNEST + (WIDEST - THINNEST) * float(flow / self.most))

    def card(self, group: Group, pset: PlanetarySet, x: float, top: float) -> None:
        """Draw the card under a set, with torque and power of its members.

        Args:
            group: where to.
            pset: the set.
            x: its middle.
            top: base line of the card's title.
        """
        rows = self.cards[pset.name]
        widths = [max(text_width(row[column], CARD_TYPE) for row in rows) for column in range(3)]
        left = x - (sum(widths) + 2 * COLUMN_GAP) / 2
        for number, row in enumerate(rows):
            y = top + LINE * number
            role = "soft" if number == 0 else "ink"
            group.text(Text(left, y, row[0], CARD_TYPE, bold=number == 0))
            edge = left + widths[0]
            for column in (1, 2):
                edge += COLUMN_GAP + widths[column]
                group.text(Text(edge, y, row[column], CARD_TYPE, "end", role=role))

    def arrows(self, drawn: Picture) -> None:
        """Draw an arrow on every piece that power goes through and that is long enough."""
        group = drawn.group({"part": "power"})
        for piece, flow in self.flows.items():
            if not flow:
                continue
            (column, row), (end_column, end_row) = piece.first, piece.last
            level = column != end_column
            low, high = self.place.ends((column, row, end_row, piece.net)) if not level else (0.0, 0.0)
            ends = (self.x(column), self.x(end_column)) if level else (self.dy + high, self.dy + low)
            start, end = max(free_stretches(*ends, self.passed(piece)), key=lambda part: part[1] - part[0])
            size = 4.5 + self.piece_line(piece).width / 2
            if end - start < 2.6 * size:
                continue
            sense, middle = (1 if flow > 0 else -1), (start + end) / 2
            if level:
                arrow_head(group, middle, self.y(int(row)), (sense, 0), size)
            else:
                # Rows count upwards, the page downwards.
                arrow_head(group, self.x(column), middle, (0, -sense), size)


def arrow_head(group: Group, x: float, y: float, way: tuple[int, int], size: float) -> None:
    """Draw the arrow head that tells which way power goes.

    Args:
        group: where to.
        x: its middle.
        y: its middle.
        way: (1, 0) to the right, (0, 1) down the page, and so on.
        size: half its length.
    """
    dx, dy = way
    tip = (x + dx * size, y + dy * size)
    base = [(x - dx * size * 0.8 + side * dy * size, y - dy * size * 0.8 + side * dx * size) for side in (1, -1)]
    group.polyline([tip, *base], Look("paper", "ink", 1.0), closed=True)


def line_key(drawn: Picture, top: float) -> float:
    """Say what width and arrows mean; return the y below.

    Args:
        drawn: the picture.
        top: y of the line.
    """
    group = drawn.group({"part": "lines"})
    x = MARGIN
    for width in (THINNEST, (THINNEST + WIDEST) / 2, WIDEST):
        group.line((x, top), (x + 26, top), Look("ink", None, width))
        x += 30
    arrow_head(group, x + 6, top, (1, 0), 6.5)
    group.text(Text(x + 20, top + 4.5, say(KEY), CARD_TYPE))
    return top + 24
