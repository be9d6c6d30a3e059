"""One page of feedback for each learner: their own numbers, what they wrote, and what to try next.

A page holds one learner's data and nobody else's, and no right answers unless they are given to it. It is one file
without script or network, so it can go through any course system, be printed, or be read on a phone.
"""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape

from gearkit.text.markdown import to_html
from gearkit.text.mathml import from_expression
from gearkit.text.phrases import OR, capital, listed, localized
from gearkit.words.say import language_code, later, say, say_n
from graders.book.record import NOTHING_READ, ItemMark, LearnerMarks
from graders.report.figures.ideas import LearnerIdeas
from graders.report.pages import idea_sections
from graders.report.pages.item_words import ItemWords
from graders.report.pages.page import SIGN_WORDS, linked, marks_of, number, page, sign, verdict_of
from graders.take_in import hand_ins
from graders.take_in.remark_words import in_own_words

ONE_PART = "answer"
_NUMBER_AND_UNIT = re.compile(r"([-−]?[\d.,/]+) (\S.*)")
_WROTE, _READ_AS, _RIGHT = later("You wrote"), later("It was read as"), later("Right answer")


@dataclass(frozen=True)
class FeedbackWords:
    """What a learner's page needs besides the marks.

    Args:
        course: title of the course.
        sheet: title of the sheet.
        items: words of each item, by item id.
        mistakes: name of each mistake, by code.
        labels: labels of the parts, by item id and part name.
        pictures: a drawing (SVG) to show with an item, by item id.
        answers: right answers as text, by item id and part name; empty while a retake is open.
        note: sentence about the retake or the next step, or "".
        counts: sentence about what counts of several attempts, or "".
        zone: name of the zone in which the time of handing in is told, or "".
        ideas: ideas that may be behind several of the learner's answers.
        lessons: address of each lesson that is to be linked, by its folder.
    """

    course: str
    sheet: str
    items: Mapping[str, ItemWords] = field(default_factory=dict)
    mistakes: Mapping[str, str] = field(default_factory=dict)
    labels: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    pictures: Mapping[str, str] = field(default_factory=dict)
    answers: Mapping[str, Mapping[str, str]] = field(default_factory=dict)
    note: str = ""
    counts: str = ""
    zone: str = ""
    ideas: LearnerIdeas = field(default_factory=LearnerIdeas)
    lessons: Mapping[str, str] = field(default_factory=dict)


def learner_page(marks: LearnerMarks, words: FeedbackWords) -> str:
    """Return one learner's page as HTML.

    Args:
        marks: the learner's marks on the sheet.
        words: titles, hints and names to show with them.
    """
    name = marks.name or marks.learner
    whose, one_by_one = say("Feedback for {name}", name=escape(name)), say("Item by item")
    header = f'<p class="over">{escape(words.course)}</p><h1>{escape(words.sheet)}</h1><p class="soft">{whose}</p>'
    articles = [_item(number, mark, words) for number, mark in enumerate(marks.items, start=1)]
    body = "\n".join(
        (
            _summary(marks, words.counts),
            _noticed(marks.flags),
            f'<h2 id="items">{one_by_one}</h2>',
            *articles,
            idea_sections.for_learner(
                words.ideas, {mark.item: place for place, mark in enumerate(marks.items, start=1)}, words.lessons
            ),
            _next_steps(marks, words),
        )
    )
    return page(f"{words.sheet}: {name}", header, body, footer=_footer(marks, words.zone), language=language_code())


def _summary(marks: LearnerMarks, what_counts: str) -> str:
    kinds = [verdict_of(item.verdict, item.earned, item.max) for item in marks.items if item.max]
    counts = [f"{kinds.count(kind)} {say(SIGN_WORDS[kind])}" for kind in SIGN_WORDS if kind in kinds]
    counts += [say("{count} withdrawn", count=withdrawn)] if (withdrawn := len(marks.items) - len(kinds)) else []
    of = say("of {full} marks", full=number(marks.max))
    score = f'<p class="score">{number(marks.final)} <span>{of}</span></p>'
    late = "".join(f"<p>{escape(in_own_words(flag).rstrip('.'))}.</p>" for flag in marks.flags if flag.startswith(_EXTENDED))
    if marks.penalty:
        days = "".join(
            say_n(", {count} day started", ", {count} days started", int(match[1]))
            for flag in marks.flags
            if (match := _DAYS_LATE.match(flag))
        )
        told = say_n(
            "Your answers earned {earned}. {penalty} mark was taken off because the sheet came in late{days}.",
            "Your answers earned {earned}. {penalty} marks were taken off because the sheet came in late{days}.",
            1 if marks.penalty == 1 else 2,
            earned=marks_of(marks.score, marks.max),
            penalty=number(marks.penalty),
            days=days,
        )
        late += f"<p>{told}</p>"
    attempt = " " + say("This was attempt {attempt}.", attempt=marks.attempt) if marks.attempt > 1 else ""
    attempt += "".join(f" {escape(in_own_words(flag))}" for flag in marks.flags if flag.startswith(hand_ins.FLAG))
    many = say_n("{count} item", "{count} items", len(marks.items))
    return f"{score}\n<p>{escape(many)}: {escape(listed(counts))}.{attempt}</p>\n{late}" + (
        f"<p>{escape(what_counts)}</p>" if what_counts else ""
    )


