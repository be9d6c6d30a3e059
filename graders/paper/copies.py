"""A sheet as documents for paper: a copy for each learner with their own numbers and pictures, spare copies, and the key."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from gearkit.answers.draw_numbers.variants import Variant
from gearkit.answers.judge import marking
from gearkit.answers.judge.checkers import Part
from gearkit.answers.kinds.choices import labelled
from gearkit.draw.lever.sketches import together
from gearkit.print.document import (
    Block,
    Document,
    Entries,
    Field,
    Figure,
    Heading,
    Paragraph,
    Table,
    Together,
    as_text,
    from_markdown,
)
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say
from graders.course.course import Course
from graders.course.language import in_its_language
from graders.course.roster import Learner, Roster
from graders.paper.copy_mark import SPARE, CopyMark
from graders.sheets import drawn, first_page, notebook
from graders.sheets.notebook import FOOT, Owner
from graders.sheets.pictures import as_choices, drawings_for
from graders.sheets.sheet_rules import CALCULATORS
from graders.sheets.sheets import Sheet

MOST_SPARE = 99
_ON_PAPER = {CALCULATORS["any"]: later("Any calculator may be used.")}
_LONGEST_LABEL = 48
_MOST_TOGETHER = 8


@dataclass(frozen=True)
class Copy:
    """One copy.

    Args:
        owner: whose it is; for a spare copy somebody without a name.
        mark: what stands at the head of its pages.
        variants: its numbers, in the order of the sheet's items.
    """

    owner: Learner
    mark: CopyMark
    variants: tuple[Variant, ...]


@in_its_language
def of_class(course: Course, sheet: Sheet, class_list: Roster) -> list[Copy]:
    """Return the copies of a class, in its order, with the numbers that were handed out; of a retake, of those who take it.

    Args:
        course: the course.
        sheet: the sheet.
        class_list: the class.

    Raises:
        UsageError: the sheet was not handed out to somebody.
    """
    owners = [learner for learner in class_list if course.handed_out_file(learner.id, sheet.name).is_file()]
    without = [learner.id for learner in class_list if learner not in owners]
    if without and not (sheet.retake_of and owners):
        raise UsageError(
            f"Sheet {sheet.name} was not handed out to {', '.join(without[:5])}{' and others' if len(without) > 5 else ''}, so they have no "
            f"numbers yet. First: graders hand-out {course.folder} {sheet.name} --class ROSTER.csv"
        )
    return [
        Copy(learner, CopyMark(sheet.name, learner.id), drawn.variants_for(course, sheet, learner.id)) for learner in owners
    ]


@in_its_language
def spare(course: Course, sheet: Sheet, count: int, class_list: Roster) -> list[Copy]:
    """Return spare copies, with numbers of their own; whoever gets one is told to `type_in`.

    Args:
        course: the course.
        sheet: the sheet.
        count: how many, up to `MOST_SPARE`.
        class_list: the class, nobody of which may be called like a spare copy.

    Raises:
        UsageError: too many, or somebody is called like a spare copy.
    """
    if not 0 <= count <= MOST_SPARE:
        raise UsageError(f"{count} spare copies: expected 0 to {MOST_SPARE}.")
    names = [f"{SPARE}{number}" for number in range(1, count + 1)]
    taken = [name for name in names if class_list.find(name)]
    if taken:
        raise UsageError(f"{taken[0]} is on the class list, and spare copies are called so. Ask for fewer spare copies.")
    return [spare_copy(course, sheet, name) for name in names]


def spare_copy(course: Course, sheet: Sheet, name: str) -> Copy:
    """Return one spare copy; the same name always has the same numbers.

    Args:
        course: the course.
        sheet: the sheet.
        name: such as "spare-1".
    """
    variants = drawn.variants_for(course, sheet, name)
    drawn.keep(course, sheet, name, variants)
    return Copy(Learner(name, ""), CopyMark(sheet.name, name), variants)


@in_its_language
def document(course: Course, sheet: Sheet, copy: Copy) -> Document:
    """Return a copy as a document.

    Args:
        course: the course.
        sheet: the sheet.
        copy: the copy.
    """
    return Document(sheet.title, tuple(_copy(course, sheet, copy)), str(copy.mark), say(FOOT))


def _copy(course: Course, sheet: Sheet, copy: Copy) -> Iterator[Block]:
    plain = on_paper(sheet)
    yield Heading(as_text(sheet.title))
    yield Paragraph(
        f"**{as_text(copy.owner.name)}** ({copy.owner.id}). " + say("The numbers in this copy are your own.")
        if copy.owner.name
        else say("Name: ______________________________    (a spare copy)")
    )
    learner = copy.owner if copy.owner.name else None
    on_paper_said = {say(rule): say(short) for rule, short in _ON_PAPER.items()}
    rules = [on_paper_said.get(rule, rule) for rule in first_page.lines(plain, course, learner)]
    yield Entries(
        (
            *(as_text(rule) for rule in rules),
            say("Write each answer into its box; a fraction such as 19/6 is always welcome. Working may stand beside it."),
        )
    )
    sources = notebook.texts(course, plain, Owner(copy.owner), copy.variants)
    for variant, task, picture in zip(copy.variants, sources[2:-1:2], drawings_for(plain, copy.variants), strict=True):
        fields = tuple(_box(part, len(variant.parts)) for part in variant.parts)
        asked = tuple(_asked(task, variant.parts))
        if picture is not None:
            yield from (*asked, Figure(picture, 0.85))
            asked = ()
        # A box on the next page would be looked for on this one.
        yield from (Together((*asked, *fields)),) if len(fields) <= _MOST_TOGETHER else (*asked, *fields)


def _asked(task: str, parts: Sequence[Part]) -> Iterator[Block]:
    """A task, its pictures to choose among as pictures: their words would be the answer to whoever can see them."""
    with_pictures = [part for part in parts if part.pictures]
    for part in with_pictures:
        task = task.replace(as_choices(part.options, part.pictures), "").replace(labelled(part.options), "")
    yield from from_markdown("\n".join(line for line in task.splitlines() if line not in _told_by_boxes(parts)))
    for part in with_pictures:
        yield Figure(together(part.pictures), 0.85)


def _told_by_boxes(parts: Sequence[Part]) -> set[str]:
    """The lines of a task that name its parts for those who type them, where each part's box says the same."""
    boxes = [field(part, len(parts)) for part in parts]
    return {
        f"- `{part.name}`: {box.label}" + (say(", in {unit}", unit=part.shown_unit) if part.unit else "")
        for part, box in zip(parts, boxes, strict=True)
    }


