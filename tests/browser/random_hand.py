"""A learner who tries everything: clicks, types and drags at random through a panel's controls, by mouse and by keyboard.

The same seed gives the same actions. Controls that were not used yet are chosen more often, so that each has its turn.
"""

from __future__ import annotations

import random
import re
from dataclasses import dataclass
from typing import Any

from playwright.sync_api import Page

from tests.support.amounts import SHORT

# In the short form, which ends when each had its turn, much more often.
_FRESH = 0.92 if SHORT else 0.6
# What is in the page now: each control with its kind, its name, the group it stands in, and whether it can be used.
_CONTROLS = """() => {
  const nodes = [...document.querySelectorAll("#place input, #place select, #place button, #place summary")]
    // Another train is another panel; what is still on its way from the old one would be about elements that are gone.
    .filter((node) => !node.closest(".gk-trains"));
  const words = (node) => (node ? node.textContent.trim() : "");
  const nameOf = (node) => node.getAttribute("aria-label") || words(node.labels?.[0]) || words(node) || node.value;
  window.controls = nodes;
  return nodes.map((node, number) => ({
    number, kind: node.tagName === "INPUT" ? node.type : node.tagName.toLowerCase(), name: nameOf(node),
    group: words(node.closest("fieldset")?.querySelector("legend")) || node.closest("[role=group]")?.getAttribute("aria-label") || "",
    usable: node.checkVisibility() && !node.disabled,
    span: node.type === "range" || node.type === "number" ? [Number(node.min), Number(node.max)] : [0, 0],
    options: node.tagName === "SELECT" ? [...node.options].map((option) => option.value) : [],
  }));
}"""
_PLACE = """(number) => {
  const node = window.controls[number];
  node.scrollIntoView({ block: "center" });
  const { x, y, width, height } = node.getBoundingClientRect();
  const share = node.type === "range" ? (node.valueAsNumber - node.min) / (node.max - node.min) : 0.5;
  return { x, y, width, height, share };
}"""
TEXTS = (
    "",
    "0",
    "1",
    "2",
    "-3",
    "1.5",
    "7/4",
    "-7/4",
    "19/6",
    "3.2:1",
    "2000",
    "100000",
    "1 + R/S",
    "-R/S",
    "1 + R / S ",
    "3,2",
    "abc",
    "1/0",
    "−2",
    "<b>x</b>",
    "N·m",
    "120 N·m",
    "true",
    "9" * 30,
    "(",
    "50 %",
)


@dataclass(frozen=True)
class Control:
    """One control as it stood in the page.

    Args:
        number: its place among all controls of the page.
        kind: range, number, text, radio, checkbox, select, button or summary.
        key: kind, group and name; the same when the page is drawn anew.
        span: smallest and largest value of a slider or number box.
        options: values of a drop-down list.
    """

    number: int
    kind: str
    key: str
    span: tuple[float, float]
    options: tuple[str, ...]


class Hand:
    """The learner's hand on one page.

    Args:
        page: the browser's page.
        seed: of all choices.
    """

    def __init__(self, page: Page, seed: str) -> None:
        self.page = page
        self.seeded = random.Random(seed)
        self.used: set[str] = set()
        self.met: set[str] = set()
        self.last = ""

    @property
    def left_out(self) -> set[str]:
        """Controls that could be used at some time and never were."""
        return self.met - self.used

    def act(self) -> None:
        """Use one control once."""
        control = self._choose()
        self.used.add(control.key)
        mouse = self.seeded.random() < 0.5
        self.last = f"{control.key} by {'mouse' if mouse else 'keyboard'}"
        match control.kind:
            case "range":
                self._slide(control, mouse)
            case "number" | "text":
                self._write(control, mouse)
            case "select":
                self._pick(control, mouse)
            case _:
                self._press(control, mouse)

    def _choose(self) -> Control:
        found = [_control(each) for each in self.page.evaluate(_CONTROLS) if each["usable"]]
        assert found, "nothing to use in the panel"
        self.met |= {each.key for each in found}
        fresh = [each for each in found if each.key not in self.used]
        return self.seeded.choice(fresh if fresh and self.seeded.random() < _FRESH else found)

    def _place(self, control: Control) -> dict[str, float]:
        place: dict[str, float] = self.page.evaluate(_PLACE, control.number)
        return place

    def _point(self, control: Control) -> None:
        place = self._place(control)
        self.page.mouse.click(place["x"] + place["width"] / 2, place["y"] + place["height"] / 2)

    def _focus(self, control: Control) -> None:
        self.page.evaluate("number => window.controls[number].focus()", control.number)

    def _slide(self, control: Control, mouse: bool) -> None:
        if not mouse:
            self._focus(control)
            for _ in range(self.seeded.randint(1, 4)):
                self.page.keyboard.press(
                    self.seeded.choice(("ArrowLeft", "ArrowRight", "ArrowUp", "ArrowDown", "PageUp", "PageDown", "Home", "End"))
                )
            return
        place = self._place(control)
        y, start = place["y"] + place["height"] / 2, place["x"] + 8 + place["share"] * (place["width"] - 16)
        self.page.mouse.move(start, y)
        self.page.mouse.down()
        for _ in range(3):
            self.page.mouse.move(place["x"] + self.seeded.random() * place["width"], y)
        self.page.mouse.up()

    def _write(self, control: Control, mouse: bool) -> None:
        if mouse:
            self._point(control)
        else:
            self._focus(control)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.press("Delete")
        self.page.keyboard.type(self._text(control))
        after = self.seeded.choice(("Enter", "Tab", ""))
        if after:
            self.page.keyboard.press(after)

    def _text(self, control: Control) -> str:
        low, high = control.span
        if control.kind == "text" or high <= low:
            return self.seeded.choice(TEXTS)
        inside = str(self.seeded.randint(int(low), int(high)))
        return self.seeded.choice(
            (inside, inside, inside, "", str(int(high) + 1), str(int(low) - 1), "1e2", f"{inside}.4", "-")
        )

    def _pick(self, control: Control, mouse: bool) -> None:
        # A list that is opened with the mouse belongs to the system; its choice arrives as here.
        if mouse:
            self.page.evaluate_handle("number => window.controls[number]", control.number).as_element().select_option(
                self.seeded.choice(control.options)
            )
            return
        self._focus(control)
        self.page.keyboard.press(self.seeded.choice(("ArrowDown", "ArrowUp", "Home", "End")))

    def _press(self, control: Control, mouse: bool) -> None:
        if mouse:
            self._point(control)
            return
        self._focus(control)
        keys = {"radio": ("Space", "ArrowRight", "ArrowLeft"), "checkbox": ("Space",)}.get(control.kind, ("Enter", "Space"))
        self.page.keyboard.press(self.seeded.choice(keys))


def _control(each: dict[str, Any]) -> Control:
    # What is offered or asked carries numbers that change from one time to the next; it is one control.
    name = re.sub(r"\([−-]?[\d.]+\)|\d+\.\d+|\d{2,}", "#", each["name"])
    name = "Turns" if name.startswith("Turns of") else "offer" if each["group"].startswith("Nearest counts") else name
    return Control(
        each["number"], each["kind"], f"{each['kind']} “{each['group']}: {name}”", tuple(each["span"]), tuple(each["options"])
    )
