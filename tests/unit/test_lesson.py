"""The lesson on a layout: in house style, in good English, about what the layout has, and true when it is run."""

from __future__ import annotations

import json
import os
import re
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

from gearkit.draw.cutaway.solid_placement import stored_placement
from gearkit.lesson.predictions import opened
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.text import places
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from gearkit.words.terms import ElementKind, Verdict
from graders.unit import unit
from graders.unit.facts import Facts
from graders.unit.lesson import assemble, in_motion
from graders.unit.words.cells import Cell
from graders.unit.words.voice import Voice
from graders.unit.working import exact, working
from tests.lesson import notebooks, pinned_numbers
from tests.support.amounts import SHORT, amount
from tests.support.sane_layouts import sane
from tests.unit import language

PUBLISHED = [catalogue.read(path) for path in sorted((places.datasets() / "published").glob("*.toml"))]
OWN = [entry.layout for entry in catalogue.entries()]
ORDER = ["title", "outcomes", "open", "by-hand", "worked", "predict", "limits", "key-points", "progress", "sources"]


def drawn(count: int) -> list[Layout]:
    """Random layouts of 1 to 4 sets that can be taught, a quarter with one-way clutches, a fifth with double pinions."""
    found: list[Layout] = []
    for layout in sane(2 * count, "unit"):
        try:
            Facts(layout, unit.LAYOUT)
        except UsageError:
            continue
        found.append(layout)
        if len(found) == count:
            break
    return found


ALL = [*OWN, *PUBLISHED, *drawn(amount(300, 15))]


def made(layout: Layout) -> dict[str, Any]:
    return assemble.lesson(Facts(layout, unit.LAYOUT), {"ranges": ("X00-01",), "states": ("X00-02", "X00-03")})


def source(cell: dict[str, Any]) -> str:
    return "".join(cell["source"])


@pytest.fixture
def few_searches(monkeypatch: pytest.MonkeyPatch) -> None:
    """Where tests are short, no search for the places of solid bodies, which takes seconds for a drawn layout."""

    def none_stored(layout: Layout, searches: int) -> Mapping[str, Any]:
        return {}

    if SHORT:
        monkeypatch.setattr(unit, "kept_table", none_stored)


@pytest.mark.parametrize("layout", ALL, ids=lambda layout: layout.name[:20])
def test_a_lesson_is_in_house_style_and_reads_as_if_a_person_had_written_it(layout: Layout, tmp_path: Path) -> None:
    lesson = made(layout)
    nbformat.validate(nbformat.from_dict(json.loads(assemble.text_of(lesson))))
    path = tmp_path / "lesson.ipynb"
    bare = {**lesson, "metadata": {key: value for key, value in lesson["metadata"].items() if key != "gearkit"}}
    path.write_text(assemble.text_of(bare), encoding="utf-8")
    assert notebooks.problems(path) == []
    assert [cell["id"] for cell in lesson["cells"] if not source(cell).strip()] == []
    texts = language.prose_of(lesson)
    assert list(language.troubles(texts)) == []
    assert language.repeated(texts) == []
    tags = [tag for cell in lesson["cells"] for tag in cell["metadata"].get("tags", [])]
    first = [tags.index(tag) for tag in ORDER]
    assert first == sorted(first)
    assert 60 <= assemble.minutes_told(lesson) <= 180


@pytest.mark.parametrize("layout", ALL, ids=lambda layout: layout.name[:20])
def test_the_working_in_python_gives_every_ratio_without_the_solver(layout: Layout) -> None:
    facts = Facts(layout, unit.LAYOUT)
    for fact in facts.by_effort[: amount(9, 4)]:
        found = working(facts, fact)
        names: dict[str, Any] = {}
        exec(
            "\n".join(
                [
                    "from fractions import Fraction",
                    "from sympy import Symbol, solve, symbols",
                    *found.teeth,
                    *map(str, found.lines),
                    str(found.last),
                ]
            ),
            names,
        )
        assert names[found.name] == fact.ratio
        assert eval(exact(fact.ratio), names) == fact.ratio


