"""The sections of the class report about single submissions: flags, decisions, who is missing, similarity."""

from __future__ import annotations

from html import escape

from gearkit.text.phrases import listed
from graders.book.record import ItemMark
from graders.course.roster import by_name
from graders.report.figures.class_data import ReportData
from graders.report.pages.page import counted, number


def to_look_at(data: ReportData) -> str:
    """Return what the marker noticed about single submissions, in sentences."""
    flagged = [person for people in data.groups.values() for person in people if person.flags]
    reasons = {failure.learner: failure.reason for failure in data.marks.failed}
    if not flagged and not reasons:
        return ""
    rows = ""
    for learner in dict.fromkeys([*(marked.learner for marked in flagged), *reasons]):
        flags = [flag for marked in flagged if marked.learner == learner for flag in marked.flags]
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
        for person in people:
            for mark in person.items:
                if mark.automatic is None and mark.decided:
                    items.setdefault(f"{mark.item}: {mark.decided}", "")
                rows += _decided_row(data, person.learner, mark, mark.earned, _hints(mark)) if mark.hints else ""
                if mark.automatic is not None:
                    rows += _decided_row(data, person.learner, mark, mark.automatic, mark.decided)
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
        f"<li>{escape(group)}: {escape('; '.join(sorted(names, key=by_name)))}</li>" for group, names in sorted(groups.items())
    )
    return f'<h2 id="missing">Not handed in</h2><ul>{lines}</ul>'


def worth_a_conversation(data: ReportData) -> str:
    """Return the pairs of submissions that chance explains badly, worded with care."""
    if not data.similarity:
        return ""
    rows = ""
    for pair in data.similarity:
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
