"""The sections of the class report as HTML; every figure comes from `class_data`."""

from __future__ import annotations

import re
from fractions import Fraction
from html import escape
from statistics import median

from gearkit.text.markdown import inline
from gearkit.text.phrases import listed
from graders.book.record import LearnerMarks
from graders.report.figures.class_data import ReportData, TaughtAgain, taught_again
from graders.report.figures.statistics import FEWEST_FOR_PERCENT, ItemFigures
from graders.report.pages import charts, plots
from graders.report.pages.item_words import ItemWords
from graders.report.pages.page import SIGN_WORDS, counted, marks_of, number, of_marks, sign, signed, verdict_of

_MOST_TAUGHT = 6
_LONGEST_TASK = 130  # characters of a task in a table


def in_short(data: ReportData) -> str:
    """Return the first paragraph: who handed in, where the middle is, what to do next."""
    people, listed_people = len(data.marks.learners), len(data.marks.learners) + len(data.marks.absent)
    if not people:
        return f'<p class="lead">Nobody of {counted(listed_people, "learner")} has handed in yet.</p>'
    finals = sorted(learner.final for learner in data.marks.learners)
    middle = median(finals)
    low, high = _quarter(finals, 1), _quarter(finals, 3)
    half = sum(1 for mark in finals if mark >= data.full / 2)
    lead = (
        f"{people} of {counted(listed_people, 'learner')} handed in. The middle mark is <strong>{number(middle)} of "
        f"{number(data.full)}</strong>; the middle half of the class lies between {number(low)} and {number(high)}, "
        f"and {counted(half, 'learner has', 'learners have')} at least half of the marks."
    )
    if people < FEWEST_FOR_PERCENT:
        earned = listed([*map(number, finals[:-1]), of_marks(finals[-1], data.full)])
        lead = f"{people} of {counted(listed_people, 'learner')} handed in, and earned <strong>{earned}</strong>."
    mistakes = taught_again(data)
    if mistakes:
        first = mistakes[0]
        name = escape(_mistake_name(data, first.code))
        lead += (
            f" The most common mistake is <strong>{name}</strong>: {counted(first.learners, 'learner')}, "
            f"most often in {escape(first.items[0][0])}."
        )
    hardest = min((f for f in data.figures if f.facility is not None), key=lambda f: f.facility or 0, default=None)
    if hardest is not None:
        earned = _facility(data, hardest) if people < FEWEST_FOR_PERCENT else f"{percent(hardest.facility)} of its marks"
        lead += f" The hardest item was {escape(hardest.item)} ({earned} were earned)."
    return f'<p class="lead">{lead}</p>{_contents(data)}'


def _contents(data: ReportData) -> str:
    places = [("again", "Teach again")]
    places += [("ideas", "Ideas they may share")] if data.ideas.shared or data.ideas.suspected else []
    places += [("items", "Items"), ("learners", "Learners")]
    flagged = any(learner.flags for learner in data.marks.learners) or data.marks.failed
    places += [("look", "Submissions to look at")] if flagged else []
    places += [("missing", "Not handed in")] if data.marks.absent else []
    places += [("alike", "Worth a conversation")] if data.similarity else []
    places += [("predictions", "Predictions")] if data.predictions.told else []
    places += [("subjects", "Subjects"), ("progress", "Progress")] if data.earlier else []
    places += [("reliability", "How far to trust this")]
    return (
        '<nav class="contents" aria-label="Contents">'
        + "".join(f'<a href="#{key}">{words}</a>' for key, words in places)
        + "</nav>"
    )


def _quarter(ordered: list[float], quarter: int) -> float:
    return ordered[round((len(ordered) - 1) * quarter / 4)]


def percent(share: Fraction | float | None) -> str:
    """Return a share as people read it, "–" where there is none."""
    return "–" if share is None else f"{round(100 * float(share))}%"


def _mistake_name(data: ReportData, code: str) -> str:
    return data.mistakes.get(code, (code, ""))[0]


def marks_chart(data: ReportData) -> str:
    """Return the marks of every learner as a strip of dots for each group."""
    if not data.marks.learners:
        return ""
    groups = {group: [person.final for person in people] for group, people in data.groups.items()}
    return framed(plots.marks(groups, data.full, "Marks of every learner, by group"), "Plot of marks")


def framed(plot: str, name: str) -> str:
    """Return a plot in a frame that can be scrolled on a narrow screen.

    Args:
        plot: the plot.
        name: what it is, for those who do not see it.
    """
    return f'<div class="scroll" tabindex="0" role="region" aria-label="{escape(name, quote=True)}">{plot}</div>'