# Flags are written for instructors. Some are told elsewhere on the page or are no concern of the learner's, and two
# can hold somebody else's identity.
_EXTENDED = "Due time extended"
_DAYS_LATE = re.compile(r"Handed in late, (\d+) days? started")
_NOT_FOR_LEARNERS = ("Handed in late", _EXTENDED, "There is no time of handing in", hand_ins.FLAG)
_OTHERS_CARD = "The notebook says that it"
_KINDER_CARD = later("The notebook's own card did not fit to you or to this sheet; it was marked with your own numbers.")
_OTHERS_NAME = re.compile(r"was handed in under the name of .* further in; it counts for")
_KINDER_NAME = later("The path of a file that you handed in names somebody else. The file counts for you and for nobody else.")


def _noticed(flags: Sequence[str]) -> str:
    kinder = [
        _KINDER_CARD if flag.startswith(_OTHERS_CARD) else _KINDER_NAME if _OTHERS_NAME.search(flag) else flag for flag in flags
    ]
    told = [flag for flag in dict.fromkeys(kinder) if not flag.startswith(_NOT_FOR_LEARNERS) and "class list" not in flag]
    if not told:
        return ""
    lines = "".join(f"<li>{escape(in_own_words(flag))}</li>" for flag in told)
    label = say("About the file that you handed in")
    what = say("Something about the file that you handed in was unusual. Whatever could be read was marked.")
    ask = say("If this puzzles you, show this page to your instructor.")
    return f'<section class="note-box" aria-label="{label}"><p>{what}</p><ul>{lines}</ul><p>{ask}</p></section>'


def _item(place: int, mark: ItemMark, words: FeedbackWords) -> str:
    kind = verdict_of(mark.verdict, mark.earned, mark.max)
    about = words.items.get(mark.item, ItemWords(mark.item))
    picture = words.pictures.get(mark.item, "")
    earned = marks_of(mark.score, mark.max) if mark.max else say("withdrawn")
    pieces = [
        f'<header><h3 id="i{place}">{place}. {f"{escape(about.title)} " if about.title else ""}<span class="soft">{escape(mark.item)}</span> {sign(kind, True)}</h3>'
        f'<span class="mark-of">{earned}</span></header>',
        _hints_given(mark),
        to_html(mark.prompt),
        f'<div class="picture">{picture}</div>' if picture else "",
        _answered(mark, words, about),
        _told(mark, words),
        f'<p class="note-box">{escape(mark.decided)}</p>' if mark.decided else "",
        _hint(mark, about),
    ]
    return f'<article class="item" aria-labelledby="i{place}">{"".join(pieces)}</article>'


def _hints_given(mark: ItemMark) -> str:
    if not mark.hints:
        return ""
    if not mark.hint_cost:
        told = say_n(
            "You were given {count} hint; nothing was taken off for that.",
            "You were given {count} hints; nothing was taken off for that.",
            mark.hints,
        )
    else:
        told = say_n(
            "You were given {count} hint: your answer earned {earned}, and {cost} came off for the hint.",
            "You were given {count} hints: your answer earned {earned}, and {cost} came off for the hints.",
            mark.hints,
            earned=number(mark.earned),
            cost=number(mark.hint_cost),
        )
    return f"<p>{told}</p>"


def _answered(mark: ItemMark, words: FeedbackWords, about: ItemWords) -> str:
    if mark.comment.startswith(NOTHING_READ):
        reason = in_own_words(mark.comment.removeprefix(f"{NOTHING_READ}. "))
        told = say("No answer could be looked for. {reason}", reason=reason)
        return f"<p>{escape(told)}</p>"
    if not any(mark.given.values()):
        return "<p>" + say("No answer to this item was found in your sheet.") + "</p>"
    right = words.answers.get(mark.item, {})
    parts = list(dict.fromkeys((*mark.given, *mark.read_as)))
    if parts == [ONE_PART]:
        return _single(mark, right.get(ONE_PART, ""), about)
    parts = list(words.labels.get(mark.item, {})) or parts
    columns: dict[str, list[str]] = {say(_WROTE): [_code(mark.given.get(part, "")) for part in parts]}
    if any(_tells_more(mark.given.get(part, ""), mark.read_as.get(part, "")) for part in parts):
        columns[say(_READ_AS)] = [_read(mark.read_as.get(part, ""), about) for part in parts]
    if mark.parts:
        columns[say("Result")] = [sign(mark.parts.get(part, "missing"), True) for part in parts]
    if right:
        columns[say(_RIGHT)] = [_read(right.get(part, ""), about) for part in parts]
    labels = words.labels.get(mark.item, {})
    head = '<th scope="col">' + say("Part") + "</th>" + "".join(f'<th scope="col">{column}</th>' for column in columns)
    rows = ""
    for place, part in enumerate(parts):
        cells = "".join(f'<td data-label="{column}">{html[place]}</td>' for column, html in columns.items())
        rows += f'<tr><th scope="row">{escape(labels.get(part) or part)}</th>{cells}</tr>'
    return f'<table class="folded"><thead><tr>{head}</tr></thead><tbody>{rows}</tbody></table>'