def on_paper(sheet: Sheet) -> Sheet:
    """Return a sheet with the rules that mean something on paper: no hints folded up, no counting of hand-ins."""
    rules = sheet.rules
    return replace(sheet, rules=replace(rules, attempts=0, hint_cost=rules.hint_cost or None))


def field(part: Part, parts: int) -> Field:
    """Return the box into which the answer to a part is written.

    Args:
        part: the part.
        parts: how many parts its exercise has.
    """
    label = part.label.removeprefix(f"{part.name}: ") or part.name
    short = label if len(label) <= _LONGEST_LABEL else part.name
    return Field(
        f"`{part.name}`" if parts > 1 and short == part.name else short if parts > 1 else say("Answer"),
        part.shown_unit,
        part.kind.traits.wide,
    )


def _box(part: Part, parts: int) -> Field:
    """A part's box on a copy, which also says what its column is called in the form."""
    box = field(part, parts)
    return box if parts == 1 or box.label == f"`{part.name}`" else replace(box, label=f"{box.label} `{part.name}`")


def key(course: Course, sheet: Sheet, copies: Sequence[Copy]) -> Document:
    """Return the key for the marker: what is right in each copy.

    Args:
        course: the course.
        sheet: the sheet.
        copies: all copies, spare ones too.
    """
    blocks: list[Block] = [
        Heading(f"Key: {as_text(sheet.title)}"),
        Paragraph(
            "For the marker alone. Find a copy by the mark at the head of its pages. Other forms of the same value are right too."
        ),
    ]
    for copy in copies:
        head = Heading(f"{as_text(copy.owner.name) or 'Spare copy'}, {copy.mark}", 2)
        # Several copies share a page, and none is torn apart that need not be.
        blocks.append(Together((head, Table(("task", "marks", "right"), tuple(_rows(sheet, copy)), wide=True))))
    return Document(f"Key: {sheet.title}", tuple(blocks), f"KEY {sheet.name}", f"Course {as_text(course.id)}: not for learners")


def _rows(sheet: Sheet, copy: Copy) -> Iterator[tuple[str, ...]]:
    for number, (entry, variant) in enumerate(zip(sheet.items, copy.variants, strict=True), start=1):
        right = marking.right_answer(variant)
        boxes = {part.name: field(part, len(variant.parts)).label for part in variant.parts}
        told = [as_text(text) if len(right) == 1 else f"{boxes[part]}: {as_text(text)}" for part, text in right.items()]
        yield f"{number}. {entry.item.id}", str(entry.marks), "; ".join(told)
