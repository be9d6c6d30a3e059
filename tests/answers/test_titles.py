"""Every exercise has a title of a few words and every lesson a subject, so that the list of all that can be asked is whole."""

from __future__ import annotations

from dataclasses import replace

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import practice
from gearkit.answers.layout_items import from_layout
from gearkit.answers.listing import of_the_bank
from gearkit.answers.titles import SUBJECTS, TITLES
from gearkit.train.catalogue import find


def test_every_exercise_is_listed_with_a_title_and_a_subject() -> None:
    listed = of_the_bank()
    assert [one.id for one in listed] == [item.id for item in items.all_items()]
    assert [one.id for one in listed if one.title == one.id or not one.subject] == []
    assert {item.lesson for item in items.all_items()} == set(SUBJECTS)


def test_no_two_exercises_share_a_title_and_none_is_long() -> None:
    titles = [one.title for one in of_the_bank()]
    assert sorted({title for title in titles if titles.count(title) > 1}) == []
    assert [title for title in titles if len(title) > 60] == []
    assert set(TITLES) <= {item.id for item in items.all_items()}


def test_a_layouts_name_is_shown_as_it_is_whatever_stands_in_it() -> None:
    layout = replace(find("Q24"), name="<script>alert(1)</script> **bold** $x$ [link](there)", text="")
    for item in from_layout(layout):
        head = practice(item).prompt
        assert "<script>" not in head
        assert "\\*\\*bold\\*\\*" in head or "bold" not in head


def test_a_title_names_no_member_and_no_result_that_only_some_versions_of_the_exercise_ask_for() -> None:
    """Learners see the title above their own version of the question."""
    for item in items.all_items():
        for version in item.versions:
            asked = f"{item.prompt} {version.prompt or ''}".lower()
            for word in ("sun", "ring", "carrier", "planet", "torque", "brake", "clutch", "range"):
                if word in TITLES[item.id]:
                    assert word in (version.prompt or item.prompt).lower(), (item.id, word, asked)
