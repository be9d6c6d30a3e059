"""The pages' colours: text can be read in light, dark and print, and no meaning hangs on colour alone."""

from __future__ import annotations

import re
from importlib.resources import files

import pytest

from graders.report.pages.page import SIGN_WORDS, SIGNS, sign
from tests.support.colours import contrast

STYLE = files("graders.report").joinpath("style.css").read_text(encoding="utf-8")


def palette(block: str) -> dict[str, str]:
    return dict(re.findall(r"--(\w+): (#[0-9a-f]{3,6});", block))


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
