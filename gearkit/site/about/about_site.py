"""The project's own site as pages: from texts beside this module, the instructor's notebook, the parsers and the docstrings."""

from __future__ import annotations

import re
from argparse import ArgumentParser
from collections.abc import Iterator, Sequence
from html import escape
from pathlib import Path

from gearkit.draw.core.embed import address_of, words_of
from gearkit.draw.registry import picture_of
from gearkit.site import prose
from gearkit.site.about import api_pages, command_pages
from gearkit.site.course_site import Site
from gearkit.site.lesson_parts import parts_of
from gearkit.site.page import framed, style
from gearkit.text import places
from gearkit.train import catalogue

TEXTS = Path(__file__).resolve().parent / "texts"
_PAGES = {
    "index.html": "What it is",
    "first_hour.html": "Your first hour",
    "instructor.html": "For instructors",
    "shared_server.html": "On a shared server",
    "commands.html": "Commands",
    "api/index.html": "Python",
}
# In a checkout and in the wheel alike; made by the tests' script that plays the demo class.
_SHOTS = (
    ("class_report", "The class report names what to teach again"),
    ("feedback", "A learner's page shows the mark, how the answer was read, and the mistake by name"),
    ("cutaway", "Any layout as solid bodies, cut open"),
)
# Layout, picture, range, and what is seen in it.
_DRAWN = (
    ("Q36", "stick", "4", "A transmission as a stick diagram, with the elements that hold in fourth"),
    ("Q36", "chart", None, "Which elements are applied in which range"),
    ("Q36", "power", "2", "Where the power goes in second"),
)


def build(programs: Sequence[tuple[ArgumentParser, Sequence[str]]]) -> Site:
    """Return the project's site.

    Args:
        programs: the parser of each program, with examples of its commands in their order.

    Raises:
        UsageError: the tool for the pages of Python is not installed.
        GearkitError: a cell of the instructor's notebook fails.
    """
    site = Site()
    guide = places.lessons() / "instructor"
    for name in ("index", "first_hour"):
        text = (TEXTS / f"{name}.md").read_text(encoding="utf-8")
        site.add(
            f"{name}.html", _page(name, prose.to_html(text, _address) + (_pictures(site, guide) if name == "index" else ""))
        )
    site.add("instructor.html", _page("instructor", parts_of(guide / "instructor.ipynb", _address, "", words=False).html))
    server = (guide / "shared_server.md").read_text(encoding="utf-8")
    site.add("shared_server.html", _page("shared_server", prose.to_html(server, _address)))
    site.add("commands.html", _page("commands", command_pages.html(programs)))
    site.add("about.css", style() + (Path(__file__).resolve().parent / "site.css").read_text(encoding="utf-8"))
    for name, content in api_pages.files().items():
        site.add(f"api/{name}", content)
    return site


def _address(target: str) -> str | None:
    """Return a link's target where the site has it."""
    page = f"{Path(target).stem}.html"
    return target if target in _PAGES else page if target.endswith(".md") and page in _PAGES else None


def _page(name: str, main: str) -> str:
    here = f"{name}.html"
    title = re.search(r"<h1[^>]*>(.*?)</h1>", main)
    links = "".join(
        f'<a href="{address}"{" aria-current=page" if address == here else ""}>{escape(words)}</a>'
        for address, words in _PAGES.items()
    )
    nav = f'<header class="gk-head"><nav aria-label="Pages">{links}</nav></header>'
    head = '<link rel="stylesheet" href="about.css"><meta name="color-scheme" content="light dark">'
    # A table that is wider than the screen scrolls, by keyboard too.
    main = main.replace("<table", '<table tabindex="0"')
    return framed(re.sub("<[^>]+>", "", title[1]) if title else here, f"{nav}<main>{main}</main>", head)


def _pictures(site: Site, guide: Path) -> str:
    return f'<h2>What it looks like</h2><div class="gk-pictures">{"".join(_figures(site, guide))}</div>'


def _figures(site: Site, guide: Path) -> Iterator[str]:
    for name, words in _SHOTS:
        site.add(f"pictures/{name}.png", (guide / "pictures" / f"{name}.png").read_bytes())
        yield _figure(f"pictures/{name}.png", words, words)
    for layout, what, range_name, words in _DRAWN:
        svg = picture_of(catalogue.find(layout), what, range_name).svg()
        yield _figure(address_of(svg), words_of(svg), words)


def _figure(address: str, alternative: str, words: str) -> str:
    shown = f'<img src="{escape(address, quote=True)}" alt="{escape(alternative, quote=True)}">'
    return f"<figure>{shown}<figcaption>{escape(words)}</figcaption></figure>"