def test_every_range_is_derived_or_predicted_and_no_prediction_gives_its_answer_away() -> None:
    for layout in (*OWN[:3], *PUBLISHED):
        facts = Facts(layout, unit.LAYOUT)
        lesson = made(layout)
        texts = [
            source(cell)
            for cell in lesson["cells"]
            if cell["metadata"].get("tags") == ["predict"] and cell["cell_type"] == "markdown"
        ]
        asked = [text for text in texts if text.startswith("### Range")]
        assert len(asked) == len(facts.by_effort) - 1
        for fact, text in zip(facts.by_effort[1:], asked, strict=True):
            assert fact.applied in text
            assert fact.shown not in re.sub(r"range \S+|###.*", "", text) or fact.ratio in (1, -1)
        # The chart with its ratios is shown when all is predicted, and not before.
        ids = [cell["id"] for cell in lesson["cells"]]
        charts = [place for place, cell in enumerate(lesson["cells"]) if '"chart"' in source(cell)]
        assert charts == [ids.index("unit-recap-chart")]


def sections(layout: Layout) -> str:
    return "\n".join(source(cell) for cell in made(layout)["cells"])


def test_a_lesson_has_no_section_for_what_its_layout_lacks() -> None:
    for layout in ALL:
        facts, text = Facts(layout, unit.LAYOUT), sections(layout)
        assert ("## Shifting" in text) == (len(facts.forward) > 1)
        assert ("fitted the wrong way round" in text) <= bool(facts.kinds(ElementKind.ONE_WAY_CLUTCH))
        assert ("### Neutral:" in text) == any(state.verdict is Verdict.NEUTRAL for _, _, state in facts.others)
        assert ("Park is not a chock" in text) == any(
            state.verdict in (Verdict.OUTPUT_LOCKED, Verdict.TIE_UP) for _, _, state in facts.others
        )
        assert ("input and output push the train the same way" in text) <= bool(facts.reverses)
        assert text.count("lesson.predict(") == 1
        assert (text.count("lesson.cutaway("), text.count("### Cut open")) == ((1, 1) if stored_placement(layout) else (0, 0))


def test_which_bodies_turn_back_is_asked_before_the_train_cut_open_moves_and_takes_its_time() -> None:
    facts = Facts(OWN[0], unit.LAYOUT)
    cells = list(in_motion.cells(facts, Voice()))
    (place,) = [number for number, cell in enumerate(cells) if "lesson.cutaway" in cell.source]
    assert "**Before** it moves" in cells[place - 1].source
    assert re.search(r'cutaway\("layout.toml", "R", predict=True\)', cells[place].source)
    # Live panels, which show the speeds of all bodies, come after it.
    assert [number for number, cell in enumerate(cells) if "lesson.explore" in cell.source] > [place]
    # A prediction takes longer than a cell to read.
    many = [Cell("x", "", "text")] * 60
    assert (
        assemble.minutes_of([*many, *cells[place : place + 1] * 5])
        == assemble.minutes_of([*many, *[Cell("x", "", "text")] * 5]) + 30
    )
    panel = CutawayPanel(OWN[0], gated=True, engaged=list(facts.layout.engaged_in("R")))
    assert not panel.is_open
    panel.predict_bodies(still=["P1.carrier"], back=["output"])
    assert panel.is_open


