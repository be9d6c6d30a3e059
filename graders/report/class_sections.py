"""The sections of the class report as HTML; every figure comes from `class_data`."""

from __future__ import annotations

import re
from fractions import Fraction
from html import escape

from gearkit.words.markdown import inline
from graders.mark.record import ItemMark, LearnerMarks
from graders.report import charts
from graders.report.class_data import ReportData, TaughtAgain, taught_again
from graders.report.item_words import ItemWords
from graders.report.page import SIGN_WORDS, counted, listed, marks_of, number, sign, verdict_of
from graders.report.statistics import ItemFigures, reliability

_MOST_TAUGHT = 6


def in_short(data: ReportData) -> str:
    """Return the first paragraph: who handed in, where the middle is, what to do next."""
    people, listed_people = len(data.marks.learners), len(data.marks.learners) + len(data.marks.absent)
    if not people:
        return f'<p class="lead">Nobody of {counted(listed_people, "learner")} has handed in yet.</p>'
    finals = sorted(one.final for one in data.marks.learners)
    middle = charts.median(finals)
    low, high = _quarter(finals, 1), _quarter(finals, 3)
    half = sum(1 for mark in finals if mark >= data.full / 2)
    lead = (
        f"{people} of {counted(listed_people, 'learner')} handed in. The middle mark is <strong>{number(middle)} of "
        f"{number(data.full)}</strong>; the middle half of the class lies between {number(low)} and {number(high)}, "
        f"and {counted(half, 'learner has', 'learners have')} at least half of the marks."
    )
    mistakes = taught_again(data)
    if mistakes:
        first = mistakes[0]
        name = escape(_mistake_name(data, first.code))
        lead += (
            f" The commonest slip is <strong>{name}</strong>: {counted(first.learners, 'learner')}, "
            f"mostly in {escape(first.items[0][0])}."
        )
    hardest = min((f for f in data.figures if f.facility is not None), key=lambda f: f.facility or 0, default=None)
    if hardest is not None:
        lead += f" The hardest item was {escape(hardest.item)} ({_percent(hardest.facility)} of its marks were earned)."
    return f'<p class="lead">{lead}</p>{_contents(data)}'


def _contents(data: ReportData) -> str:
    places = [("again", "Teach again"), ("items", "Items"), ("learners", "Learners")]
    flagged = any(one.flags for one in data.marks.learners) or data.marks.failed
    places += [("look", "Submissions to look at")] if flagged else []
    places += [("missing", "Not handed in")] if data.marks.absent else []
    places += [("alike", "Worth a conversation")] if data.likeness else []
    places += [("predictions", "Predictions")] if data.panels else []
    places += [("progress", "Progress")] if data.earlier else []
    places += [("trust", "How far to trust this")]
    return (
        '<nav class="contents" aria-label="Contents">'
        + "".join(f'<a href="#{key}">{words}</a>' for key, words in places)
        + "</nav>"
    )


def _quarter(ordered: list[float], quarter: int) -> float:
    return ordered[round((len(ordered) - 1) * quarter / 4)]


def _percent(share: Fraction | float | None) -> str:
    return "–" if share is None else f"{round(100 * float(share))}%"


def _mistake_name(data: ReportData, code: str) -> str:
    return data.mistakes.get(code, (code, ""))[0]


def marks_chart(data: ReportData) -> str:
    """Return the marks of every learner as a strip of dots for each group."""
    if not data.marks.learners:
        return ""
    groups = {
        group: [(one.name or one.learner, one.final) for one in people] for group, people in data.groups.items()
    }
    chart = charts.dots(groups, data.full, "Marks of every learner, by group")
    return f'<div class="scroll" tabindex="0" role="region" aria-label="Chart of marks">{chart}</div>'


def teach_again(data: ReportData) -> str:
    """Return the common mistakes, each with its sentence, its items and who made it."""
    mistakes = taught_again(data)
    if not mistakes:
        return '<h2 id="again">What to teach again</h2><p>No named mistake was recognised on this sheet.</p>'
    entries = "".join(_taught(data, one) for one in mistakes[:_MOST_TAUGHT])
    rest = mistakes[_MOST_TAUGHT:]
    more = ""
    if rest:
        names = [f"{escape(_mistake_name(data, one.code))} ({one.learners})" for one in rest]
        more = f'<p class="soft">Seen less often: {listed(names)}.</p>'
    return (
        '<h2 id="again">What to teach again</h2><p>Mistakes that were recognised in the answers, the commonest first. '
        "The bars show which share of the upper and of the lower group made it: a mistake of both groups is one for the "
        f"whole class, a mistake of the lower group only is one for a small table.</p>{entries}{more}"
    )


