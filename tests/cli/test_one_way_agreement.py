"""For any layout with one-way clutches every command, picture and panel has one verdict and one ratio for each range.

What holds them together is the judgement in `gearkit.solve.one_way`, which `tests/solve/test_one_way_by_trial.py` holds
against an independent one. Here each command is asked as its user asks it.
"""

from __future__ import annotations

import importlib
import json
import re
from collections import Counter
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest

from gearkit.draw.charts import chart
from gearkit.draw.core.wording import ratio_text
from gearkit.draw.registry import picture_of
from gearkit.draw.stick.placement import place
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.shifts import ShiftPanel
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.solve.mobility import assess
from gearkit.solve.one_way import Braking
from gearkit.solve.ratios import chart as ratio_chart
from gearkit.solve.ratios import combination_rows
from gearkit.text.phrases import listed
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError
from tests.lesson import javascript
from tests.support import trial_one_way
from tests.support.amounts import amount
from tests.support.commands import run
from tests.support.random_layouts import one_way_layout, random_layout

Told = dict[str, tuple[str, str | None, str | None]]
STILL = ("tie-up", "input locked")


def asked(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """What a command prints with --json, whatever its exit code."""
    answer: dict[str, Any] = json.loads(run(capsys, *words, "--json")[1])
    return answer


def by_ratios(capsys: pytest.CaptureFixture[str], file: str, *options: str) -> Told:
    """Range -> verdict, exact ratio and note, from the command ratios."""
    rows = asked(capsys, "ratios", file, *options)["ranges"]
    return {row["range"]: (row["verdict"], row["ratio"]["exact"], row["one_way_note"]) for row in rows if row["range"]}


def by_speeds(capsys: pytest.CaptureFixture[str], file: str, name: str) -> tuple[str, str | None]:
    """Verdict and ratio from the command speeds; where the input cannot turn it refuses and names the verdict."""
    code, out, errors = run(capsys, "speeds", file, name, "--json")
    if code == 2:
        found = re.search(r"the verdict is ([a-z -]+): the input cannot turn", errors)
        assert found, errors
        return found[1], None
    answer = json.loads(out)
    output = answer["shafts"]["output"]["exact"]
    ratio = None if answer["verdict"] != "range" else str(1 / Fraction(output))
    return answer["verdict"], ratio


def by_torques(capsys: pytest.CaptureFixture[str], file: str, name: str) -> tuple[str, str | None, str | None]:
    """Verdict, ratio and note from the command torques, at basic efficiency 1."""
    found = asked(capsys, "torques", file, name, "--basic-efficiency", "1")
    assert (found["state"] in ("settled", "statically undetermined")) is (found["verdict"] == "range"), found["state"]
    output = found["output_torque"]["exact"]
    return found["verdict"], None if output is None else str(-Fraction(output)), found["one_way_note"]


def by_explain(capsys: pytest.CaptureFixture[str], file: str, name: str) -> tuple[str, str | None, str | None]:
    """Verdict, ratio and note from the command explain."""
    found = asked(capsys, "explain", file, name)
    return found["verdict"], found["ratio"]["exact"], found["one_way_note"]


def check_shifts(found: dict[str, Any], told: Told, layout: Layout) -> None:
    """Shifts run between the ranges that have a ratio, step as their ratios do, and what they meet midway is judged alike."""
    ratios = {name: Fraction(exact) for name, (_, exact, _) in told.items() if exact}
    assert set(found["engine_braking"]) == set(ratios)
    assert len(found["up"]) == max(0, len({value for value in ratios.values() if value > 0}) - 1)
    for item in (*found["up"], *found["down"], *found["skips"]):
        step = item["step"]["exact"]
        assert step, f"{item['from']} and {item['to']} have ratios"
        assert Fraction(step) == ratios[item["from"]] / ratios[item["to"]]
    for item in (*found["up"], *found["garage"]):
        ends = [set(layout.engaged_in(item[end])) for end in ("from", "to")]
        assert item["overlap"]["verdict"] == trial_one_way.judged(layout, ends[0] | ends[1]).verdict
        assert item["underlap"]["verdict"] == trial_one_way.judged(layout, ends[0] & ends[1]).verdict
    for name, brakes in found["engine_braking"].items():
        assert brakes is trial_one_way.brakes(layout, layout.engaged_in(name)), f"coast in {name}"
    assert all(told[item["from"]][0] == "neutral" and item["to"] in ratios for item in found["garage"])


def check_faults(found: dict[str, Any], told: Told, layout: Layout) -> int:
    """A fault of no consequence leaves the range as ratios has it; returns how many of them there were."""
    seen = 0
    for fault in found["faults"]:
        for case in fault["ranges"]:
            verdict, exact, note = told[case["range"]]
            ratio = case["ratio"]["exact"]
            if case["effect"] == "same":
                assert ratio == exact
                assert ("with or without the fault" in case["symptom"]) is (note is not None)
            listed = layout.engaged_in(case["range"])
            element = layout.element_named(fault["element"])
            if fault["mode"] == "stuck off" and element.name not in listed and element.kind != "one-way clutch":
                assert (case["effect"], case["one_way_note"]) == ("same", note), "nothing is missing"
                seen += 1
            if case["effect"] not in ("same", "other range"):
                assert case["effect"] != verdict
    return seen


def check_pictures(layout: Layout, told: Told) -> None:
    """The application chart, its text and the pictures of one range say verdict or ratio, and the chart names the clutch."""
    said = picture_of(layout, "chart").description
    lines = dict(zip(told, chart.text(layout).splitlines()[2:], strict=True))
    for name, (verdict, exact, note) in told.items():
        shown = ratio_text(Fraction(exact)) if exact else verdict
        (own,) = re.findall(rf"Range {re.escape(name)}: (.*?)\.(?: |$)(?=Range|Spread|$)", said)
        assert re.search(rf", (?:ratio )?{re.escape(shown)}(?:,|$)", own), own
        assert own.endswith(f", {note}") if note else "one" not in own
        assert shown in lines[name]
        assert (note or "") in lines[name]
        for what in ("stick", "levers"):
            picture = picture_of(layout, what, name).description
            assert shown in picture
            called = re.search(rf"[Rr]ange ({'|'.join(map(re.escape, told))}):", picture)
            assert called, f"the picture of {name} calls no range by its name"
            assert told[called[1]][:2] == (verdict, exact)
    plot = picture_of(layout, "speeds").description
    plotted = {name: 1 / Fraction(exact) for name, (_, exact, _) in told.items() if exact}
    drawn = re.search(r"a line for each of the ranges (.*?);", plot)
    assert drawn is None or drawn[1] == (listed(plotted) or "(none)")
    for name, speed in plotted.items():
        for shown in re.findall(rf"Range {re.escape(name)}: [^:]*?output ([−\d.]+\d)", plot):
            assert float(shown.replace("−", "-")) == pytest.approx(float(speed), abs=0.0006)


def check_one_more(capsys: pytest.CaptureFixture[str], layout: Layout, file: str, told: Told) -> int:
    """Where the reasons for a neutral name elements that make it a range, those do, and no others; how many there were."""
    named = 0
    for name in (name for name, (verdict, *_) in told.items() if verdict == "neutral"):
        words = " ".join(step["words"] for step in asked(capsys, "explain", file, name)["steps"])
        said = re.search(r"One element more makes it a range: (.*?\))\.(?= |$)", words)
        found = dict(re.findall(r"(\w+) \((?:range|ratio) (\S+?)\)", said[1])) if said else {}
        base = [one for one in layout.elements if one.kind != "one-way clutch"]
        open_ones = [one.name for one in base if one.name not in layout.engaged_in(name)]
        there = {one: trial_one_way.judged(layout, [*layout.engaged_in(name), one]).verdict for one in open_ones}
        assert set(found) == {one for one, verdict in there.items() if verdict == "range"}
        named += len(found)
    return named


def check_panel(layout: Layout, told: Told) -> None:
    """The layout panel shows the same, in Python and in the browser."""
    panel = LayoutPanel(layout)
    for name, (verdict, exact, note) in told.items():
        panel.apply_range(name)
        outcome = panel.outcome()
        assert (outcome.verdict, None if outcome.ratio is None else str(outcome.ratio)) == (verdict, exact)
        assert (note or "") in panel.words()
    panel.close()
    forward = [name for name, (_, exact, _) in told.items() if exact and Fraction(exact) > 0]
    if len(forward) > 1:
        shifting = ShiftPanel(layout)
        assert list(shifting.forward) == forward
        shifting.close()
    if len(layout.sets) > 1:
        # The search for a solid train takes long, and judges nothing.
        return
    cut = CutawayPanel(layout)
    for name, (verdict, exact, note) in told.items():
        cut.apply_range(name)
        whole = exact is not None and "/" not in exact
        shown = f": a range, ratio {exact}{'' if whole else ' ='}".replace("-", "−") if exact else f": {verdict}"
        assert not whole or not re.search(re.escape(shown) + r"[\d/]", cut.words())
        assert shown in cut.words()
        assert (note or "") in cut.words()
        if cut.scene:
            assert any(cut.scene["ranges"][name]["widths"]) is (exact is not None), "power goes through a range"
    cut.close()


IN_BROWSER = """
const { Memory, working, noteOf } = module_one_way;
return payload.map((spec) => {
  const memory = new Memory(spec);
  return spec.ranges.map(({ name, engaged }) => {
    const state = working(memory, engaged);
    return [name, state.verdict, state.ratio === null ? null : state.ratio.toString(), noteOf(memory, state) || null];
  });
});
"""


def check_layout(capsys: pytest.CaptureFixture[str], layout: Layout, file: str, seen: Counter[str]) -> Told:
    """Ask every command, picture and panel about one layout; what they all say."""
    told = by_ratios(capsys, file)
    assert by_ratios(capsys, file, "--all") == told
    for name, (verdict, exact, note) in told.items():
        there = trial_one_way.judged(layout, layout.engaged_in(name))
        assert (verdict, exact and pytest.approx(float(Fraction(exact)), rel=1e-6)) == (there.verdict, there.ratio)
        assert by_speeds(capsys, file, name) == (verdict, exact)
        assert by_torques(capsys, file, name) in [(verdict, exact, note), (verdict, None, note)]
        assert by_explain(capsys, file, name) == (verdict, exact, note)
        seen[f"{verdict}, {'noted' if note else 'as listed'}"] += 1
    check_shifts(asked(capsys, "shifts", file), told, layout)
    seen["ranges that one element more would make"] += check_one_more(capsys, layout, file, told)
    seen["faults without consequence"] += check_faults(asked(capsys, "faults", file), told, layout)
    check_pictures(layout, told)
    check_panel(layout, told)
    return told


def drawn_layouts(count: int, folder: Path) -> list[tuple[Layout, str]]:
    """Layouts with one-way clutches and their files, with places for their pictures that were not searched for long."""
    found = []
    for number in range(count):
        layout = one_way_layout(f"agree/{number}", 1 + number % 4)
        layout = replace(layout, placement=place(layout, effort=0.1).table(layout))
        file = folder / f"{number}.toml"
        catalogue.write(layout, file)
        found.append((layout, str(file)))
    return found


def test_every_command_picture_and_panel_has_the_same_verdict_and_ratio(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    seen: Counter[str] = Counter()
    layouts = drawn_layouts(amount(60, 12), tmp_path)
    everything = []
    for layout, file in layouts:
        everything.append([[name, *row] for name, row in check_layout(capsys, layout, file, seen).items()])
    assert javascript.run(["one_way"], IN_BROWSER, [train_spec(layout) for layout, _ in layouts]) == everything
    wanted = {f"{verdict}, noted" for verdict in ("range", "neutral", *STILL)} | {"range, as listed", "neutral, as listed"}
    assert wanted | {"faults without consequence", "ranges that one element more would make"} <= set(+seen), seen


@pytest.mark.parametrize(
    "asker", ["cli.kinematics.in_range", "cli.loads.in_range", "explain.story.working", "lesson.panels.layout.working",
              "solve.service.faults.working", "solve.ratios.in_range", "solve.ratios.working", "solve.service.shifts.working",
              "draw.registry.in_range", "draw.core.state.in_range", "draw.charts.speed_plot.in_range",
              "draw.cutaway.scene.in_range", "lesson.panels.shifts.in_range", "cli.shifting.braking", "explain.no_ratio.working",
              "lesson.solid.cutaway_panel.working"],
)  # fmt: skip
def test_one_asker_who_takes_no_notice_of_one_way_clutches_is_caught(
    asker: str, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The net can fail: with one of them judging by what is applied alone it complains."""
    layouts = drawn_layouts(24, tmp_path)
    module, name = f"gearkit.{asker}".rsplit(".", 1)
    judge = getattr(importlib.import_module(module), name)

    def by_rank(found: Any) -> Any:
        if isinstance(found, Braking):
            return replace(found, drive=by_rank(found.drive), coast=by_rank(found.coast))
        return replace(found, holding=(), clutches=(), mobility=assess(found.layout, found.applied))

    def deaf(*arguments: Any, **more: Any) -> Any:
        return by_rank(judge(*arguments, **more))

    monkeypatch.setattr(importlib.import_module(module), name, deaf)

    def net() -> None:
        for layout, file in layouts:
            check_layout(capsys, layout, file, Counter())

    with pytest.raises((AssertionError, UsageError)):
        net()


def test_a_layout_without_one_way_clutches_is_judged_by_rank_alone() -> None:
    for number in range(20):
        layout = random_layout(f"no one-way clutch/{number}")
        rows = [*ratio_chart(layout).rows, *combination_rows(layout)]
        assert [row.mobility for row in rows] == [assess(layout, row.engaged) for row in rows]
        assert {row.one_way_note for row in rows} == {None}
