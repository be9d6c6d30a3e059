"""Commands for what people decide about marks: overrides, corrected items, extensions, hints, and the trail of all of them."""

from __future__ import annotations

import argparse
import datetime as dt
import getpass
from dataclasses import replace

from gearkit.cli.command import DONE, Command, add_json, print_json, take_minus
from gearkit.text.markdown import in_plain_text
from gearkit.words.errors import UsageError
from graders.cli.arguments import add_course, add_item, add_learner, add_sheet
from graders.course import course as courses
from graders.course import course_lock, lateness
from graders.course.course import Course
from graders.course.roster import read_class_list
from graders.hand_out.hand_out import sheet_of
from graders.mark import again, batch, submissions
from graders.mark.changes import Change
from graders.mark.decide import accepting, apply_decisions, deciding, decisions
from graders.mark.decide.decisions import Decision, DecisionKind
from graders.sheets.sheets import Sheet


def _where(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    add_sheet(parser)


def why(parser: argparse.ArgumentParser) -> None:
    """Give a command that decides something its reason and who decides."""
    parser.add_argument("--reason", required=True, help="why, in a sentence; the learner reads it too")
    parser.add_argument("--by", default="", metavar="NAME", help="who decides (default: the name you are logged in with)")


def who(options: argparse.Namespace) -> str:
    """Return the name of the person who decides.

    Args:
        options: what was typed, with --by.

    Raises:
        UsageError: nobody is named and nobody is logged in by name.
    """
    try:
        return options.by or getpass.getuser()
    except (KeyError, OSError):
        raise UsageError("Nobody is logged in by name; say who decides with --by NAME.") from None


def _decision(options: argparse.Namespace, kind: DecisionKind) -> Decision:
    return Decision(kind, options.sheet, who(options), options.reason)


def _keep(options: argparse.Namespace, *wanted: Decision) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    with course_lock.taken(course, f"deciding about sheet {sheet.name}"):
        marks, class_list = apply_decisions.before_now(course, sheet), read_class_list(course)
        named = [replace(decision, sheet=sheet.name) for decision in wanted]
        for decision in named:
            deciding.check(decision, sheet, class_list, marks)
        numbers = [decisions.keep(course, decision).number for decision in named]
        several = f"Decisions {numbers[0]} to {numbers[-1]}" if len(numbers) > 1 else f"Decision {numbers[0]}"
        print(f"{several} kept in {decisions.trail_file(course)}")
        if marks is None:
            print("The sheet has not been marked yet; this counts from the first marking on.")
        else:
            _tell(batch.decided_again(course, sheet).changed)
    return DONE


def _tell(changed: tuple[Change, ...]) -> None:
    print(
        f"Marks changed for {len(changed)} {'learner' if len(changed) == 1 else 'learners'}." if changed else "No mark changed."
    )
    for change in changed:
        print(f"  {change}")


def _override_arguments(parser: argparse.ArgumentParser) -> None:
    _where(parser)
    add_learner(parser)
    add_item(parser)
    parser.add_argument("mark", metavar="MARK", type=float, help="the mark that counts instead")
    why(parser)


def _override(options: argparse.Namespace) -> int:
    decision = _decision(options, DecisionKind.OVERRIDE)
    return _keep(options, replace(decision, learner=options.learner, item=options.item.upper(), score=options.mark))


def _correct_arguments(parser: argparse.ArgumentParser) -> None:
    _where(parser)
    add_item(parser)
    take_minus(parser)
    how = parser.add_mutually_exclusive_group(required=True)
    how.add_argument("--withdraw", action="store_true", help="the item counts for nobody any more")
    how.add_argument("--full-marks", action="store_true", help="everybody who handed in gets full marks for it")
    how.add_argument(
        "--accept",
        metavar="ANSWER",
        help="this answer is right as well: a number, or a formula in the letters of the task for everybody's own numbers; parts as in 'sun=3; planet=-2'",
    )
    why(parser)


def _correct(options: argparse.Namespace) -> int:
    kind = DecisionKind.WITHDRAW if options.withdraw else DecisionKind.FULL_MARKS
    if options.accept is not None:
        kind = DecisionKind.ACCEPT
    answer = _parts(options.accept) if options.accept is not None else {}
    decision = replace(_decision(options, kind), item=options.item.upper(), answer=answer)
    done = _keep(options, decision)
    if decision.kind is DecisionKind.ACCEPT:
        print(_whom_it_helps(options, decision), end="")
    return done


def _whom_it_helps(options: argparse.Namespace, decision: Decision) -> str:
    """Say how an accepted answer was read, and where it is the same for learners with other numbers."""
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    item = next(entry.item for entry in sheet.items if entry.item.id == decision.item)
    read = accepting.how_read(item, decision.answer, sheet.rules.comma)
    told = f"Accepted is: {read}\n" if read else ""
    if not accepting.is_one_number_for_all(item, decision.answer, sheet.rules.comma):
        return told
    return (
        f"{told}This answer is the same whatever numbers a learner has, while the right one changes with them: everybody who wrote it is "
        "helped, with other numbers too. Where a way of working is meant, take this back and accept a formula in the letters of "
        "the task, which is worked out with each learner's own numbers.\n"
    )


def _parts(text: str) -> dict[str, str]:
    """Read "sun=3; planet=-2" as parts, anything else as the one answer."""
    pieces = [piece.partition("=") for piece in text.split(";") if piece.strip()]
    if pieces and all(sign and name.strip().isidentifier() for name, sign, _ in pieces):
        return {name.strip(): value.strip() for name, _, value in pieces}
    return {"answer": text.strip()}


def _extend_arguments(parser: argparse.ArgumentParser) -> None:
    _where(parser)
    parser.add_argument("learner", metavar="LEARNER", nargs="?", default="", help="identity of the learner")
    parser.add_argument("--group", default="", metavar="GROUP", help="everybody of a group, in the place of one learner")
    parser.add_argument(
        "--until",
        required=True,
        metavar="TIME",
        help="such as '2026-10-07 17:00', in the course's time zone; a date alone means 23:59",
    )
    why(parser)


def _extend(options: argparse.Namespace) -> int:
    until = lateness.local_time(options.until, "Extension until")
    decision = replace(_decision(options, DecisionKind.EXTEND), until=f"{until:%Y-%m-%d %H:%M}")
    if bool(options.learner) == bool(options.group):
        raise UsageError("Name one learner, or a group with --group GROUP.")
    learners = [options.learner]
    if options.group:
        class_list = read_class_list(courses.open_course(options.course))
        learners = [learner.id for learner in class_list if learner.group == options.group]
        if not learners:
            groups = sorted({learner.group for learner in class_list if learner.group})
            raise UsageError(f"There is no group {options.group!r}. Groups: {', '.join(groups) or 'none'}.")
    done = _keep(options, *(replace(decision, learner=learner) for learner in learners))
    if past := lateness.past(until, courses.open_course(options.course).zone):
        print(past)
    return done


def _hint_arguments(parser: argparse.ArgumentParser) -> None:
    _where(parser)
    add_learner(parser)
    add_item(parser)
    parser.add_argument("--by", default="", metavar="NAME", help="who gives it (default: the name you are logged in with)")
    parser.add_argument(
        "--at",
        default="",
        metavar="TIME",
        help="when it was given, in the course's time zone, where it is written down later (default: now)",
    )


def _hint(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    options.reason = "asked for"
    item = options.item.upper()
    asked = next((entry.item for entry in sheet.items if entry.item.id == item), None)
    given = deciding.hints_given(decisions.standing(course, sheet.name), options.learner, item)
    if asked is None or given < len(asked.hints):
        now = dt.datetime.now(course.zone)
        at = lateness.local_time(options.at, "--at").replace(tzinfo=course.zone) if options.at else now
        if at > now:
            raise UsageError(f"--at {options.at!r}: a hint cannot have been given later than now, {now:%Y-%m-%d %H:%M}.")
        decision = replace(_decision(options, DecisionKind.HINT), learner=options.learner, item=item)
        decision = replace(decision, at=at.isoformat(timespec="seconds"))
        _keep(options, replace(decision, reason=f"hint {given + 1} was asked for"))
        if deciding.given_after(decision, _handed_in(course, sheet, options.learner)):
            print("The work that is there was handed in before; this hint costs nothing unless they hand in again.")
        shown = given + 1
    else:
        print(
            f"{options.learner} has been given every hint to {item} already ({given} in all); the last one again, at no cost."
        )
        shown = given
    if asked is not None:
        print(
            f"\nHint {shown} of {len(asked.hints)} to {item}, for {options.learner}: say it, or send it.\n\n"
            f"{in_plain_text(asked.hints[shown - 1])}"
        )
    return DONE


def _handed_in(course: Course, sheet: Sheet, learner: str) -> str:
    """When a learner handed in, as the mark sheet has it; "" where that is not known."""
    when, _ = submissions.handed_in(course.submitted_folder(learner, sheet.name))
    return when.isoformat() if when else ""


def _take_back_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    parser.add_argument("number", metavar="NUMBER", type=int, help="number of the decision, from: graders trail COURSE")
    why(parser)


def _take_back(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    known = {decision.number: decision for decision in decisions.read(course)}
    decision = known.get(options.number)
    if decision is None or decision.kind in (DecisionKind.TAKE_BACK, DecisionKind.REMARKED, DecisionKind.WITHDRAW_SHEET):
        raise UsageError(f"There is no decision {options.number} to take back. See them with: graders trail {options.course}")
    if decision not in decisions.standing(course, decision.sheet):
        raise UsageError(f"Decision {options.number} has been taken back already.")
    options.sheet = decision.sheet
    return _keep(options, replace(_decision(options, DecisionKind.TAKE_BACK), takes_back=options.number))


def _trail_arguments(parser: argparse.ArgumentParser) -> None:
    add_course(parser)
    parser.add_argument("sheet", metavar="SHEET", nargs="?", default="", help="name of a sheet; all if left out")
    add_json(parser)


def _trail(options: argparse.Namespace) -> int:
    course: Course = courses.open_course(options.course)
    kept = decisions.read(course)
    shown_ones = [decision for decision in kept if options.sheet in ("", decision.sheet)]
    if options.sheet and not shown_ones:
        sheet_of(course, options.sheet)
    if options.json:
        print_json(
            [
                {
                    "number": decision.number,
                    "at": decision.at,
                    "by": decision.by,
                    "kind": str(decision.kind),
                    "sheet": decision.sheet,
                    "item": decision.item,
                    "learner": decision.learner,
                    "score": decision.score,
                    "answer": dict(decision.answer),
                    "until": decision.until,
                    "takes_back": decision.takes_back,
                    "reason": decision.reason,
                    "changes": list(decision.changes),
                }
                for decision in shown_ones
            ]
        )
        return DONE
    if not shown_ones:
        print("Nothing was decided.")
    for decision in shown_ones:
        print(_line(decision))
    return DONE


def _line(decision: Decision) -> str:
    what = [str(decision.kind), decision.sheet, decision.item, decision.learner]
    what += [f"mark {decision.score:g}"] if decision.score is not None else []
    what += [f"until {decision.until}"] if decision.until else []
    what += [f"number {decision.takes_back}"] if decision.takes_back else []
    what += ["; ".join(f"{part}={text}" for part, text in decision.answer.items())] if decision.answer else []
    lines = [f"{decision.number:>4}  {decision.at[:16].replace('T', ' ')}  {' '.join(word for word in what if word)}"]
    lines.append(f"      {decision.by}: {decision.reason}")
    return "\n".join([*lines, *(f"      {change}" for change in decision.changes)])


def _again_arguments(parser: argparse.ArgumentParser) -> None:
    _where(parser)
    parser.add_argument(
        "--learner",
        action="append",
        default=[],
        metavar="LEARNER",
        help="only this learner, whose cells are run anew; may be repeated",
    )
    parser.add_argument("--item", action="append", default=[], metavar="ITEM", help="only this item; may be repeated")


def _again(options: argparse.Namespace) -> int:
    course = courses.open_course(options.course)
    sheet = sheet_of(course, options.sheet)
    items = [item.upper() for item in options.item]
    _tell(again.mark_again(course, sheet, learners=options.learner, items=items).changed)
    return DONE


COMMANDS = [
    Command(
        "mark-again",
        "mark some learners or some items again and tell what changed",
        "graders mark-again COURSE week3 --item L03-05",
        _again_arguments,
        _again,
    ),
    Command(
        "override",
        "give another mark for one answer, with a reason that is kept",
        "graders override COURSE week3 fd07 L03-05 1.5 --reason 'right idea, seen at the board'",
        _override_arguments,
        _override,
    ),
    Command(
        "correct",
        "correct an item for everybody: withdraw it, give full marks, or accept an answer",
        "graders correct COURSE week3 L03-05 --withdraw --reason 'misprint in the task'",
        _correct_arguments,
        _correct,
    ),
    Command(
        "extend",
        "give one learner, or a group, more time",
        "graders extend COURSE week3 fd07 --until '2026-10-07 17:00' --reason 'ill, note seen'",
        _extend_arguments,
        _extend,
    ),
    Command(
        "hint",
        "give a learner the next hint to an item, and keep that it was given and costs marks",
        "graders hint COURSE week3 fd07 L03-05",
        _hint_arguments,
        _hint,
    ),
    Command(
        "take-back",
        "take a decision back; both stay in the trail",
        "graders take-back COURSE 3 --reason 'wrong learner'",
        _take_back_arguments,
        _take_back,
    ),
    Command("trail", "list who decided what about marks, when and why", "graders trail COURSE", _trail_arguments, _trail),
]
