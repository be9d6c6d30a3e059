"""What lateness costs: a rule that the instructor chooses, for a course or for one sheet. Nothing is taken off unasked.

In a sheet's file and on the command line it is a few words: "full", "none", or "10 percent a day, 3 days".
"""

from __future__ import annotations

import datetime as dt
import re
from dataclasses import dataclass, replace
from enum import StrEnum

from gearkit.words.errors import UsageError
from gearkit.words.say import say, say_n

_PER_DAY = re.compile(r"(\d{1,3})\s*(?:%|percent)?\s*(?:a|per)?\s*(?:day)?\s*(?:x|,|for|after)?\s*(\d{1,3})\s*(?:days?)?")
FORM = 'full (late work counts in full), none (it earns nothing), or such as "10 percent a day, 3 days"'
LONGEST_GRACE = 7 * 24 * 60
# A date alone means the whole of that day.
END_OF_DAY = dt.time(23, 59)


class Late(StrEnum):
    """What becomes of late work."""

    FULL = "full"
    PER_DAY = "per day"
    NONE = "none"


@dataclass(frozen=True)
class Rules:
    """What a course or a sheet does about lateness.

    What a field is where a file says nothing is what courses of earlier versions have; a new course begins with `UNASKED`.

    Args:
        grace_minutes: minutes after the due time that still count as in time.
        late_percent_per_day: percent of the maximum taken off for each day started.
        late_days: days after which nothing is earned any more.
        late: whether late work counts in full, loses marks for each day, or earns nothing.
    """

    grace_minutes: int = 15
    late_percent_per_day: int = 10
    late_days: int = 3
    late: Late = Late.PER_DAY

    def __str__(self) -> str:
        if self.late is Late.PER_DAY:
            return f"{self.late_percent_per_day} percent a day, {self.late_days} {'day' if self.late_days == 1 else 'days'}"
        return str(self.late)

    def in_words(self) -> str:
        """The rule as a learner reads it."""
        grace = (
            " " + say("Up to {minutes} minutes late is still in time.", minutes=self.grace_minutes)
            if self.grace_minutes
            else ""
        )
        if self.late is Late.FULL:
            return say("Late work counts in full.")
        if self.late is Late.NONE or self.late_days == 0:
            return say("What comes in late earns nothing.") + grace
        if self.late_percent_per_day == 0:
            rule = say_n(
                "More than {count} day late, it earns nothing.",
                "More than {count} days late, it earns nothing.",
                self.late_days,
            )
        else:
            rule = say_n(
                "Late, each day begun takes {percent} percent of all marks; after {count} day nothing is earned.",
                "Late, each day begun takes {percent} percent of all marks; after {count} days nothing is earned.",
                self.late_days,
                percent=self.late_percent_per_day,
            )
        return rule + grace


UNASKED = Rules(0, 0, 0, Late.FULL)


def read(text: str, otherwise: Rules, grace: int | None = None) -> Rules:
    """Return the rule that a few words and a grace give.

    Args:
        text: such as "10 percent a day, 3 days"; "" for the rule that stands otherwise.
        otherwise: what stands where nothing is said.
        grace: minutes of grace; None for those that stand otherwise.

    Raises:
        UsageError: the words are no such rule, or the grace is out of bounds.
    """
    if grace is not None and not 0 <= grace <= LONGEST_GRACE:
        raise UsageError(f"grace {grace}: expected minutes from 0 to {LONGEST_GRACE}")
    minutes = otherwise.grace_minutes if grace is None else grace
    if not text.strip():
        return replace(otherwise, grace_minutes=minutes)
    plain = " ".join(text.casefold().split())
    if plain in (Late.FULL, Late.NONE):
        return Rules(minutes, 0, 0, Late(plain))
    match = _PER_DAY.fullmatch(plain)
    if match is None or not 1 <= int(match[1]) <= 100 or not int(match[2]):
        raise UsageError(f"late {text!r}: expected {FORM}")
    return Rules(minutes, int(match[1]), int(match[2]))


def local_time(text: str, what: str) -> dt.datetime:
    """Return a time that was typed, in the course's time zone; a date alone means the end of that day, 23:59.

    Args:
        text: such as "2026-03-02 17:00" or "2026-03-02".
        what: what the time is for, to begin an error with.

    Raises:
        UsageError: it is no such time.
    """
    plain = text.strip()
    try:
        if re.fullmatch(r"\d{4}-\d\d-\d\d", plain):
            return dt.datetime.combine(dt.date.fromisoformat(plain), END_OF_DAY)
        time = dt.datetime.fromisoformat(plain)
    except ValueError:
        time = None
    if time is None or time.tzinfo is not None:
        raise UsageError(
            f"{what} {text!r}: expected a date and time in the course's time zone, such as '2026-10-07 17:00'; a date alone "
            "means 23:59."
        )
    return time


def past(when: dt.datetime | None, zone: dt.tzinfo | None = None) -> str:
    """Return a warning where a time that was just set is over already, "" where it is not.

    Args:
        when: the time, in the course's time zone; None for none.
        zone: the course's time zone; this machine's where it is not known yet.
    """
    if when is None:
        return ""
    now = dt.datetime.now(zone).replace(tzinfo=None)
    return f"Mind: {when:%Y-%m-%d %H:%M} is over already; is the date right?" if when < now else ""
