"""The pages' colours: text can be read in light, dark and print, and no meaning hangs on colour alone."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from graders.report.pages.page import SIGN_WORDS, SIGNS, sign

STYLE = files("graders.report").joinpath("style.css").read_text(encoding="utf-8")


def palette(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6});", block))


def luminance(colour: str) -> float:
    digits = colour[1:] if len(colour) == 7 else "".join(2 * digit for digit in colour[1:])
    channels = [int(digits[place : place + 2], 16) / 255 for place in (0, 2, 4)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """The contrast ratio of WCAG 2 (formula from memory)."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


LIGHT = palette(STYLE.split("@media", 1)[0])
DARK = palette(STYLE.split("prefers-color-scheme: dark", 1)[1].split("}", 2)[0])
PRINT = palette(STYLE.split("@media print", 1)[1])


def test_black_on_white_has_the_greatest_contrast():
    assert contrast("#000", "#fff") == pytest.approx(21)


@pytest.mark.parametrize(("name", "colours"), [("light", LIGHT), ("dark", DARK), ("print", PRINT)])
@pytest.mark.parametrize("ink", ["ink", "soft", "accent", "good", "bad", "warn"])
def test_every_text_colour_can_be_read(name, colours, ink):
    for ground in ("paper", "wash"):
        assert contrast(colours[ink], colours[ground]) >= 4.5, (name, ink, ground)


def test_every_verdict_has_a_sign_of_its_own_and_words_for_it():
    assert len(set(SIGNS.values())) == len(SIGNS) == len(SIGN_WORDS)
    for kind, words in SIGN_WORDS.items():
        assert f'aria-label="{words}"' in sign(kind)
        assert words in sign(kind, with_words=True)


def test_print_uses_black_and_white_only():
    assert {colour for key, colour in PRINT.items() if key not in ("soft", "line")} == {"#fff", "#000"}
