"""The invented class: Fernhallow Technical College, unit AT-214, a day and an evening group.

Nobody here is a real person. Names with a comma, an accent, an apostrophe, one word only and a hyphen are on purpose:
class lists have them.
"""

from __future__ import annotations

from graders.course.lateness import Rules
from graders.course.roster import Learner, Roster

COURSE = "AT-214"
TITLE = "AT-214 Automatic transmissions, Fernhallow Technical College (invented)"
INSTRUCTOR = "R. Okonjo-Vale"
TIME_ZONE = "Europe/London"
LATE = Rules(grace_minutes=15, late_percent_per_day=10, late_days=3)
# One learner hands in a loop without end; a class on show does not wait for it as long as a real one does.
CELL_SECONDS = 1
DAY, EVENING = "AT-214-D", "AT-214-E"

_DAY_NAMES = (
    "Achterberg, Ilse",
    "Amaru Quispe-Holt",
    "Bastian Wrenfield",
    "Corvina Delacourt-Nye",
    "Dermot O'Rushkin",
    "Esperanza Lindqvarn",
    "Fennimore Tabakh",
    "Guðný Hallsdal",
    "Hesper Kowalczuk-Ray",
    "Ikenna Marchbank",
    "Jorunn Applegarth",
    "Kestrel Vandermuis",
    "Léonie Abergavron",
    "Mordecai Stellwright",
    "Núria Castellmore",
    "Oswin Pendrathy",
    "Perpetua Zielinskaya",
    "Quillon Barrowmead",
)
_EVENING_NAMES = (
    "Rosalba Thornquist",
    "Søren Hexworthy",
    "Tamsin D'Orlanda",
    "Ulrika Pascombe",
    "Vashti",
    "Wendeline Ffoulkes-Aziz",
    "Xanthe Morgenrood",
    "Yevgeny Tolpuddle",
    "Zephaniah Krause, jun.",
)


def roster() -> Roster:
    """Return the class list: 18 learners of the day group and 9 of the evening group."""
    day = [Learner(f"fd{number:02d}", name, DAY) for number, name in enumerate(_DAY_NAMES, start=1)]
    evening = [Learner(f"fe{number:02d}", name, EVENING) for number, name in enumerate(_EVENING_NAMES, start=1)]
    # One learner has extra time, as lists do; it changes no number and no mark.
    day[6] = Learner(day[6].id, day[6].name, DAY, extra_time=25)
    return Roster((*day, *evening))
