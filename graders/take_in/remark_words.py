"""What a learner reads of the remarks on what was handed in, in the learner's language.

Remarks are kept in English in the mark sheet, for instructors and for files that go elsewhere. Here each is known again by
its form, and its form is said; a test holds the forms to all sentences that reading and marking make.
"""

from __future__ import annotations

import re
from functools import lru_cache

from gearkit.words.say import later, say

_FORMS = (
    # What was looked for and found in the folder.
    later("{count} hidden file or leftover of a program was not looked at, such as {name}."),
    later("{count} hidden files or leftovers of programs were not looked at, such as {name}."),
    later("There is no usable {expected}; the answers were taken from {name}."),
    later("Left aside: {names}."),
    later("Left aside: {names} and {count} more files."),
    later("The file {name} is empty."),
    later("The file {name} cannot be read as a notebook: it is damaged or something else."),
    later("The folder holds no notebook, only {names}."),
    later("The folder holds no notebook."),
    later("The folder is a link to another place; it was not followed."),
    later("{name} is a file; a folder with the notebook in it was expected."),
    later("What was handed in is larger than {size} MB; only the beginning was read."),
    later("What was handed in cannot be read ({fault})."),
    later("The folder {name} cannot be opened ({fault})."),
    later("{name} is a link to another place and was not followed."),
    later("The folder {name} lies too deep and was not looked into."),
    later("The folder holds {count} files; only the first {most} were looked at."),
    later("{name} cannot be opened ({fault})."),
    later("{name} is not an ordinary file and was not read."),
    later("{name} is larger than {size} MB; only the beginning was read."),
    later("The archive {name} has more than {most} entries and was not opened."),
    later("The archive {name} cannot be opened."),
    later("The archive {name} holds {count} files; only the first {most} were looked at."),
    later("{name} in {archive} cannot be unpacked ({fault})."),
    later("{count} more entries of {archive} cannot be unpacked."),
    later("The record of lessons ({name}) {fault}; no predictions were taken from it."),
    # What the file is like.
    later("The file {fault}; {count} cells that are still whole were taken from it."),
    later("The file is no notebook but plain text; its lines were taken as one cell."),
    later("The file is saved as {encoding} with a byte-order mark."),
    later("The file is saved as {encoding}."),
    later("The file is not saved as UTF-8; it was read as Windows-1252."),
    later("{count} cells of the file are damaged, too long or too many and were left out."),
    later("The notebook was saved for {language} and was taken as Python."),
    later("The notebook was saved by a program that dropped its cells' cards; answers were found by their items."),
    later("The cells of {items} are not in the notebook any more."),
    # What was read and run.
    later("Some cells need to be run, and learner code is not run here: only plain answers were taken."),
    later(
        "Code cells that reach for parts of the kit that hold answers: {cells}. They are kept from code while it is marked; "
        "please look at it."
    ),
    later("The sheet's own cell was changed; it was taken as it was handed out."),
    later("The sheet's own cell was changed; it was taken as it was handed out, and what was added to it as another cell."),
    later("{items}: the answer stands in a cell that is no longer a code cell; it was taken."),
    later("{items}: answered more than once; the last answer counts."),
    later("Answers to items that this sheet does not have were left aside: {items}."),
    later("Stopped because they ran too long: code cells {cells}."),
    later(
        "The run was stopped in code cell {cell} of {count}: {reason}. Answers before it were kept; plain answers after it were "
        "read from their cells."
    ),
    later(
        "{items}: the run told nothing of these answers, which stand plainly in its cells; they were read from there. Other "
        "code in the notebook kept the run from telling them; please look at it."
    ),
    later(
        "Code cells that call a lesson or its exercises, which are not there while a sheet is marked: {cells}. It cost nothing "
        "else."
    ),
    later("{items}: not a proper call of answer(...); the text in the cell was taken as the answer."),
    later("The notebook {reason}, so it was run in a full Jupyter kernel."),
    later("The notebook {reason}; that needs a full Jupyter kernel, and it was run without one."),
    later("{items}: the answer could not be marked ({fault}); please look at it yourself."),
    # When it came, and how often.
    later("The time of handing in (timestamp.txt) cannot be read."),
    later("The time of handing in (timestamp.txt) is in the year {year} and was not believed."),
    later("Due time extended to {time}: {reason}"),
    later("Handing in counts once; a later hand-in was put aside and not marked."),
    later("Handing in counts once; {count} later hand-ins were put aside and not marked."),
    later("Handing in counts {times} times; a later hand-in was put aside and not marked."),
    later("Handing in counts {times} times; {count} later hand-ins were put aside and not marked."),
    later("And {count} more remarks about the files."),
    # How it was taken in.
    later("{learner} handed in {count} files, more than {most}; only so many were taken, those first that may be work."),
    later(
        "{stamp} came with the work and says {said}; the files were last changed at {time} UTC. Anybody can write such a file, so "
        "the later time counts."
    ),
    later(
        "{path} names {learner} and came in a zip under nobody's name; it was left out, since what came under the own name counts. "
        "Ask who packed it."
    ),
    later(
        "{path} came in {archive}, which stands under nobody's name: whoever packed it wrote the names and times in it. The zip's "
        "own time counts where it is later. Ask who packed it."
    ),
    later("And {count} more such remarks."),
)
# What stands in a form and is words itself.
_INSIDE = (
    later("it ran longer than allowed"),
    later("it sent more than allowed"),
    later("it used more memory than allowed"),
    later(
        "its process was killed, and again when it was run a second time (by its own code, or by this machine, as when it is "
        "short of memory)"
    ),
    later("its code ended the run"),
    later("the sandbox could not be started"),
    later("learner code is not run on this machine, which has no sandbox for it"),
    later("is damaged"),
    later("is no ordinary file"),
    later("holds far more than a notebook"),
    later("starts programs"),
    later("starts other processes"),
    later("speaks to its kernel"),
    later("uses the descriptors of its streams"),
    later("no time that can be read"),
    later("damaged"),
    later("locked with a password"),
    later("packed in a rare way; ask for an ordinary zip"),
    # What the system says where something cannot be opened.
    later("Permission denied"),
    later("No such file or directory"),
    later("Is a directory"),
    later("Not a directory"),
    later("File name too long"),
    later("Too many levels of symbolic links"),
    later("Input/output error"),
)
_ENDS = (
    later("{names} and {count} more"),
    later("{names} and more"),
    later("{name} (it cannot be read as a notebook)"),
    later("is larger than {size} MB"),
    later("{name} (and {count} more like it)"),
    later("cannot be opened ({fault})"),
)


