"""The marked copies, put together from what a sheet's copies have in common and what is each learner's own."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from graders.course.roster import Learner, Roster
from graders.mark import batch
from graders.mark.marked_copy import LONGEST_SOURCE
from graders.sheets import drawn, notebook
from graders.sheets.notebook import Owner
from graders.sheets.sheet_rules import SheetRules
from tests.graders.classroom import Classroom, right

CLASS = Roster(
    (Learner("s1", 'Ann "the" Lee\\', "D"), Learner("s2", "Ødegård, Kåre", "E", extra_time=25), Learner("s3", "3", "E"))
)
ODD = 'x = "\\u0000\\n"  # \u2028 \U0001f600 \\'


def made_anew(room: Classroom, learner: Learner, given: dict[str, str]) -> str:
    """The copy made by itself, without any other one."""
    variants = drawn.variants_for(room.course, room.sheet, learner.id)
    copy = notebook.from_variants(room.course, room.sheet, Owner(learner), variants, pictures=False)
    for cell in copy["cells"]:
        card = cell["metadata"]["nbgrader"]
        card["checksum"] = notebook.checksum(cell)
        if card["solution"]:
            cell["source"] = given.get(card["grade_id"], cell["source"])[:LONGEST_SOURCE]
    return notebook.as_text(copy, compact=True)


@pytest.mark.parametrize("rules", [SheetRules(), SheetRules(hint_cost=0)])
def test_each_copy_is_what_it_would_be_by_itself(tmp_path: Path, rules: SheetRules) -> None:
    room = Classroom(tmp_path, due="2026-02-03 08:00", roster=CLASS, rules=rules)
    given = {learner.id: {item: right(variant) for item, variant in room.variants(learner.id).items()} for learner in CLASS}
    given["s1"][room.sheet.item_ids[0]] = ODD
    given["s2"][room.sheet.item_ids[1]] = "#" * (LONGEST_SOURCE + 1)
    for learner in CLASS:
        own = given[learner.id]
        room.hand_in(learner.id, room.copy(learner.id, lambda variant: own[variant.item.id]))  # noqa: B023
    batch.mark_sheet(room.course, room.sheet, workers=1)
    for learner in CLASS:
        found = room.course.autograded_file(learner.id, "A1").read_text(encoding="utf-8")
        assert found == made_anew(room, learner, given[learner.id])
        assert learner.name in json.loads(found)["cells"][0]["source"]
