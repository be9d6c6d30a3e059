"""One exercise by itself, for the terminal and for other programs: its numbers, and an answer judged as a sheet's is."""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import Variant, practice, shown_exactly
from gearkit.answers.item import ONE_PART, Item
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Part
from gearkit.answers.judge.results import ItemResult, MarkVerdict
from gearkit.train import catalogue
from gearkit.words.errors import GearkitError, UsageError

SOMEBODY = "practice"
LONGEST_LINE = 100_000
FIELDS = ("item", "layout", "learner", "answer")
Given = str | Mapping[str, str]


@dataclass(frozen=True)
class Exercise:
    """An exercise with its numbers and, where an answer was given, what it earned.

    Args:
        variant: the exercise with its numbers.
        layout: the layout it stands on as it was named, "" for none.
        learner: whose numbers they are.
        answer: what was answered, None where nothing was.
        result: how the answer was marked, None where there is none.
    """

    variant: Variant
    layout: str
    learner: str
    answer: Given | None = None
    result: ItemResult | None = None

    @property
    def right(self) -> bool:
        """Whether nothing was answered, or all of it right."""
        return self.result is None or self.result.verdict is MarkVerdict.RIGHT

    def as_data(self) -> dict[str, Any]:
        """Return it for JSON; verdict and score are None where nothing was answered."""
        variant, result = self.variant, self.result
        most = sum((part.marks for part in variant.parts), Fraction(0)) if result is None else result.max
        return {
            "item": variant.item.id,
            "layout": self.layout or None,
            "learner": self.learner,
            "prompt": variant.prompt,
            "numbers": {letter: shown_exactly(number) for letter, number in variant.values.items()},
            "parts": [self._part(place, part) for place, part in enumerate(variant.parts)],
            "answer": self.answer,
            "verdict": None if result is None else str(result.verdict),
            "score": None if result is None else _marks(result.score),
            "max": _marks(most),
            "mistakes": [] if result is None else list(dict.fromkeys(mistake.code for mistake in result.mistakes)),
            "comment": "" if result is None else result.comment,
        }

    def _part(self, place: int, part: Part) -> dict[str, Any]:
        told: dict[str, Any] = {
            "name": part.name,
            "label": part.label,
            "kind": str(part.kind),
            "unit": part.unit,
            "options": list(part.options),
            "max": _marks(part.marks),
        }
        if self.result is not None:
            result = self.result.parts[place]
            told |= {"verdict": str(result.verdict), "score": _marks(result.score), "read_as": result.read_as}
        return told


def exercise(item: str, *, layout: str = "", learner: str = SOMEBODY, answer: Given | None = None) -> Exercise:
    """Return one exercise with a learner's numbers, and what an answer to it earns.

    Args:
        item: an item's id, such as "L03-02"; with a layout also one of its own, such as "X06-RATIO-3".
        layout: path of a layout file or a catalogue name, "" for none.
        learner: any name; the same name gets the same numbers for ever.
        answer: the answer as text, or a text for each part; None to see the exercise only.

    Raises:
        UsageError: there is no such item, or it does not go with the layout.
        LayoutError: the layout cannot be used.
    """
    exercise_item = _item(item, layout)
    variant = practice(exercise_item, learner)
    named = layout or exercise_item.draw.layout
    if answer is None:
        return Exercise(variant, named, learner)
    given = {ONE_PART: answer} if isinstance(answer, str) else dict(answer)
    return Exercise(variant, named, learner, answer, marking.mark(variant, given))


def _item(name: str, layout: str) -> Item:
    wanted = name.strip().upper()
    if not layout:
        if not wanted.startswith("L") and "-" in wanted:
            raise UsageError(
                f"Item {wanted} is made from a layout, and none was named. Give its file or catalogue name as the layout."
            )
        return items.find(wanted)
    # Only an exercise on a layout needs the solver.
    from gearkit.answers.families import known
    from gearkit.answers.layout_items import START, from_layout

    layout_ = catalogue.find(layout)
    made = {offer.id: offer.item for offer in known(layout_)}
    if wanted in made:
        return made[wanted]
    if wanted.startswith(START):
        made = {item.id: item for item in from_layout(layout_) if item.marks}
        if wanted in made:
            return made[wanted]
    if wanted.startswith("L") and items.find(wanted).draw.layout == layout:
        return items.find(wanted)
    some = ", ".join(item.id for item in list(made.values())[:3])
    raise UsageError(
        f"Item {name.strip()} is not made from layout {layout}. Made from it are {some} and others: graders items "
        f"--layout {layout}. An item of the lessons brings its own layout: leave the layout out."
    )


def batch(lines: Iterable[str | bytes], usual: Mapping[str, str]) -> Iterator[tuple[dict[str, Any], bool | None]]:
    """Yield for every line of JSON what it asks for, and whether all is right; an error and None for a line that fails.

    Args:
        lines: one JSON object a line with the fields item, layout, learner and answer; empty lines are passed over.
        usual: what stands for a field that a line leaves out.
    """
    for number, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        asked: dict[str, Any] = {}
        try:
            asked = _asked(line)
            done = exercise(**_fields({**usual, **asked}))
            yield {**done.as_data(), **_extra(asked)}, done.right
        except (GearkitError, ArithmeticError, ValueError, RecursionError, MemoryError, OSError) as fault:
            yield {"line": number, "item": asked.get("item"), "error": _sentence(fault), **_extra(asked)}, None


def _asked(line: str | bytes) -> dict[str, Any]:
    if len(line) > LONGEST_LINE:
        raise UsageError(f"The line has {len(line)} characters; {LONGEST_LINE} are read.")
    try:
        text = line.decode("utf-8-sig") if isinstance(line, bytes) else line
        # A number stays the text that was written, for 3.50 says more than 3.5.
        data = json.loads(text, parse_float=str, parse_int=str, parse_constant=str)
    except UnicodeDecodeError:
        raise UsageError("The line is not text in UTF-8.") from None
    except json.JSONDecodeError as fault:
        raise UsageError(
            f"The line is not JSON ({fault.msg} at place {fault.pos + 1}). Write one object a line, such as "
            '{"item": "L03-02", "learner": "Ann", "answer": "16/5"}.'
        ) from None
    if not isinstance(data, dict):
        raise UsageError('The line holds no JSON object. Write one such as {"item": "L03-02", "answer": "16/5"}.')
    return data


def _extra(asked: Mapping[str, Any]) -> dict[str, Any]:
    # Whoever sends lines may number them to find the replies again.
    return {"id": asked["id"]} if "id" in asked else {}


def _fields(asked: Mapping[str, Any]) -> dict[str, Any]:
    fields = {name: asked[name] for name in FIELDS if asked.get(name) is not None}
    if "item" not in fields:
        raise UsageError('The field item is missing. Name one, such as "item": "L03-02".')
    for name, value in fields.items():
        parts = value.values() if name == "answer" and isinstance(value, dict) else (value,)
        if not all(isinstance(text, str) for text in parts):
            wanted = "text, or an object with a text for each part" if name == "answer" else "text"
            raise UsageError(f"The field {name}: found {json.dumps(value)[:60]}, expected {wanted}.")
    return fields


def _sentence(fault: BaseException) -> str:
    return str(fault) if isinstance(fault, GearkitError) else f"This cannot be used ({type(fault).__name__})."


def _marks(marks: Fraction) -> float:
    return round(float(marks), 6)
