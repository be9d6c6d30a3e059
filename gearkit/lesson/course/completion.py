"""A record of completion: what a learner has done in the course, as a page to print or to hand in."""

from __future__ import annotations

from html import escape
from pathlib import Path

from gearkit.lesson.course.links import title_of
from gearkit.lesson.course.overview import START, LessonStanding, Overview, overview
from gearkit.lesson.learnt.standing import State
from gearkit.lesson.record import Record
from gearkit.print import engine, web_page
from gearkit.print.document import Block, Document, Field, Heading, Paragraph, Table, as_text
from gearkit.text.phrases import day_words
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

FILE_NAME = "my_completion.html"
_LONGEST_NAME = 120
_HEADS = (later("Lesson"), later("Core done"), later("All done"), later("Kept"), later("Predictions"), later("Last worked on"))


class Completion:
    """The record of completion, written to a file and shown where it was asked for.

    Args:
        document: what stands in it.
        path: the file that was written.
        summary: what stands in it in a sentence.
    """

    def __init__(self, document: Document, path: Path, summary: str) -> None:
        self.document = document
        self.path = path
        self.summary = summary

    def __repr__(self) -> str:
        return say("{summary} Written to {path}.", summary=self.summary, path=self.path.name)

    def _repr_html_(self) -> str:
        name = escape(self.path.name)
        link = f'<a href="{escape(self.path.name, quote=True)}">{name}</a>'
        written = say(
            "Written to {link}, beside your record. Open it in a browser to print it, or hand the file in.", link=link
        )
        return f"<p>{written}</p>{web_page.body(self.document.blocks)}"


def completion(record: Record, name: object = "", path: Path | None = None) -> Completion:
    """Write the record of completion and return it.

    Args:
        record: the learner's record.
        name: the learner's name; a line to write it on stands there when it is empty.
        path: the file, ending in .html or .pdf; ``my_completion.html`` beside the record when None.

    Raises:
        UsageError: the file ends otherwise or cannot be written.
        GearkitError: a PDF is asked for and the library for it is not there.
    """
    target = path or record.path.with_name(FILE_NAME)
    standing = overview(record)
    document = document_of(standing, " ".join(str(name).split())[:_LONGEST_NAME])
    if target.suffix == ".pdf":
        engine.save([document], target)
    elif target.suffix == ".html":
        web_page.save(document, target)
    else:
        raise UsageError(f"{target.name}: give a name that ends in .html or .pdf.")
    return Completion(document, target, _summary(standing))


def document_of(standing: Overview, name: str = "") -> Document:
    """Return the record of completion as a document.

    Args:
        standing: how the course stands.
        name: the learner's name, or "".
    """
    course = [each for each in standing.lessons if each.plan.number != START]
    who: Block = Paragraph(f"**{as_text(name)}**") if name else Field(say("Name"), wide=True)
    blocks: list[Block] = [
        Heading(say("Record of completion")),
        who,
        Paragraph(say("Course: planetary automatic transmissions, from gear pairs to fault finding.")),
        Paragraph(_summary(standing)),
        Table(tuple(map(say, _HEADS)), tuple(_row(each) for each in course)),
        Paragraph(
            say(
                "A lesson is complete when its core exercises are done. Done: right without a hint. Kept: right again on another day with new numbers, and not too long ago. The figures come from the learner's own record and were not supervised; practice exercises are no test."
            ),
            small=True,
        ),
        Field(say("Date")),
        Field(say("Signature"), wide=True),
    ]
    return Document(
        say("Record of completion"),
        tuple(blocks),
        foot=say("As of {day}", day=day_words(standing.today, year=True)),
    )


def _row(each: LessonStanding) -> tuple[str, ...]:
    last = day_words(each.last, year=True) if each.last else "–"
    return (
        title_of(each.plan.number),
        say("{core_done} of {core}", core_done=each.core_done, core=len(each.core)),
        say("{done} of {count}", done=each.done, count=len(each.exercises)),
        str(each.count(State.KEPT) or "–"),
        str(each.predictions or "–"),
        last,
    )


def _summary(standing: Overview) -> str:
    course = [each for each in standing.lessons if each.plan.number != START]
    done, total = sum(each.done for each in course), sum(len(each.exercises) for each in course)
    complete = sum(each.complete for each in course)
    return say(
        "{complete} of {course} lessons complete, {done} of {total} exercises done.",
        complete=complete,
        course=len(course),
        done=done,
        total=total,
    )