def test_a_unit_stores_where_solid_bodies_go_so_that_no_notebook_searches(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    bare = replace(catalogue.find("pair_series"), placement=None, text="", file=None)
    assert stored_placement(bare) is None
    unit.make(bare, tmp_path, only_lesson=True)
    assert stored_placement(catalogue.read(tmp_path / unit.LAYOUT)) is not None
    assert "lesson.cutaway(" in (tmp_path / unit.LESSON).read_text("utf-8")
    # None of its searches finds a way for this one, and its unit has no section without a train.
    refused = replace(catalogue.find("bench_set"), placement=None, text="", file=None)
    unit.make(refused, tmp_path / "other", only_lesson=True)
    assert "lesson.cutaway(" not in (tmp_path / "other" / unit.LESSON).read_text("utf-8")


@pytest.mark.parametrize(
    "layout",
    [OWN[0], *[*OWN[1:], *PUBLISHED][: amount(99, 0)], *drawn(amount(300, 4))[3:]],
    ids=lambda layout: layout.name[:20],
)
def test_a_lesson_runs_from_its_folder_and_writes_nothing_into_the_record(
    few_searches: None, layout: Layout, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    result = unit.make(layout, tmp_path, only_lesson=True)
    assert {one.path.name for one in result.files} == {unit.LAYOUT, unit.LESSON}
    monkeypatch.setenv("GEARKIT_RECORD", str(tmp_path / "record.json"))
    held = nbformat.read(tmp_path / unit.LESSON, as_version=4)
    NotebookClient(held, timeout=240, resources={"metadata": {"path": str(tmp_path)}}).execute()
    shown = [
        output.get("data", {}).get("text/plain", "")
        for cell in held.cells
        if cell.cell_type == "code"
        for output in cell.outputs
    ]
    assert f"Free while nothing is applied | {Facts(layout, unit.LAYOUT).free}" in "\n".join(shown)
    assert not os.path.exists(tmp_path / "record.json")


# Rows of results that the prose above them tells, each with the cell that holds it.
TOLD = (("torque-numbers", "Housing"), ("torque-set-numbers", "Sun"), ("torque-set-numbers", "Ring"), ("torque-set-numbers", "Carrier"),
        ("shift-speed-numbers", "Engine after the shift"), ("road-numbers", "Wheels"), ("road-numbers", "Road speed"),
        ("effort-numbers", "Force at the tyres"), ("steps-numbers", "Spread"))  # fmt: skip


@pytest.mark.parametrize("layout", [*OWN, *PUBLISHED, *drawn(amount(60, 4))], ids=lambda layout: layout.name[:20])
def test_what_a_lesson_works_out_is_what_its_prose_says_and_what_the_solver_finds(
    few_searches: None, layout: Layout, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    unit.make(layout, tmp_path, only_lesson=True)
    monkeypatch.setenv("GEARKIT_RECORD", str(tmp_path / "record.json"))
    monkeypatch.chdir(tmp_path)
    cells = pinned_numbers.cells_of(tmp_path / unit.LESSON)
    told: set[str] = set()
    compared = 0
    after = pinned_numbers.ran(
        [cell for cell in cells if "yours" not in cell.name and not cell.source.startswith("# Your prediction")]
    )
    for cell in cells:
        told |= set() if cell.code else set(pinned_numbers.numbers_in(cell.source))
        rows = after[cell.name].shown if cell.name in after else []
        for row, following in zip(rows, [*rows[1:], []], strict=False):
            if following and following[0].endswith(", solved by the kit"):
                assert following[1] == pytest.approx(float(row[1])), (cell.name, row)
                compared += 1
            if (cell.name.removeprefix("unit-"), row[0]) in TOLD:
                assert any(pinned_numbers.agrees(number, row[1]) for number in told), (cell.name, row)
                compared += 1
    assert compared >= 4


def test_what_is_said_after_a_prediction_is_said_in_its_reveal_alone() -> None:
    for layout in OWN:
        cells = made(layout)["cells"]
        assert not [cell for cell in cells if cell["cell_type"] == "markdown" and "Compare." in source(cell)]
        gates = [cell for cell in cells if "lesson.predict" in source(cell) and cell["cell_type"] == "code"]
        assert sum("compare=" in source(cell) for cell in gates) >= 2
        shut = [found for cell in gates for found in re.findall(r'compare="([^"]*)"', source(cell))]
        # Whoever unfolds the cell reads nothing of it; the reveal says it in full sentences.
        assert all(re.fullmatch(r"shut:[A-Za-z0-9+/=]+", text) for text in shut)
        assert all(opened(text).endswith((".", "?")) and " " in opened(text) for text in shut)
        assert all(cell["metadata"]["jupyter"] == {"source_hidden": True} for cell in gates if "compare=" in source(cell))