def teach_again(data: ReportData) -> str:
    """Return the common mistakes, each with its sentence, its items and who made it."""
    mistakes = taught_again(data)
    if not mistakes:
        return '<h2 id="again">What to teach again</h2><p>No named mistake was recognised on this sheet.</p>'
    entries = "".join(_taught(data, mistake) for mistake in mistakes[:_MOST_TAUGHT])
    rest = mistakes[_MOST_TAUGHT:]
    more = ""
    if rest:
        names = [f"{escape(_mistake_name(data, mistake.code))} ({mistake.learners})" for mistake in rest]
        more = f'<p class="soft">Seen less often: {listed(names)}.</p>'
    bars = (
        " The bars show which share of the upper and of the lower group made it: a mistake of both groups is one for the whole class, "
        "a mistake of the lower group only is one for a small table."
        if len(data.marks.learners) >= FEWEST_FOR_PERCENT
        else ""
    )
    return (
        '<h2 id="again">What to teach again</h2><p>Mistakes that were recognised in the answers, the commonest first.'
        f"{bars}</p>{entries}{more}"
    )


def _taught(data: ReportData, mistake: TaughtAgain) -> str:
    name, sentence = data.mistakes.get(mistake.code, (mistake.code, ""))
    items = listed([f"{escape(item)} ({count})" for item, count in mistake.items])
    lessons = sorted({data.words.get(item, ItemWords(item)).lesson for item, _ in mistake.items} - {0})
    taught = listed([str(lesson) for lesson in lessons])
    where = f" Taught in {'lesson' if len(lessons) == 1 else 'lessons'} {taught}." if lessons else ""
    shares = f"upper group {percent(mistake.upper)}, lower group {percent(mistake.lower)}"
    # Of a few learners the count in the heading says it all.
    few = len(data.marks.learners) < FEWEST_FOR_PERCENT
    bars = "" if few else charts.pair(float(mistake.upper), float(mistake.lower), shares)
    return (
        f'<section class="taught"><div><h3>{escape(name[:1].upper() + name[1:])}: {counted(mistake.learners, "learner")}</h3>'
        f'<p>{inline(sentence)}</p><p class="small">Seen in {items}.{where}</p></div>{bars}</section>'
    )


def item_table(data: ReportData) -> str:
    """Return one line for each item: how hard it was, how well it told learners apart, what went wrong."""
    many = len(data.marks.learners) >= FEWEST_FOR_PERCENT
    rows = "".join(_item_row(data, figure, many) for figure in data.figures)
    head = (
        '<tr><th scope="col" class="task">Item</th><th scope="col" class="n">Marks</th>'
        + (
            '<th scope="col">Facility</th><th scope="col" class="n">Upper<br>less lower</th>'
            '<th scope="col" class="n">Item<br>against rest</th>'
            if many
            else '<th scope="col">Earned</th>'
        )
        + '<th scope="col">Answers</th><th scope="col">Commonest mistake</th></tr>'
    )
    table = (
        '<div class="scroll" tabindex="0" role="region" aria-label="Item table"><table>'
        f"<thead>{head}</thead><tbody>{rows}</tbody></table></div>"
    )
    if not many:
        told = f"Fewer than {FEWEST_FOR_PERCENT} learners tell nothing of how well an item serves; here is what they earned."
        return f'<h2 id="items">Items</h2><p>{told}</p>{table}'
    known = [(figure.item, _decimal(figure.facility), _decimal(figure.discrimination)) for figure in data.figures]
    plot = framed(plots.items(known, "Facility and discrimination of every item"), "Plot of items") if known else ""
    share = {"1/3": "third", "1/2": "half"}.get(str(_compared(data)), "27 percent")
    return (
        '<h2 id="items">Items</h2><p>Facility is the share of an item’s marks that was earned. Upper less lower is the '
        f"facility among the best {share} of the class less that among the weakest; "
        "these groups are made by the marks of the whole sheet, so they include the item. Item against rest is the "
        "correlation of an item’s marks with the marks on all the others. Hatched in the plot: where an item serves best "
        f"(facility from 30 to 85%, at least 0.3 upper less lower).</p>{plot}{table}"
    )


def _decimal(value: Fraction | None) -> float | None:
    return None if value is None else float(value)


def _compared(data: ReportData) -> Fraction:
    from graders.report.figures.score_table import compared_share

    return compared_share(len(data.marks.learners))


