"""What a screen reader is told of a page: the browser's own accessibility tree."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page

RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
CONTROLS = {"slider", "spinbutton", "radio", "checkbox", "button", "combobox", "textbox"}
# A drawing's text alternative says more than a word.
SHORTEST_DESCRIPTION = 20
_Node = dict[str, Any]


def violations(page: Page) -> list[str]:
    """What a checker of WCAG finds, each with the first place where it stands.

    Args:
        page: the browser's page.
    """
    found = Axe().run(page, options={"runOnly": RULES}).response["violations"]
    return [f"{each['id']} ({each['impact']}): {each['nodes'][0]['html'][:200]}" for each in found]


def named_controls(page: Page, *titles: str) -> tuple[int, int]:
    """Hold every control of some regions to a name and every drawing to a description; return how many were seen.

    Args:
        page: the browser's page.
        titles: how the names of the regions begin.

    Returns:
        The numbers of regions and of controls in them.
    """
    tree = page.context.new_cdp_session(page).send("Accessibility.getFullAXTree")["nodes"]
    by_id = {node["nodeId"]: node for node in tree}
    regions = [node for node in tree if _of(node, "role") == "region" and _of(node, "name").startswith(titles)]
    nameless, controls = [], 0
    for region in regions:
        for node in _below(region, by_id):
            role, name = _of(node, "role"), _of(node, "name").strip()
            controls += role in CONTROLS
            wanted = 1 if role in CONTROLS else SHORTEST_DESCRIPTION if role in {"image", "img"} else 0
            if len(name) < wanted:
                nameless.append((_of(region, "name"), role, name))
    assert nameless == [], nameless
    return len(regions), controls


def too_wide(page: Page) -> int:
    """Return how many panels are wider inside than their frame."""
    wide: int = page.locator(".gk-panel").evaluate_all("nodes => nodes.filter(n => n.scrollWidth > n.clientWidth + 1).length")
    return wide


def _below(node: _Node, by_id: dict[str, _Node]) -> Iterator[_Node]:
    for child in node.get("childIds", []):
        if child in by_id:
            yield by_id[child]
            yield from _below(by_id[child], by_id)


def _of(node: _Node, what: str) -> str:
    return str(node.get(what, {}).get("value", ""))