def _tells_more(wrote: str, read: str) -> bool:
    """Say whether showing how an answer was read says more than the answer itself."""
    return bool(read) and (" ".join(wrote.split()) != read or re.search("[*/^()]", read) is not None)


def _single(mark: ItemMark, right: str, about: ItemWords) -> str:
    wrote, read = mark.given.get(ONE_PART, ""), mark.read_as.get(ONE_PART, "")
    rows = [(say(_WROTE), _code(wrote))]
    if _tells_more(wrote, read):
        rows.append((say(_READ_AS), _read(read, about)))
    if right:
        rows.append((say(_RIGHT), _read(right, about)))
    return '<dl class="answer">' + "".join(f"<dt>{word}</dt><dd>{html}</dd>" for word, html in rows) + "</dl>"


def _code(text: str) -> str:
    return f"<code>{escape(text)}</code>" if text else '<span class="soft">' + say("nothing") + "</span>"


def _read(text: str, about: ItemWords) -> str:
    if not text:
        return "–"
    if not about.symbols:
        return escape(text)
    match = _NUMBER_AND_UNIT.fullmatch(text)
    return f"{_formula(match[1])} {escape(match[2])}" if match else _formula(text)


def _formula(text: str) -> str:
    """An expression set as a formula; its decimals are read with a point and shown as the reader's language writes them."""
    formula = from_expression(re.sub(r"(?<=\d),(?=\d)", ".", text))
    return re.sub(r'<mn>[^<]*</mn>|title="[^"]*"', lambda digits: localized(digits[0]), formula)


def _told(mark: ItemMark, words: FeedbackWords) -> str:
    if mark.verdict == "missing" or not (mark.comment or mark.mistakes):
        return ""
    names = [words.mistakes.get(code, "") for code in mark.mistakes]
    looks = [f"<strong>{escape(name)}</strong>" for name in names if name]
    # Two mistakes can give the same answer; the comment then says "Either".
    either = say("Either: {sentence}", sentence="").strip() in mark.comment
    lead = say("This looks like: {mistakes}.", mistakes=listed(looks, OR) if either else listed(looks)) if looks else ""
    if mark.verdict == "right":
        return "" if mark.comment == say("Right.") else to_html(mark.comment)
    # The hint stands right below on this page, without a number.
    comment = to_html(mark.comment.replace(say(": have a look at hint 1."), say(". The hint below may help.")))
    return f'<div class="note-box"><p>{lead}</p>{comment}</div>' if lead else comment


def _hint(mark: ItemMark, about: ItemWords) -> str:
    if mark.verdict == "right" or not about.hints:
        return ""
    # Whoever earned something is past the first hint; who wrote nothing starts with it.
    step = min(len(about.hints) - 1, 1 if mark.earned > 0 or mark.mistakes else 0)
    where = f' <span class="soft">({escape(about.where)})</span>' if about.where else ""
    lead = say("Try this next.")
    return f"<p><strong>{lead}</strong> {to_html(about.hints[step])[3:-4]}{where}</p>"


def _next_steps(marks: LearnerMarks, words: FeedbackWords) -> str:
    missed: dict[str, list[str]] = {}
    for place, item in enumerate(marks.items, start=1):
        if item.earned < item.max:
            about = words.items.get(item.item, ItemWords(item.item))
            where = escape(capital(about.where or say("this sheet's lesson")))
            missed.setdefault(linked(where, words.lessons.get(about.folder, "")), []).append(str(place))
    note = f"<p>{escape(words.note)}</p>" if words.note else ""
    title, again = say("What next"), say("These parts are worth another look:")
    on = say("Every item is right. Go on to the next lesson.")
    if not missed:
        return f"<h2>{title}</h2><p>{on}</p>{note}"
    lines = "".join(f"<li>{_again(where, places)}</li>" for where, places in missed.items())
    return f"<h2>{title}</h2><p>{again}</p><ul>{lines}</ul>{note}"


def _again(where: str, places: Sequence[str]) -> str:
    return say_n(
        "{where}: item {places} on this sheet.",
        "{where}: items {places} on this sheet.",
        len(places),
        where=where,
        places=escape(listed(places)),
    )


def _footer(marks: LearnerMarks, zone: str) -> str:
    when = escape(" ".join((_when(marks.handed_in), zone)).rstrip()) if marks.handed_in else ""
    handed = say("Handed in {when}.", when=when) + " " if when else ""
    told = say(
        "The numbers in the tasks are your own; your neighbour has others. If you think that a mark is wrong, tell your instructor the number of the item: they can see what the marker saw and mark it again."
    )
    return f"<p>{handed}{told}</p>"


def _when(stamp: str) -> str:
    return say("{day} at {time}", day=stamp[:10], time=stamp[11:16])