def _item_row(data: ReportData, figure: ItemFigures, many: bool) -> str:
    about = data.words.get(figure.item, ItemWords(figure.item))
    task = next((m.prompt for learner in data.marks.learners for m in learner.items if m.item == figure.item), "")
    kinds = [
        verdict_of(m.verdict, m.earned, m.max)
        for learner in data.marks.learners
        for m in learner.items
        if m.item == figure.item
    ]
    answers = " ".join(f'<span class="count">{kinds.count(kind)} {sign(kind)}</span>' for kind in SIGN_WORDS if kind in kinds)
    common = next((share for share in data.shares if share.item == figure.item), None)
    mistake = f"{escape(_mistake_name(data, common.mistake))} ({common.learners})" if common else "–"
    remarks = "".join(f'<br><span class="small">{escape(remark)}</span>' for remark in figure.remarks if many)
    facility = _facility(data, figure)
    bar = charts.bar(float(figure.facility or 0), f"facility {facility}")
    title = f"<br>{escape(about.title)}" if about.title else ""
    apart = f'<td class="n">{signed(figure.discrimination)}</td><td class="n">{signed(figure.item_rest)}</td>' if many else ""
    return (
        f'<tr><th scope="row">{escape(figure.item)}{title}<br><span class="small">{escape(about.kind)}</span>'
        f'<div class="small">{inline(_shortened(task))}</div></th><td class="n">{number(float(figure.full_marks))}'
        f'</td><td class="share">{bar} {facility}</td>{apart}<td>{answers}</td><td>{mistake}{remarks}</td></tr>'
    )


def _facility(data: ReportData, figure: ItemFigures) -> str:
    """The share of an item's marks that was earned; of a few learners the marks themselves."""
    people = len(data.marks.learners)
    if people >= FEWEST_FOR_PERCENT or figure.facility is None:
        return percent(figure.facility)
    full = figure.full_marks * people
    return of_marks(float(figure.facility * full), float(full))


def _shortened(task: str) -> str:
    line = re.sub(r"\s+", " ", task.split("\n\n")[0])
    if len(line) <= _LONGEST_TASK:
        return line
    cut = line[:_LONGEST_TASK].rsplit(" ", 1)[0]
    # Half a formula would not be read as one.
    return (cut.rsplit("$", 1)[0] if cut.count("$") % 2 else cut).rstrip() + " …"


def learner_tables(data: ReportData, feedback: str) -> str:
    """Return marks by learner and item, a table for each group.

    Args:
        data: the report's data.
        feedback: address of a learner's page with {} for the identity, or "" for no links.
    """
    signs = ", ".join(f"{sign(kind)} {words}" for kind, words in SIGN_WORDS.items())
    tables = "".join(_group_table(data, group, people, feedback) for group, people in data.groups.items())
    return f'<h2 id="learners">Learners</h2><p>{signs}. A flag ⚑ means: see “Submissions to look at”.</p>{tables}'


def _group_table(data: ReportData, group: str, people: list[LearnerMarks], feedback: str) -> str:
    items = data.table.items
    head = "".join(f'<th scope="col" class="c">{escape(item).replace("-", "-<wbr>")}</th>' for item in items)
    # A share of one among a few says no more than the marks beside it.
    shares = len(data.marks.learners) >= FEWEST_FOR_PERCENT
    rows = "".join(_learner_row(person, items, feedback, shares) for person in people)
    last = '<th scope="col">Share</th>' if shares else ""
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="Marks of {escape(group, quote=True)}"><table class="grid">'
        f"<caption>{escape(group)}: {counted(len(people), 'submission')}</caption><thead><tr>"
        f'<th scope="col">Learner</th>{head}<th scope="col" class="n">Marks</th>{last}</tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _learner_row(learner: LearnerMarks, items: tuple[str, ...], feedback: str, shares: bool) -> str:
    by_item = {mark.item: mark for mark in learner.items}
    cells = ""
    for item in items:
        mark = by_item.get(item)
        if mark is None:
            cells += '<td class="c">–</td>'
            continue
        kind = verdict_of(mark.verdict, mark.earned, mark.max)
        cells += f'<td class="c" title="{escape(item)}: {marks_of(mark.score, mark.max)}">{sign(kind)}</td>'
    name = escape(learner.name or learner.learner)
    if feedback:
        name = f'<a href="{escape(feedback.format(learner.learner), quote=True)}">{name}</a>'
    flag = ' <span role="img" aria-label="has a flag">⚑</span>' if learner.flags else ""
    late = f'<br><span class="small">−{number(learner.penalty)} late</span>' if learner.penalty else ""
    hints = sum(mark.hint_cost for mark in learner.items)
    late += f'<br><span class="small">−{number(hints)} for hints, counted</span>' if hints else ""
    share = learner.final / learner.max if learner.max else 0.0
    last = f'<td class="share">{charts.bar(share, percent(share))} {percent(share)}</td>' if shares else ""
    return (
        f'<tr><th scope="row">{name}{flag} <span class="small">{escape(learner.learner)}</span></th>{cells}'
        f'<td class="n">{number(learner.final)}{late}</td>{last}</tr>'
    )
