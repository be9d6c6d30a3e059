"""A picture inside a page that lets no drawing in: as an image whose address holds it, its description as the words."""

from __future__ import annotations

import base64
import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from html import escape, unescape

_TITLE = re.compile(r"<title[^>]*>(.*?)</title>", re.DOTALL)
_FRAME = re.compile(r'<svg[^>]*?\bviewBox="[-\d.]+ [-\d.]+ ([\d.]+) ([\d.]+)"')
_STYLE = re.compile(r"<style>.*?</style>", re.DOTALL)
_OWN_SIZE = re.compile(r"(?<=<svg )(?:[^>]*?)(?=viewBox)")
# Height of the line above a picture that names it, and the room between two.
_NAME = 30.0
_COLUMNS = 2  # how many pictures stand in a row
# How small a page may make it.
_SIZES = re.compile(r"max-width:100%;[^\"]*height:auto")
_DESCRIPTION = re.compile(r"<desc[^>]*>(.*?)</desc>", re.DOTALL)


@dataclass(frozen=True)
class SvgPicture:
    """A picture of which only the SVG text is at hand, as panels give it; for paper and pages it is one like any other.

    Args:
        text: from a picture's ``svg()``.
    """

    text: str

    @cached_property
    def title(self) -> str:
        """The title that it carries."""
        match = _TITLE.search(self.text)
        return " ".join(unescape(match[1]).split()) if match else ""

    @cached_property
    def description(self) -> str:
        """What it shows, in words."""
        return words_of(self.text)

    @cached_property
    def width(self) -> float:
        """Its width in px."""
        return _size(self.text)[0]

    def svg(self) -> str:
        """Return the SVG text."""
        return self.text


def side_by_side(pictures: Sequence[str], names: Sequence[str]) -> SvgPicture:
    """Return several pictures as one, each with its name above it; the one says what all of them show.

    Args:
        pictures: SVG texts.
        names: such as "(a)", one for each.
    """
    wide = max(_size(svg)[0] for svg in pictures)
    tall = max(_size(svg)[1] for svg in pictures) + _NAME
    parts, told = [], []
    for place, (svg, name) in enumerate(zip(pictures, names, strict=True)):
        (width, height), left, top = _size(svg), place % _COLUMNS * (wide + _NAME), place // _COLUMNS * tall
        parts.append(f'<text x="{left:.1f}" y="{top + 20:.1f}" font-family="sans-serif" font-size="18">{escape(name)}</text>')
        frame = f'<svg x="{left:.1f}" y="{top + _NAME:.1f}" width="{width:.1f}" height="{height:.1f}" '
        # Their one style sheet stands in the whole.
        parts.append(_OWN_SIZE.sub("", _STYLE.sub("", svg)).replace("<svg ", frame, 1))
        told.append(f"{name} {words_of(svg)}")
    rows = -(-len(pictures) // _COLUMNS)
    view = f"0 0 {_COLUMNS * wide + (_COLUMNS - 1) * _NAME:.1f} {rows * tall:.1f}"
    style = _STYLE.search(pictures[0])
    return SvgPicture(
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{view}" role="img"><title>{len(pictures)} pictures to choose from</title>'
        f"<desc>{escape(' '.join(told))}</desc>{style[0] if style else ''}{''.join(parts)}</svg>"
    )


def _size(svg: str) -> tuple[float, float]:
    """Width and height of a picture in px."""
    match = _FRAME.search(svg)
    return (float(match[1]), float(match[2])) if match else (640.0, 480.0)


def words_of(svg: str) -> str:
    """Return the description that a picture carries, on one line.

    Args:
        svg: from a picture's ``svg()``.
    """
    match = _DESCRIPTION.search(svg)
    return " ".join(unescape(match[1]).split()) if match else ""


def address_of(svg: str) -> str:
    """Return an address that holds the picture itself.

    Args:
        svg: from a picture's ``svg()``.
    """
    return f"data:image/svg+xml;base64,{base64.b64encode(svg.encode('utf-8')).decode('ascii')}"


def as_image(svg: str) -> str:
    """Return a picture as an HTML image that needs no other file.

    Args:
        svg: from a picture's ``svg()``.
    """
    style = _SIZES.search(svg)
    sizes = style[0] if style else "max-width:100%;height:auto"
    return f'<img alt="{escape(words_of(svg), quote=True)}" src="{address_of(svg)}" style="{sizes}">'
