"""Names that say nothing, for reports and files that leave the class.

A pseudonym follows from the course's secret and the identity, so that the same learner has the same one in every file
of the course, and nobody without the secret can find out whose it is.
"""

from __future__ import annotations

import base64
import hashlib
import hmac
from collections.abc import Iterable
from dataclasses import replace

from graders.book.record import Failure, ItemMark, LearnerMarks, MarkSheet
from graders.course.course import Course
from graders.course.roster import Learner, Roster

_LENGTH = 6
# Without letters and digits that are easily taken for one another.
_ALPHABET = str.maketrans("ABCDEFGHIJKLMNOPQRSTUVWXYZ234567", "ABCDEFGHJKMNPQRSTVWXYZ23456789UL")


class Pseudonyms:
    """The pseudonyms of a course.

    Args:
        secret: the course's secret.
        identities: everybody who may occur; a pseudonym grows where two would be the same.
    """

    def __init__(self, secret: bytes, identities: Iterable[str]) -> None:
        self._secret = secret
        self._names: dict[str, str] = {}
        taken: set[str] = set()
        for identity in sorted(set(identities)):
            length = _LENGTH
            while (name := self._drawn(identity, length)) in taken:
                length += 1
            taken.add(name)
            self._names[identity] = name

    def _drawn(self, identity: str, length: int) -> str:
        digest = hmac.new(self._secret, b"pseudonym 1\0" + identity.encode(), hashlib.sha256).digest()
        return "P-" + base64.b32encode(digest).decode().translate(_ALPHABET)[:length]

    def of(self, identity: str) -> str:
        """Return a learner's pseudonym."""
        return self._names.get(identity) or self._drawn(identity, 2 * _LENGTH)

    def marks(self, sheet: MarkSheet, known: Roster) -> MarkSheet:
        """Return a mark sheet without names, answers or words that could give a learner away.

        Args:
            sheet: the mark sheet.
            known: the class list.
        """
        learners = sorted((self._learner(learner, known) for learner in sheet.learners), key=lambda marked: marked.learner)
        failed = tuple(
            sorted(
                (Failure(self.of(failure.learner), "nothing could be read") for failure in sheet.failed),
                key=lambda marked: marked.learner,
            )
        )
        absent = tuple(sorted(self.of(identity) for identity in sheet.absent))
        return replace(sheet, learners=tuple(learners), failed=failed, absent=absent)

    def _learner(self, learner: LearnerMarks, known: Roster) -> LearnerMarks:
        listed = known.find(learner.learner)
        words = {learner.learner, learner.name, listed.name if listed else ""} - {""}
        flags = tuple("A flag was set; see the report with names." for _ in learner.flags[:1])
        items = tuple(self._item(mark, words) for mark in learner.items)
        name = self.of(learner.learner)
        # The minute of handing in can be known to others; the day cannot tell people apart.
        day = f"{learner.handed_in[:10]}T00:00:00+00:00" if learner.handed_in else ""
        return replace(learner, learner=name, name=name, items=items, flags=flags, handed_in=day)

    def _item(self, mark: ItemMark, words: set[str]) -> ItemMark:
        # A free answer can hold a name or a phrase that others know; marks and named mistakes are enough outside.
        decided = "Decided by a person." if mark.decided else ""
        comment = mark.comment if not any(word in mark.comment for word in words) else ""
        return replace(mark, given={}, read_as={}, comment=comment, decided=decided)

    def roster(self, known: Roster) -> Roster:
        """Return a class list of pseudonyms, in their own order; groups stay."""
        learners = [Learner(self.of(learner.id), self.of(learner.id), learner.group) for learner in known]
        return Roster(tuple(sorted(learners, key=lambda learner: learner.id)))


def of_course(course: Course, known: Roster, marks: Iterable[MarkSheet]) -> Pseudonyms:
    """Return the pseudonyms of a course.

    Args:
        course: the course.
        known: its class list.
        marks: mark sheets, for learners that the list does not know.
    """
    sheets = list(marks)
    everybody = {learner.id for learner in known}
    everybody |= {learner.learner for sheet in sheets for learner in sheet.learners} | {
        a for sheet in sheets for a in sheet.absent
    }
    return Pseudonyms(course.secret(), everybody)
