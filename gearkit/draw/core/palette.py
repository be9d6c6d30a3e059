"""The pictures' colours, on a light and on a dark page, and the stylesheet that changes them over.

Hues are Okabe and Ito's, kept to those that stand out 3:1 from the page they are used on, and a violet and a brown that do so
too. Colour never says anything alone: line weight, dash, mark or label always says it too. Text is never coloured.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

PAGE_LIGHT = "#ffffff"
PAGE_DARK = "#111111"
# What can be followed or pressed on a page, 4.5:1 and more from it.
LINK_LIGHT = "#0b63ad"
LINK_DARK = "#7cc4f5"

LIGHT: Mapping[str, str] = MappingProxyType(
    {
        "ink": "#1b1f24",
        "soft": "#57606a",
        "faint": "#868e97",
        "paper": PAGE_LIGHT,
        "wash": "#f0f2f4",
        "blue": "#0072b2",
        "red": "#d55e00",
        "green": "#009e73",
        "pink": "#cc79a7",
        "violet": "#8060c8",
        "brown": "#94632a",
    }
)
DARK: Mapping[str, str] = MappingProxyType(
    {
        "ink": "#f0f2f4",
        "soft": "#b4bbc3",
        "faint": "#767e87",
        "paper": PAGE_DARK,
        "wash": "#23272c",
        "blue": "#56b4e9",
        "red": "#e69f00",
        "green": "#009e73",
        "pink": "#cc79a7",
        "violet": "#a58be0",
        "brown": "#c08a5a",
    }
)
HUES = ("blue", "red", "green", "pink", "violet", "brown")
FONTS = "Inter, 'Segoe UI', Roboto, 'Helvetica Neue', Arial, 'Liberation Sans', 'DejaVu Sans', sans-serif"


@cache
def stylesheet() -> str:
    """Return the rules that every picture carries.

    A picture follows the notebook's theme where there is one, else the reader's setting; on paper it is always light.
    Shapes also carry their light colours as plain attributes, for viewers that drop stylesheets.
    """
    light = _variables(LIGHT)
    dark = _variables(DARK)
    shapes = "".join(f".gk .s-{role}{{stroke:var(--gk-{role})}}.gk .f-{role}{{fill:var(--gk-{role})}}" for role in LIGHT)
    return (
        f".gk{{{light}}}"
        f"@media screen and (prefers-color-scheme:dark){{.gk{{{dark}}}}}"
        f'body[data-jp-theme-light="true"] .gk,.gk[data-page="light"]{{{light}}}'
        f'body[data-jp-theme-light="false"] .gk,.gk[data-page="dark"]{{{dark}}}'
        f"@media print{{.gk,body[data-jp-theme-light] .gk,.gk[data-page]{{{light}}}}}"
        f"{shapes}"
    )


def _variables(colours: Mapping[str, str]) -> str:
    return ";".join(f"--gk-{role}:{colour}" for role, colour in colours.items())
