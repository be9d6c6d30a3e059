"""One page as HTML: its frame, its parts, and the places where panels become live."""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Mapping, Sequence
from html import escape
from pathlib import Path
from typing import Any

from gearkit.draw.core import palette
from gearkit.lesson.panels import bundle
from gearkit.site.notebook_cells import Cell, Result, is_for_notebooks_only
from gearkit.words.say import language_code, say

STATIC = Path(__file__).resolve().parent / "static"
# In these cells the code only asks for what is shown; a reader needs what is shown.
_CODE_HIDDEN = frozenset({"open", "explore", "your-line", "predict", "exercise", "progress", "picture", "recall"})


def code_of(cell: Cell) -> str:
    """Return a cell's code as HTML, folded as in a notebook; "" where it only asks for a panel, a form or a picture.

    Args:
        cell: a code cell.
    """
    code = f'<pre class="gk-code"><code>{escape(cell.source)}</code></pre>'
    if _CODE_HIDDEN & set(cell.tags):
        return ""
    code = f'<pre class="gk-code"><code>{escape(cell.source)}</code></pre>'
    if not cell.folded:
        return code
    first = cell.source.partition("\n")[0].lstrip("# ")
    return f'<details class="gk-working"><summary>{escape(first)}</summary>{code}</details>'


def place_of(result: Result, waiting: str) -> str:
    """Return what stands in the page for a code cell.

    Args:
        result: what the cell gave.
        waiting: what is said in the place of something that needs Python; "" leaves the place out.
    """
    cell = result.cell
    if result.panel is not None:
        inside = f"<noscript>{escape(result.panel.words())}</noscript>"
    elif result.waits:
        if not waiting:
            return ""
        inside = (
            f'<p class="gk-say"><strong>{escape(result.title)}.</strong> <span class="gk-waits">{escape(waiting)}</span></p>'
        )
    elif is_for_notebooks_only(cell):
        told = say("This cell is there to be changed: try it in JupyterLab.")
        inside = f'<p class="gk-say">{told}</p>'
    else:
        inside = result.html
    return code_of(cell) + (f'<div class="gk-place" id="{escape(cell.name, quote=True)}">{inside}</div>' if inside else "")


def link(address: str, words: str, rel: str = "") -> str:
    """Return a link as HTML.

    Args:
        address: where it leads.
        words: what it is called, as HTML.
        rel: how that page stands to this one, such as "next".
    """
    how = f' rel="{rel}"' if rel else ""
    return f'<a href="{escape(address, quote=True)}"{how}>{words}</a>'


def button(name: str, words: str) -> str:
    """Return a button of a page as HTML.

    Args:
        name: its id, by which the page's script has it.
        words: what it is called.
    """
    return f'<button type="button" class="gk-button" id="{name}">{escape(words)}</button>'


def script_of(entries: Sequence[str], start: str) -> str:
    """Return the script of a page that holds everything it needs.

    Args:
        entries: modules of the panels that the page shows.
        start: the module of this folder that exports ``openPage``.
    """
    views = ", ".join(f"{entry}: module_{entry}.panel" for entry in entries)
    return f"{modules_of([*entries, start])}module_{start}.openPage({{ {views} }});".replace("</script", "<\\/script")


def modules_of(entries: Sequence[str]) -> str:
    """Return modules that say something, with all that they import and their words in the reader's language, as one script.

    Args:
        entries: names of modules of the panels and of this folder; each is there as ``module_NAME``.
    """
    text = bundle.together(entries, STATIC)
    table = bundle.messages(text)
    return f"{text}\nmodule_words.speak({json.dumps(table, ensure_ascii=False)});\n" if table else f"{text}\n"


def data_of(stored: object, *, packed: bool = False) -> str:
    """Return what a page's script reads, as a script element that nothing in it can close.

    Args:
        stored: anything JSON can hold.
        packed: whether it is compressed, which browsers from 2023 on can undo.
    """
    text = json.dumps(stored, ensure_ascii=False, separators=(",", ":"))
    if packed:
        press = zlib.compressobj(9, wbits=-15)
        inside = base64.b64encode(press.compress(text.encode()) + press.flush()).decode()
        return f'<script type="application/octet-stream" id="gk-stored">{inside}</script>'
    return f'<script type="application/json" id="gk-stored">{text.replace("<", chr(92) + "u003c")}</script>'


# What panels, and what else is made for a notebook, ask a notebook's theme for.
_THEME = {
    "ui-font-color1": "ink",
    "ui-font-color2": "soft",
    "layout-color0": "paper",
    "layout-color2": "wash",
    "border-color1": "edge",
}


def style() -> str:
    """Return the style of a page and of the panels in it: light or dark as its reader has it, light on paper."""
    light = _variables({**palette.LIGHT, "link": palette.LINK_LIGHT})
    dark = _variables({**palette.DARK, "link": palette.LINK_DARK})
    theme = "".join(f"--jp-{theirs}:var(--gk-page-{ours});" for theirs, ours in _THEME.items())
    return (
        f":root{{{light}}}\n{(STATIC / 'page.css').read_text(encoding='utf-8')}{bundle.style()}"
        f"@media screen and (prefers-color-scheme:dark){{:root{{color-scheme:dark;{dark}{theme}}}.gk-panel{{{bundle.dark_colours()}}}}}\n"
    )


def _variables(colours: Mapping[str, str]) -> str:
    roles = ("ink", "soft", "faint", "paper", "wash", "link")
    edge = f"--gk-page-edge:color-mix(in srgb,{colours['faint']} 55%,{colours['paper']});"
    return "".join(f"--gk-page-{role}:{colours[role]};" for role in roles) + edge


def framed(title: str, main: str, head: str = "", end: str = "", **attributes: Any) -> str:
    """Return a whole page.

    Args:
        title: its title.
        main: its content.
        head: what stands in the page's head besides.
        end: scripts and what else stands last.
        attributes: of the page's root, such as lang.
    """
    given = "".join(f' {name}="{escape(str(value), quote=True)}"' for name, value in attributes.items())
    return (
        f'<!DOCTYPE html>\n<html lang="{language_code()}"{given}><head><meta charset="utf-8">'
        '<meta name="viewport" content="width=device-width,initial-scale=1"><link rel="icon" href="data:,">'
        f"<title>{escape(title)}</title>{head}</head>\n<body>{main}\n{end}</body></html>\n"
    )
