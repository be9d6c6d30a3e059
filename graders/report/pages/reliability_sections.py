"""The sections of the class report about the sheet as a whole: subjects, progress, fairness of the numbers, how far to trust it all."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape
from statistics import fmean

from gearkit.text.phrases import fixed
from graders.report.figures import subjects
from graders.report.figures.class_data import ReportData
from graders.report.figures.fairness import ItemFairness, chance_bound
from graders.report.figures.statistics import FEWEST_FOR_PERCENT, reliability, small_class_warning
from graders.report.figures.subjects import Share
from graders.report.pages import charts, plots
from graders.report.pages.class_sections import framed, percent
from graders.report.pages.page import counted, marks_of, of_marks, signed

Marks = Sequence[tuple[float, float]]
EVERYBODY = "everybody"
_SOURCES = (
    '<p class="small">Kuder–Richardson formula 20 (Psychometrika 2, 1937, 151–160) where every item is marked all or '
    "nothing and counts the same, Cronbach’s alpha (Psychometrika 16, 1951, 297–334) otherwise: "
    "k/(k − 1) · (1 − sum of item variances / variance of totals), variances with divisor n. Standard error: "
    "standard deviation of the totals times the root of 1 − alpha. Lengthening after Spearman and Brown (1910). "
    "Fairness: Pearson’s correlation (Proceedings of the Royal Society 58, 1895, 240–242), with 2/√n as the bound that "
    "chance passes about once in twenty. The "
    "papers were cited from secondary pages and from memory. Marks here are those before hints or lateness took any off.</p>"
)


def progress(data: ReportData) -> str:
    """Return how groups did over the sheets so far, or nothing for a first sheet."""
    if not data.earlier:
        return ""
    sheets = [*data.earlier, (data.sheet, data.marks)]
    groups = sorted({learner.group or "no group" for _, marks in sheets for learner in marks.learners})
    by_group = {
        group: [
            [
                (learner.final, learner.max)
                for learner in marks.learners
                if (learner.group or "no group") == group and learner.max
            ]
            for _, marks in sheets
        ]
        for group in groups
    }
    shown = progress_over_sheets(by_group, [title for title, _ in sheets], "Mean share of marks by group over the sheets")
    return f'<h2 id="progress">Progress over the sheets</h2>{shown}'


def progress_over_sheets(groups: Mapping[str, Sequence[Marks]], sheets: Sequence[str], title: str) -> str:
    """Return the plot over the sheets, and a sentence for each group that is too small for a share to say anything.

    Args:
        groups: for each group and sheet the marks of those who handed it in and the full marks, above 0.
        sheets: titles of the sheets, in order.
        title: what the plot shows.
    """
    shown = {name: marks for name, marks in groups.items() if any(len(mark) >= FEWEST_FOR_PERCENT for mark in marks)}
    together = [[mark for marks in groups.values() for mark in marks[place]] for place in range(len(sheets))]
    if not shown and any(len(marks) >= FEWEST_FOR_PERCENT for marks in together):
        # No group by itself is large enough, but all of them are.
        shown = {EVERYBODY: together}
    pieces = [framed(plots.progress({name: _shares(of) for name, of in shown.items()}, sheets, title), "Plot of progress")]
    told = [
        _in_marks(name, of, sheets) for name, of in groups.items() if any(0 < len(marks) < FEWEST_FOR_PERCENT for marks in of)
    ]
    few = f"<p>Of fewer than {FEWEST_FOR_PERCENT} learners a share says nothing, so here are the mean marks themselves:</p>"
    return "".join(pieces if shown else []) + (f"{few}<ul>{''.join(told)}</ul>" if told else "")


def _shares(sheets: Sequence[Marks]) -> list[float | None]:
    return [fmean(mark / full for mark, full in marks) if len(marks) >= FEWEST_FOR_PERCENT else None for marks in sheets]


def _in_marks(name: str, groups: Sequence[Marks], sheets: Sequence[str]) -> str:
    told = [
        f"{escape(sheet)}: {of_marks(fmean(mark for mark, _ in marks), max(full for _, full in marks))} "
        f"({counted(len(marks), 'learner')})"
        for sheet, marks in zip(sheets, groups, strict=True)
        if 0 < len(marks) < FEWEST_FOR_PERCENT
    ]
    return f"<li>{escape(name)}: {'; '.join(told)}</li>"


def over_subjects(data: ReportData) -> str:
    """Return the marks on every subject over the sheets so far, or nothing where a first sheet asks about one alone."""
    sheets = [*data.earlier, (data.sheet, data.marks)]
    by_subject = subjects.over_sheets([marks for _, marks in sheets])
    if len(sheets) == 1 and len(by_subject) < 2:
        return ""
    head = "".join(f'<th scope="col">{escape(title)}</th>' for title, _ in sheets)
    body = "".join(
        f'<tr><th scope="row">{escape(subject)}</th>{"".join(_cell(share) for share in shares)}</tr>'
        for subject, shares in by_subject.items()
    )
    order = "" if len(sheets) == 1 else " The sheets stand in the order of the term, the newest last."
    return (
        '<h2 id="subjects">Subjects over the term</h2><p>The share of the marks on each subject that the class earned, before hints '
        f"or lateness took any off; below {FEWEST_FOR_PERCENT} learners the marks themselves, because a share of so few says "
        f"nothing.{order}</p>"
        '<div class="scroll" tabindex="0" role="region" aria-label="Subjects over the term"><table><thead><tr>'
        f'<th scope="col">Subject</th>{head}</tr></thead><tbody>{body}</tbody></table></div>'
    )


def _cell(share: Share | None) -> str:
    if share is None:
        return '<td class="share">–</td>'
    earned = marks_of(float(share.earned), float(share.full))
    told = percent(share.part) if share.learners >= FEWEST_FOR_PERCENT else earned
    bar = charts.bar(share.part, f"{told} of the marks" if told != earned else of_marks(float(share.earned), float(share.full)))
    return f'<td class="share">{bar} {told}<br><span class="small">{counted(share.items, "item")}</span></td>'


def fair(data: ReportData) -> str:
    """Return how marks went with the numbers that learners drew, or nothing where nobody drew any."""
    if not data.fairness:
        return ""
    bound = chance_bound(len(data.marks.learners))
    rows = "".join(_fair_row(item_fairness, bound) for item_fairness in data.fairness)
    beyond = [item_fairness.item for item_fairness in data.fairness if item_fairness.beyond(bound)]
    told = (
        f"Look at the numbers of {', '.join(map(escape, beyond))}: a correlation beyond ±{bound:.2f} comes about by chance "
        f"in about one of twenty, and {counted(2 * len(data.fairness), 'was', 'were')} looked at. "
        if beyond
        else f"None is beyond ±{bound:.2f}, which chance alone passes about once in twenty. "
    )
    warning = small_class_warning(len(data.marks.learners))
    return (
        '<h3 id="fair">Were everybody’s numbers equally hard?</h3><p>Marks on an item against the right answer that each '
        "learner’s own numbers gave: with its size, and with how unhandy it is as a fraction (digits of numerator and "
        f"denominator together). Near 0 is fair; below 0 the larger or longer answers earned less. {told}"
        f"{'In a class below 30 this shows only gross unfairness.' if warning else ''}</p>"
        '<table class="plain"><thead><tr><th scope="col">Item</th><th scope="col" class="n">With size</th>'
        '<th scope="col" class="n">With digits</th><th scope="col"></th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _fair_row(item_fairness: ItemFairness, bound: float) -> str:
    remark = "look at the draw" if item_fairness.beyond(bound) else ""
    return (
        f'<tr><th scope="row">{escape(item_fairness.item)}</th><td class="n">{signed(item_fairness.size)}</td><td class="n">'
        f"{signed(item_fairness.awkwardness)}</td><td>{remark}</td></tr>"
    )


def reliability_section(data: ReportData) -> str:
    """Return the reliability with its band, its warning and its sources, and how the marks came about."""
    ways = [mark.way for learner in data.marks.learners for mark in learner.items]
    head = '<h2 id="reliability">How far to trust these figures</h2>'
    if len(data.marks.learners) < FEWEST_FOR_PERCENT:
        few = f"Fewer than {FEWEST_FOR_PERCENT} learners: look at their answers one by one. Figures about the sheet would tell nothing."
        return f'{head}<div class="note-box warn"><p>{few}</p></div>{_came_about(data, ways)}'
    figure = reliability(data.table, seed=data.marks.sheet)
    if figure.alpha is None:
        told = "<p>A reliability cannot be given: it needs two items or more, and learners whose marks differ.</p>"
    else:
        band = (
            f", between {fixed(figure.low, 2)} and {fixed(figure.high, 2)}"
            if figure.low is not None and figure.high is not None
            else ""
        )
        told = (
            f"<p>Reliability ({figure.kind}) is <strong>{fixed(figure.alpha, 2)}</strong>{band} when classes like this are "
            f"drawn again nine times in ten ({counted(figure.learners, 'learner')}, {counted(figure.items, 'item')}). "
            f"The standard error of a mark is {figure.standard_error:.1f}: two learners who differ by less than about "
            f"{counted(round(2 * (figure.standard_error or 0)), 'mark')} may well know the same."
        )
        if figure.doubled is not None:
            told += f" A sheet twice as long, of items of the same kind, would reach about {fixed(figure.doubled, 2)}."
        told += " From 0.70 on a sheet can decide something by itself; below that, use it to teach.</p>"
    warning = f'<div class="note-box warn"><p>{escape(figure.warning)}</p></div>' if figure.warning else ""
    return f"{head}{warning}{told}{fair(data)}{_came_about(data, ways)}{_SOURCES}"


def _came_about(data: ReportData, ways: list[str]) -> str:
    # Loading, and entering the marks in the gradebook, come on top; the command itself tells the whole.
    told = "less than 0.1 seconds" if data.marks.seconds < 0.1 else f"{data.marks.seconds:.1f} seconds"
    seconds = f" Reading, running and comparing took {told}." if data.marks.seconds else ""
    sandbox = f" Protection while learner code ran: {escape(data.marks.sandbox)}." if data.marks.sandbox else ""
    return (
        f"<p>{counted(ways.count('read'), 'answer was', 'answers were')} read from the notebooks without running anything, "
        f"{counted(ways.count('run'), 'answer', 'answers')} came from running a notebook in a closed-off process, and "
        f"{counted(ways.count('none'), 'place was', 'places were')} empty.{sandbox}{seconds}</p>"
    )