def is_known(remark: str) -> bool:
    """Return whether a remark has one of the forms.

    Args:
        remark: in English.
    """
    return _known(remark, _FORMS) is not None


def in_own_words(remark: str) -> str:
    """Return a remark in the reader's language; one of another form as it is.

    Args:
        remark: in English, as the mark sheet has it.
    """
    known = _known(remark, _FORMS)
    return say(known[0], **{name: _said(value) for name, value in known[1].items()}) if known else say(remark)


def _said(value: str) -> str:
    if value in _INSIDE:
        return say(value)
    known = _known(value, _ENDS)
    return say(known[0], **{name: _said(inside) for name, inside in known[1].items()}) if known else value


def _known(text: str, forms: tuple[str, ...]) -> tuple[str, dict[str, str]] | None:
    """The form of a text and its changing parts, None where it has none of these forms."""
    for form, pattern in zip(forms, _patterns(forms), strict=True):
        if match := pattern.fullmatch(text):
            return form, match.groupdict()
    return None


@lru_cache(maxsize=2)
def _patterns(forms: tuple[str, ...]) -> tuple[re.Pattern[str], ...]:
    return tuple(re.compile(re.sub(r"\\\{(\w+)\\\}", r"(?P<\1>.+?)", re.escape(form)), re.DOTALL) for form in forms)
