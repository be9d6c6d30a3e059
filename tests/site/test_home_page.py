"""The list of lessons says what each is for, and what is due again by the notebooks' own rules."""

from __future__ import annotations

import random
from datetime import date, timedelta
from typing import Any

from gearkit.answers import items
from gearkit.lesson.course.overview import PURPOSES
from gearkit.lesson.learnt.standing import ONCE_RIGHT, standings
from gearkit.site import course_site, page
from tests.lesson import javascript

TODAY = date(2026, 3, 30)


def attempts(chance: random.Random) -> list[dict[str, Any]]:
    """Some checks of one exercise over two months, oldest first."""
    days = sorted(chance.randrange(60) for _ in range(chance.randrange(1, 9)))
    verdicts = ["right", "right", "wrong", "partly right", "unreadable"]
    return [
        {
            "at": f"{TODAY - timedelta(60 - day)}T12:00:00.000+00:00", "kind": "attempt", "item": "L03-02", "draw": 1 + day // 9,
            "verdict": chance.choice(verdicts), "hints": chance.choice([0, 0, 1]), "score": "1", "max": "2",
        }
        for day in days
    ]  # fmt: skip


def test_an_exercise_stands_on_the_list_as_in_the_notebook() -> None:
    chance = random.Random(7)
    histories = [attempts(chance) for _ in range(300)]
    body = 'return payload.map((each) => module_home_page.stateOf(each, module_home_page.dayOf(new Date("2026-03-30T12:00:00Z"))));'
    shown = javascript.run(["home_page"], body, histories, page.STATIC)
    expected = []
    for history in histories:
        (found,) = standings([items.find("L03-02")], history, [], TODAY)
        expected.append(str(found.state) if found.state in ONCE_RIGHT else "")
    assert shown == expected
    assert {"done", "kept", "due again", ""} == set(expected)


def test_every_lesson_says_what_it_is_for() -> None:
    home = course_site._home([], notebooks=False)
    assert all(purpose in home for purpose in PURPOSES.values())