def _taught(data: ReportData, one: TaughtAgain) -> str:
    name, sentence = data.mistakes.get(one.code, (one.code, ""))
    items = listed([f"{escape(item)} ({count})" for item, count in one.items])
    lessons = sorted({data.words.get(item, ItemWords(item)).lesson for item, _ in one.items} - {0})
    taught = listed([str(lesson) for lesson in lessons])
    where = f" Taught in {'lesson' if len(lessons) == 1 else 'lessons'} {taught}." if lessons else ""
    bars = charts.pair(
        float(one.upper), float(one.lower), f"upper group {_percent(one.upper)}, lower group {_percent(one.lower)}"
    )
    return (
        f'<section class="taught"><div><h3>{escape(name[:1].upper() + name[1:])}: {counted(one.learners, "learner")}</h3>'
        f'<p>{inline(sentence)}</p><p class="small">Seen in {items}.{where}</p></div>{bars}</section>'
    )


def item_table(data: ReportData) -> str:
    """Return one line for each item: how hard it was, how well it told learners apart, what went wrong."""
    rows = "".join(_item_row(data, figure) for figure in data.figures)
    share = {"1/3": "third", "1/2": "half"}.get(str(_compared(data)), "27 percent")
    return (
        '<h2 id="items">Items</h2><p>Facility is the share of an item’s marks that was earned. Upper less lower is the '
        f"facility among the best {share} of the class less that among the weakest. Item against rest is the "
        "correlation of an item’s marks with the marks on all the others.</p>"
        '<div class="scroll" tabindex="0" role="region" aria-label="Item table"><table><thead><tr>'
        '<th scope="col" class="task">Item</th><th scope="col" class="n">Marks</th><th scope="col">Facility</th>'
        '<th scope="col" class="n">Upper<br>less lower</th><th scope="col" class="n">Item<br>against rest</th>'
        '<th scope="col">Answers</th><th scope="col">Commonest mistake</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _compared(data: ReportData) -> Fraction:
    from graders.report.score_table import compared_share

    return compared_share(len(data.marks.learners))


def _item_row(data: ReportData, figure: ItemFigures) -> str:
    about = data.words.get(figure.item, ItemWords(figure.item))
    task = next((m.prompt for one in data.marks.learners for m in one.items if m.item == figure.item), "")
    kinds = [
        verdict_of(m.verdict, m.earned, m.max) for one in data.marks.learners for m in one.items if m.item == figure.item
    ]
    answers = " ".join(
        f'<span class="count">{kinds.count(kind)} {sign(kind)}</span>' for kind in SIGN_WORDS if kind in kinds
    )
    common = next((share for share in data.shares if share.item == figure.item), None)
    mistake = f"{escape(_mistake_name(data, common.mistake))} ({common.learners})" if common else "–"
    remarks = "".join(f'<br><span class="small">{escape(remark)}</span>' for remark in figure.remarks)
    bar = charts.bar(float(figure.facility or 0), f"facility {_percent(figure.facility)}")
    return (
        f'<tr><th scope="row">{escape(figure.item)}<br><span class="small">{escape(about.kind)}</span>'
        f'<div class="small">{inline(_shortened(task))}</div></th><td class="n">{number(float(figure.full_marks))}'
        f"</td><td class=\"share\">{bar} {_percent(figure.facility)}</td><td class=\"n\">{_signed(figure.discrimination)}</td>"
        f'<td class="n">{_signed(figure.item_rest)}</td><td>{answers}</td><td>{mistake}{remarks}</td></tr>'
    )


def _signed(value: Fraction | float | None) -> str:
    return "–" if value is None else f"{float(value):+.2f}".replace("-", "−")


def _shortened(task: str, length: int = 130) -> str:
    line = re.sub(r"\s+", " ", task.split("\n\n")[0])
    if len(line) <= length:
        return line
    cut = line[:length].rsplit(" ", 1)[0]
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
    rows = "".join(_learner_row(one, items, feedback) for one in people)
    return (
        f'<div class="scroll" tabindex="0" role="region" aria-label="Marks of {escape(group, quote=True)}"><table class="grid">'
        f"<caption>{escape(group)}: {counted(len(people), 'submission')}</caption><thead><tr>"
        f'<th scope="col">Learner</th>{head}<th scope="col" class="n">Marks</th><th scope="col">Share</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def _learner_row(one: LearnerMarks, items: tuple[str, ...], feedback: str) -> str:
    by_item = {mark.item: mark for mark in one.items}
    cells = ""
    for item in items:
        mark = by_item.get(item)
        if mark is None:
            cells += '<td class="c">–</td>'
            continue
        kind = verdict_of(mark.verdict, mark.earned, mark.max)
        cells += f'<td class="c" title="{escape(item)}: {marks_of(mark.score, mark.max)}">{sign(kind)}</td>'
    name = escape(one.name or one.learner)
    if feedback:
        name = f'<a href="{escape(feedback.format(one.learner), quote=True)}">{name}</a>'
    flag = ' <span role="img" aria-label="has a flag">⚑</span>' if one.flags else ""
    late = f'<br><span class="small">−{number(one.penalty)} late</span>' if one.penalty else ""
    hints = sum(mark.hint_cost for mark in one.items)
    late += f'<br><span class="small">−{number(hints)} hints, counted</span>' if hints else ""
    share = one.final / one.max if one.max else 0.0
    return (
        f'<tr><th scope="row">{name}{flag} <span class="small">{escape(one.learner)}</span></th>{cells}'
        f'<td class="n">{number(one.final)}{late}</td>'
        f'<td class="share">{charts.bar(share, _percent(share))} {_percent(share)}</td></tr>'
    )


def to_look_at(data: ReportData) -> str:
    """Return what the marker noticed about single submissions, in sentences."""
    flagged = [one for people in data.groups.values() for one in people if one.flags]
    reasons = {failure.learner: failure.reason for failure in data.marks.failed}
    if not flagged and not reasons:
        return ""
    rows = ""
    for learner in dict.fromkeys([*(one.learner for one in flagged), *reasons]):
        flags = [flag for one in flagged if one.learner == learner for flag in one.flags]
        lines = list(dict.fromkeys([*([reasons[learner]] if learner in reasons else []), *flags]))
        rows += (
            f'<tr><th scope="row">{escape(data.name_of(learner))} <span class="small">{escape(learner)}</span></th>'
            f"<td>{'<br>'.join(escape(line) for line in lines)}</td></tr>"
        )
    return (
        '<h2 id="look">Submissions to look at</h2><p>Nothing that was handed in was changed, nobody else’s marks were '
        "touched, and everything that could be read was marked. A sentence here is what was found, not what was meant: "
        'most of it happens by accident.</p><div class="scroll" tabindex="0" role="region" aria-label="Submissions to look at">'
        f'<table><thead><tr><th scope="col">Learner</th><th scope="col">What was found</th></tr></thead>'
        f"<tbody>{rows}</tbody></table></div>"
    )


def decided(data: ReportData) -> str:
    """Return what people decided about marks: corrected items once, marks given by hand for each learner."""
    items: dict[str, str] = {}
    rows = ""
    for people in data.groups.values():
        for one in people:
            for mark in one.items:
                if mark.automatic is None and mark.decided:
                    items.setdefault(f"{mark.item}: {mark.decided}", "")
                rows += _decided_row(data, one.learner, mark, mark.earned, _hints(mark)) if mark.hints else ""
                if mark.automatic is not None:
                    rows += _decided_row(data, one.learner, mark, mark.automatic, mark.decided)
    if not items and not rows:
        return ""
    told = "".join(f"<li>{escape(words)}</li>" for words in items)
    table = (
        '<div class="scroll" tabindex="0" role="region" aria-label="Hints, and marks given by hand"><table><thead><tr>'
        '<th scope="col">Learner</th><th scope="col">Item</th><th scope="col" class="n">Marks</th>'
        f'<th scope="col">Who and why</th></tr></thead><tbody>{rows}</tbody></table></div>'
    )
    return f'<h2 id="decided">Decided by people</h2>{f"<ul>{told}</ul>" if told else ""}{table if rows else ""}'


def _decided_row(data: ReportData, learner: str, mark: ItemMark, before: float, why: str) -> str:
    return (
        f'<tr><th scope="row">{escape(data.name_of(learner))} <span class="small">{escape(learner)}</span></th>'
        f'<td>{escape(mark.item)}</td><td class="n">{number(before)} → {number(mark.score)}</td><td>{escape(why)}</td></tr>'
    )


def _hints(mark: ItemMark) -> str:
    return f"{counted(mark.hints, 'hint')} given" + ("" if mark.hint_cost else ", nothing taken off")


def not_handed_in(data: ReportData) -> str:
    """Return who has not handed in, by group."""
    if not data.marks.absent:
        return ""
    groups: dict[str, list[str]] = {}
    for identity in data.marks.absent:
        known = data.roster.find(identity)
        groups.setdefault(known.group if known and known.group else "no group", []).append(data.name_of(identity))
    lines = "".join(
        f"<li>{escape(group)}: {escape('; '.join(sorted(names)))}</li>" for group, names in sorted(groups.items())
    )
    return f'<h2 id="missing">Not handed in</h2><ul>{lines}</ul>'


def worth_a_conversation(data: ReportData) -> str:
    """Return the pairs of submissions that chance explains badly, worded with care."""
    if not data.likeness:
        return ""
    rows = ""
    for pair in data.likeness:
        first, second = escape(data.name_of(pair.learner)), escape(data.name_of(pair.other))
        if pair.kind == "same unusual text":
            told = f"{first} and {second} gave the same unusual wrong answer"
        else:
            told = f"answers of {first} are wrong for their own numbers and right for those of {second}"
        rows += (
            f"<li>In {escape(listed(pair.items))}, {told}. In a class of this size chance alone would bring "
            f"{_rare(pair.expected_by_chance)}.</li>"
        )
    return (
        '<h2 id="alike">Worth a conversation</h2><div class="note-box warn"><p>For you only, and not a finding: two people '
        "who worked side by side, a sheet that was passed on, or chance can all look like this. Ask how an answer was "
        f"found before you think anything else, and take no marks off because of it.</p></div><ul>{rows}</ul>"
    )


def _rare(expected: float) -> str:
    if expected < 0.001:
        return "such a pair to fewer than one sheet in a thousand"
    if expected < 1:
        return f"such a pair to about one sheet in {round(1 / expected)}, even if every answer of everybody were wrong"
    return f"about {expected:.1f} such pairs to every sheet"


def progress(data: ReportData) -> str:
    """Return the share of marks by group over the sheets so far, or nothing for a first sheet."""
    if not data.earlier:
        return ""
    sheets = [*data.earlier, (data.sheet, data.marks)]
    groups = sorted({one.group or "no group" for _, marks in sheets for one in marks.learners})
    series: dict[str, list[float | None]] = {}
    for group in groups:
        shares: list[float | None] = []
        for _, marks in sheets:
            people = [one for one in marks.learners if (one.group or "no group") == group and one.max]
            shares.append(sum(one.final / one.max for one in people) / len(people) if people else None)
        series[group] = shares
    chart = charts.lines(series, [title for title, _ in sheets], "Mean share of marks by group over the sheets")
    return f'<h2 id="progress">Progress over the sheets</h2><div class="scroll" tabindex="0" role="region" aria-label="Chart of progress">{chart}</div>'


def trust(data: ReportData) -> str:
    """Return the reliability with its band, its warning and its sources, and how the marks came about."""
    found = reliability(data.table, seed=data.marks.sheet)
    if found.alpha is None:
        told = "<p>A reliability cannot be given: it needs two items or more, and learners whose marks differ.</p>"
    else:
        band = f", between {found.low:.2f} and {found.high:.2f}" if found.low is not None and found.high is not None else ""
        told = (
            f"<p>Reliability ({found.kind}) is <strong>{float(found.alpha):.2f}</strong>{band} when classes like this are "
            f"drawn again nine times in ten ({counted(found.learners, 'learner')}, {counted(found.items, 'item')}). "
            f"The standard error of a mark is {found.standard_error:.1f}: two learners who differ by less than about "
            f"{2 * (found.standard_error or 0):.0f} marks may well know the same."
        )
        if found.doubled is not None:
            told += f" A sheet twice as long, of items of the same kind, would reach about {float(found.doubled):.2f}."
        told += " From 0.70 on a sheet can decide something by itself; below that, use it to teach.</p>"
    warning = f'<div class="note-box warn"><p>{escape(found.warning)}</p></div>' if found.warning else ""
    ways = [mark.way for one in data.marks.learners for mark in one.items]
    return f'<h2 id="trust">How far to trust these figures</h2>{warning}{told}{_came_about(data, ways)}'


def _came_about(data: ReportData, ways: list[str]) -> str:
    seconds = f" Marking took {data.marks.seconds:.1f} seconds." if data.marks.seconds else ""
    sandbox = f" Protection while learner code ran: {escape(data.marks.sandbox)}." if data.marks.sandbox else ""
    return (
        f"<p>{counted(ways.count('read'), 'answer was', 'answers were')} read from the notebooks without running anything, "
        f"{counted(ways.count('run'), 'answer', 'answers')} came from running a notebook in a closed-off process, and "
        f"{counted(ways.count('none'), 'place was', 'places were')} empty.{sandbox}{seconds}</p>"
        '<p class="small">Kuder–Richardson formula 20 (Psychometrika 2, 1937, 151–160) where every item is marked all or '
        "nothing and counts the same, Cronbach’s alpha (Psychometrika 16, 1951, 297–334) otherwise: "
        "k/(k − 1) · (1 − sum of item variances / variance of totals), variances with divisor n. Standard error: "
        "standard deviation of the totals times the root of 1 − alpha. Lengthening after Spearman and Brown (1910). The "
        "papers were cited from secondary pages and from memory. Marks here are those before hints or lateness took any off.</p>"
    )
