"""Everything about one answer on one screen, for an appeal: the task, the answer, the right one, the mark and why."""

from __future__ import annotations

from gearkit.answers.judge import marking
from gearkit.text.markdown import in_plain_text
from gearkit.words.errors import UsageError
from graders.book.marks_in_gradebook import hint_words
from graders.book.record import NOTHING_READ, ItemMark, LearnerMarks
from graders.course.course import Course
from graders.mark.decide import decisions
from graders.report import gather
from graders.report.pages.page import SIGN_WORDS, marks_of, verdict_of
from graders.sheets.drawn import variants_for
from graders.sheets.sheets import Sheet


def trace(course: Course, sheet: Sheet, learner: str, item: str) -> str:
    """Return what the marker saw and decided about one answer, as text; it holds the right answer.

    Args:
        course: the course.
        sheet: the sheet, which must have been marked.
        learner: identity of the learner.
        item: item id.

    Raises:
        UsageError: the learner handed in nothing, or the sheet has no such item.
    """
    marks = gather.marks_of_sheet(course, sheet)
    marked = next((learner_marks for learner_marks in marks.learners if learner_marks.learner == learner), None)
    if marked is None:
        raise UsageError(f"{learner!r} handed in nothing for sheet {sheet.name}.")
    mark = next((item_mark for item_mark in marked.items if item_mark.item == item), None)
    if mark is None:
        raise UsageError(f"Sheet {sheet.name} has no item {item}. Its items: {', '.join(sheet.item_ids)}.")
    variant = variants_for(course, sheet, learner, marked.attempt, decisions.withdrawn(course, sheet.name), only=item)[0]
    labels = {part.name: part.label or part.name for part in variant.parts}
    lines = [f"{marked.name or learner} ({learner}), sheet {sheet.name}, item {item}: {marks_of(mark.score, mark.max)}", ""]
    lines += [in_plain_text(variant.prompt), "", *_answers(mark, marking.right_answer(variant), labels), "", *_why(mark)]
    lines += _decided(course, sheet, learner, item)
    return "\n".join([*lines, *_flags(marked)])


def _answers(mark: ItemMark, right: dict[str, str], labels: dict[str, str]) -> list[str]:
    lines = []
    for part, truth in right.items():
        wrote = mark.given.get(part, mark.given.get("answer", "") if len(right) == 1 else "")
        name = "" if len(right) == 1 else f"{labels[part]}: "
        verdict = f" ({SIGN_WORDS[mark.parts[part]]})" if part in mark.parts else ""
        read = f"read as {mark.read_as[part]!r}" if mark.read_as.get(part) else "could not be read"
        wrote_it = f"wrote {wrote!r}, {read}" if wrote else "wrote nothing"
        lines.append(f"  {name}{wrote_it}, right is {truth}{verdict}")
    return lines


def _why(mark: ItemMark) -> list[str]:
    names = [f"{code} ({name})" for code, (name, _) in gather.mistake_words(mark.mistakes).items()]
    how = {"read": "read from the notebook", "run": "got by running the notebook", "none": "no answer was found"}[mark.way]
    how = "nothing that was handed in could be read" if mark.comment.startswith(NOTHING_READ) else how
    lines = [f"Verdict: {SIGN_WORDS[verdict_of(mark.verdict, mark.earned, mark.max)]}; {how}."]
    lines += [f"Named mistake: {', '.join(names)}"] if names else []
    lines += [f"The learner reads: {in_plain_text(mark.comment)}"] if mark.comment else []
    lines += [f"{hint_words(mark)}."] if mark.hints else []
    lines += [f"Automatic mark: {mark.automatic:g}. {mark.decided}"] if mark.automatic is not None else []
    return lines + ([mark.decided] if mark.decided and mark.automatic is None else [])


def _decided(course: Course, sheet: Sheet, learner: str, item: str) -> list[str]:
    everything = {decision.number: decision for decision in decisions.read(course)}
    told = []
    for decision in everything.values():
        # Whose answer a decision that takes another back is about, that other one says.
        about = everything.get(decision.takes_back, decision)
        if (
            decision.sheet == sheet.name
            and about.item in ("", item)
            and about.learner in ("", learner)
            and not decision.changes
        ):
            what = f"{decision.kind} {decision.takes_back}" if decision.takes_back else str(decision.kind)
            told.append(
                f"Decision {decision.number}, {decision.at[:16].replace('T', ' ')}, {decision.by}: {what}. {decision.reason}"
            )
    return ["", *told] if told else []


def _flags(learner: LearnerMarks) -> list[str]:
    return ["", "About the submission:", *(f"  {flag}" for flag in learner.flags)] if learner.flags else []
