"""The page that shows what a unit holds: its files, times and marks, the layout at a glance, and what would give it more."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from html import escape

from gearkit.draw.core.svg import Picture
from gearkit.draw.noted import noted_picture
from gearkit.text.markdown import inline
from gearkit.text.phrases import OR, capital, listed, sets_words
from gearkit.words.say import page_language, say, say_n
from gearkit.words.terms import ElementKind, Verdict
from graders.report.pages.page import page
from graders.unit.facts import Facts
from graders.unit.lesson.closing import FOOT
from graders.unit.words.saying import counted_drives, counted_elements, number


@dataclass(frozen=True)
class Part:
    """One file of a unit, as the overview tells of it.

    Args:
        file: its name.
        what: what it is.
        minutes: planned time; 0 for none.
        marks: its marks; 0 for none.
        items: how many exercises it has; 0 for none.
        command: what to type next, or "".
    """

    file: str
    what: str
    minutes: int = 0
    marks: int = 0
    items: int = 0
    command: str = ""


def html(facts: Facts, parts: Sequence[Part], asked: Sequence[tuple[str, int, int]] = ()) -> str:
    """Return the page.

    Args:
        facts: the layout.
        parts: the unit's files.
        asked: subject, number of exercises that the layout gives about it, and their marks.
    """
    name = facts.layout.said_name
    header = f"<h1>{escape(capital(name))}</h1><p>{escape(_at_a_glance(facts))}</p>"
    folder = say("What is in this folder")
    files = f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(folder, quote=True)}">{_files(parts)}</div>'
    pieces = [_section(folder, files)]
    if asked:
        pieces.append(_section(say("What can be asked"), _asked(asked)))
    pictures = "".join(_shown(noted_picture(facts.layout, what)) for what in ("stick", "chart"))
    pieces.append(_section(say("The train"), pictures))
    wishes = list(more(facts))
    if wishes:
        entries = "".join(f"<li>{inline(wish)}</li>" for wish in wishes)
        pieces.append(_section(say("What the layout would need for more"), f"<ul>{entries}</ul>"))
    return page(
        say("Unit: {layout}", layout=name),
        header,
        "\n".join(pieces),
        footer=f"<p>{escape(say(FOOT))}</p>",
        wide=True,
        language=page_language(),
    )


def _shown(picture: Picture) -> str:
    """A picture in the page's column; one that is wider scrolls there, by the keyboard too, and the page does not."""
    label = escape(picture.title, quote=True)
    return f'<figure class="picture scroll" tabindex="0" role="region" aria-label="{label}">{picture.svg()}</figure>'


def _section(heading: str, content: str) -> str:
    return f"<section><h2>{escape(heading)}</h2>{content}</section>"


def _at_a_glance(facts: Facts) -> str:
    layout = facts.layout
    sets = say_n("one set", "{number} sets", len(layout.sets), number=number(len(layout.sets)))
    return capital(f"{sets}, {counted_elements(len(layout.elements))}, {counted_drives(len(facts.drives))}.")


def _files(parts: Sequence[Part]) -> str:
    words = (say("file"), say("what it is"), say("minutes"), say("exercises"), say("marks"))
    rows = "".join(
        f'<tr><th scope="row"><a href="{escape(part.file, quote=True)}">{escape(part.file)}</a></th><td>{escape(part.what)}'
        f"{f'<br><code>{escape(part.command)}</code>' if part.command else ''}</td>"
        f"<td>{part.minutes or '–'}</td><td>{part.items or '–'}</td><td>{part.marks or '–'}</td></tr>"
        for part in parts
    )
    head = "".join(f'<th scope="col">{word}</th>' for word in words)
    return f'<table class="plain"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'


def _asked(asked: Sequence[tuple[str, int, int]]) -> str:
    words, whole_word = (say("subject"), say("exercises"), say("marks")), say("all together")
    rows = "".join(
        f'<tr><th scope="row">{escape(say(subject))}</th><td>{count}</td><td>{marks}</td></tr>'
        for subject, count, marks in asked
    )
    whole = f'<tr><th scope="row">{whole_word}</th><td>{sum(count for _, count, _ in asked)}</td><td>{sum(marks for _, _, marks in asked)}</td></tr>'
    head = "".join(f'<th scope="col">{word}</th>' for word in words)
    return f'<table class="plain"><thead><tr>{head}</tr></thead><tbody>{rows}{whole}</tbody></table>'


def more(facts: Facts) -> Iterator[str]:
    """Yield what the layout lacks and what it would bring, a sentence each.

    Args:
        facts: the layout.
    """
    layout = facts.layout
    if len(facts.by_effort) < 2:
        yield say("A second range with another ratio: then there are predictions to compare, steps, and shifts.")
    elif len(facts.forward) < 2:
        if facts.forward:
            yield say(
                "A second forward range with a ratio of its own: then there are shifts, steps and a saw-tooth on the road."
            )
        else:
            yield say("Two forward ranges with ratios of their own: then there are shifts, steps and a saw-tooth on the road.")
    if not facts.reverses:
        yield say(
            "A range that drives backward: then the direction of every member and the housing's torque in reverse can be asked."
        )
    if all(state.verdict is not Verdict.NEUTRAL for _, _, state in facts.others):
        yield say(
            "A range named as neutral, with what stays applied in it: then the lesson shows what turns while the vehicle stands."
        )
    if not facts.kinds(ElementKind.ONE_WAY_CLUTCH):
        yield say(
            "A one-way clutch: then holding, overrunning and engine braking have a place, and a clutch fitted the wrong way round."
        )
    if len(layout.sets) < 2:
        yield say("A second set: then sets are solved together, power divides, and some sets may carry nothing.")
    counted_by_ratio = [pset.name for pset in layout.sets if pset.ring_to_sun is not None]
    if counted_by_ratio:
        yield say(
            "Tooth counts of {sets}, in place of the ratio of ring to sun: then each learner can get other counts, and assembly can be asked.",
            sets=sets_words(counted_by_ratio),
        )
    spare = [
        element.name
        for element in layout.elements
        if not any(element.name in named_range.engaged for named_range in layout.ranges)
    ]
    if spare:
        yield say("A range that applies {elements}: so far no range does.", elements=listed(spare, OR))
