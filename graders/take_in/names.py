"""Finds on the class list whose a path is: by identity, or else by full name, accents and order of names aside."""

from __future__ import annotations

import re
import unicodedata
from pathlib import PurePosixPath

from graders.course.roster import Roster

# What a course system writes behind the learner's name, which may be empty, in a name that it makes; all after it is the
# learner's own.
SYSTEM_MADE = re.compile(r"(?:^|_)(?:\d+_)?assignsubmission_")
# No file system has longer names; in a zip they may be any length, and a learner writes them.
LONGEST_PART = 255


class Names:
    """The class list, asked for the owners of paths.

    Args:
        class_list: the class.
    """

    def __init__(self, class_list: Roster) -> None:
        self._identities = {learner.id.casefold(): learner.id for learner in class_list}
        self._people = [(learner, _words(learner.name)) for learner in class_list]

    def owners(self, path: str) -> tuple[list[str], list[str]]:
        """Return the learners that a path may belong to (one where it is certain), and others whom it names further in.

        The course system names the outermost folder, or the beginning of a file's name; what stands further in was
        named by the learner, who can write there what they like. Where the course system names somebody who is not on the
        class list, or nobody, the file is nobody's.

        Args:
            path: the path, with "/" between its parts.
        """
        place = PurePosixPath(path)
        parts = [*place.parts[:-1], place.stem]
        for part in parts:
            part = part[:LONGEST_PART]
            made = SYSTEM_MADE.search(part)
            learners = self._outermost(part[: made.start()] if made else part)
            if made and not learners:
                return [], []
            if learners:
                named = set().union(*(self._named(part[:LONGEST_PART]) for part in parts))
                return learners, sorted(named - set(learners)) if len(learners) == 1 else []
        learners = sorted(self._people_in(path))
        return learners, []

    def _outermost(self, part: str) -> list[str]:
        """Whom a folder or file names first, from its beginning on to the first underscore behind a name."""
        if part.casefold() in self._identities:
            return [self._identities[part.casefold()]]
        ends = [match.start() for match in re.finditer("_", part)]
        return next((sorted(named) for end in (*ends, len(part)) if (named := self._named(part[:end]))), [])

    def _named(self, text: str) -> set[str]:
        pieces = {text.casefold(), *(piece.casefold() for piece in re.split(r"[^\w.@-]+|_", text))}
        return {self._identities[piece] for piece in pieces & self._identities.keys()} or self._people_in(text)

    def _people_in(self, text: str) -> set[str]:
        words = _words(text)
        return {learner.id for learner, name in self._people if len(name) > 1 and name <= words}


def _words(text: str) -> frozenset[str]:
    plain = unicodedata.normalize("NFKD", text)
    bare = "".join(letter for letter in plain if not unicodedata.combining(letter)).casefold()
    return frozenset(re.findall(r"[^\W\d_]+", bare))
