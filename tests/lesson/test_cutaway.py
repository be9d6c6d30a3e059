"""The live cutaway: what turns, turns exactly as the solver says; what it shows in words is true; the page stands alone."""

from __future__ import annotations

import json
import re
from fractions import Fraction
from itertools import combinations
from pathlib import Path

import pytest

from gearkit.draw.cutaway.scene import scene, shaft_numbers
from gearkit.draw.cutaway.solid_placement import NotSolidError
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels.bundle import STATIC
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.solid.cutaway_page import page, write_page
from gearkit.lesson.solid.cutaway_panel import CutawayPanel
from gearkit.lesson.workbook import Lesson
from gearkit.solve.one_way import in_range
from gearkit.solve.speeds import speeds
from gearkit.train.catalogue import entries, find
from gearkit.words.errors import UsageError
from gearkit.words.terms import Verdict
from tests.lesson import javascript
from tests.support.commands import refused, run

SHOWN = ("Q24", "Q36", "Q48", "pair_two_suns")
TURNS = 7.35
TURN_ALL = """
const memory = new module_one_way.Memory(payload.train), spins = module_solid_view.spinsOf(payload.scene);
return payload.train.ranges.map(({ engaged }) => {
  const { mobility } = module_one_way.working(memory, engaged);
  const speeds = payload.numbers.map((shaft) => (mobility.speeds[shaft] === null ? 0 : mobility.speeds[shaft].toNumber()));
  return module_solid_view.turnsOf(payload.scene, spins, speeds, payload.turns);
});"""


@pytest.fixture
def lesson(tmp_path: Path) -> Lesson:
    return open_lesson("05", tmp_path / "record.json")


@pytest.mark.parametrize("name", SHOWN)
def test_every_body_and_planet_turns_by_the_exact_ratio_in_every_range(name: str) -> None:
    layout, seen = find(name), scene(find(name))
    payload = {"train": train_spec(layout), "scene": seen, "numbers": shaft_numbers(layout), "turns": TURNS}
    found = javascript.run(["solid_view", "one_way"], TURN_ALL, payload)
    for item, turned in zip(layout.ranges, found, strict=True):
        state = in_range(layout, item.name)
        driven = speeds(layout, state.engaged, int(state.verdict not in (Verdict.INPUT_LOCKED, Verdict.TIE_UP)))
        exact = [driven.of(shaft[0]) or Fraction(0) for shaft in layout.shafts]
        for body, speed in enumerate(exact):
            assert abs(turned["bodies"][body] - float(speed) * TURNS) < 1e-9, (item.name, layout.shafts[body])
        for planet, turns in zip(seen["planets"], turned["planets"], strict=True):
            # By the teeth that mesh: seen from the carrier, sun and pinion roll off each other.
            sun, carrier = exact[planet["sun"]], exact[planet["carrier"]]
            expected = carrier + Fraction(planet["spin"]) * (sun - carrier)
            assert abs(turns - float(expected) * TURNS) < 1e-9
        for key, speed in driven.planets.items():
            index = next(k for k, pset in enumerate(layout.sets) if f"{pset.name}.planet" == key)
            sun = layout.shaft_of(f"{layout.sets[index].name}.sun")
            own = [
                turns
                for planet, turns in zip(seen["planets"], turned["planets"], strict=True)
                if planet["sun"] == sun and planet["carrier"] == layout.shaft_of(f"{layout.sets[index].name}.carrier")
            ]
            if speed is not None and driven.of(f"{layout.sets[index].name}.sun") is not None:
                assert own
                assert any(abs(turns - float(speed) * TURNS) < 1e-9 for turns in own), (item.name, key)


def test_a_scene_stays_small_and_the_view_needs_nothing_but_its_meshes() -> None:
    sizes = {
        entry.name: len(json.dumps(scene(entry.layout), separators=(",", ":")))
        for entry in entries()
        if entry.name != "bench_set"
    }
    assert {name: size for name, size in sizes.items() if size >= 25_000} == {}
    for module in ("solid_view", "solid_mesh"):
        text = (STATIC / f"{module}.js").read_text(encoding="utf-8")
        assert len(text.splitlines()) < 400
        assert set(re.findall(r'^import .* from "(.*)";|\bimport\(', text, re.MULTILINE)) <= {"./solid_mesh.js"}


def test_no_two_shafts_look_alike_nor_a_shaft_like_the_planets_on_another() -> None:
    code = "return payload.flatMap((part) => [0, 1].map((planet) => module_solid_view.lookOf(part, planet)));"
    for layout in (entry.layout for entry in entries()):
        try:
            bodies = scene(layout)["bodies"]
        except NotSolidError:
            continue
        looks = javascript.run(["solid_view"], code, bodies)
        for (first, one), (second, other) in combinations(enumerate(looks), 2):
            apart = max(abs(a - b) for a, b in zip(one["colour"], other["colour"], strict=True))
            assert first // 2 == second // 2 or one["band"] != other["band"] or apart > 0.08, (layout.name, first, second)


def test_the_power_in_the_bands_is_that_of_the_range() -> None:
    seen = scene(find("Q24"))
    for item in find("Q24").ranges:
        found = seen["ranges"][item.name]
        assert len(found["widths"]) == len(seen["lines"])
        assert max(found["widths"]) == (0.0 if item.name == "N" else 1.0)
        # Nothing goes through a body that stands still.
        assert all(
            share == 0 for (body, *_), share in zip(seen["lines"], found["widths"], strict=True) if found["roles"][body] == "s"
        )


def test_the_panel_says_which_bodies_stand_still_and_which_turn_back(lesson: Lesson) -> None:
    panel = lesson.cutaway("Q24", "1")
    assert "a range, ratio 68/25 = 2.72" in panel.words()
    assert "sun 1 turns back." in panel.words()
    assert "carrier 1 stands still." in panel.words()
    assert panel.speeds()[panel.layout_shown.shaft_of("P1.sun")] == Fraction(-35, 34)
    section, stick = panel.pictures()
    assert "gk-cutaway" in section
    assert "gk-stick" in stick
    # The diagram beside the bodies keeps the colours of the shafts, whatever is applied; the still picture shows the power.
    assert panel.drawing == lesson.cutaway("Q24").drawing != stick
    panel.apply_range("N")
    assert panel.drawing == lesson.cutaway("Q24").drawing
    assert "neutral" in panel.words()
    assert "is fixed by nothing" in panel.words() or "are fixed by nothing" in panel.words()
    panel.apply()
    assert "nothing applied" in panel.words()


def test_it_stays_at_rest_until_the_bodies_are_predicted_and_keeps_what_was_said(lesson: Lesson) -> None:
    panel = lesson.cutaway("pair_two_suns", "1", predict=True)
    assert not panel.is_open
    assert "Say which bodies stand still" in panel.words()
    assert 'data-state="held' not in panel.drawing
    with pytest.raises(UsageError, match="stays at rest until you predict"):
        panel.speeds()
    for text in ("forward", "still: sun 9", "sideways: sun 1"):
        with pytest.raises(UsageError, match="does not say what bodies do"):
            panel.predict(text)
    with pytest.raises(UsageError, match=r"no member 'P9\.sun'"):
        panel.predict_bodies(still=["P9.sun"])
    panel.predict_bodies(still=["P1.carrier"], back=["P1.sun", "output"])
    assert panel.is_open
    [said] = panel.history
    assert "you said still: carrier 1; back: output, sun 1" in said
    assert "found still: carrier 1; back: sun 1" in said


def test_a_prediction_written_as_earlier_versions_did_is_kept_and_told_as_it_is_said_now(lesson: Lesson) -> None:
    panel = lesson.cutaway("pair_two_suns", "1", predict=True)
    panel.predict("still: P1 carrier; back: output, P1 sun")
    assert panel.prediction["kind"] == "still: carrier 1; back: output, sun 1"
    lesson.record.add("prediction", {
        "prediction": "before", "lesson": "05", "panel": "pair_two_suns, cut open", "case": "A applied", "facts": {},
        "said": {"kind": "still: P1 carrier; back: P1 sun"},
    })  # fmt: skip
    assert any("you said still: carrier 1; back: sun 1" in line for line in panel.keeper.history())


def test_where_no_solid_train_can_be_it_says_why_and_shows_the_stick_diagram(lesson: Lesson) -> None:
    panel = lesson.cutaway("bench_set", "1")
    assert panel.scene == {}
    assert "pass through each other" in panel.words()
    assert len(panel.pictures()) == 1
    assert "gk-stick" in panel.pictures()[0]


def test_an_unknown_element_range_or_layout_is_refused(lesson: Lesson) -> None:
    with pytest.raises(UsageError, match="no range '9'"):
        lesson.cutaway("Q24", "9")
    panel = CutawayPanel(find("Q24"))
    with pytest.raises(UsageError, match="Z"):
        panel.apply("Z")


def test_the_page_stands_alone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "new" / "q24.html"
    code, told, _ = run(capsys, "draw", "Q24", "--what", "cutaway", "--range", "2", "-o", str(file))
    assert (code, told) == (0, f"{file}: a page with Quillbrook Q24: two sets, four ranges and reverse, cut open, to turn\n")
    text = file.read_text(encoding="utf-8")
    assert re.findall(r"(?:src|href)=\"(?!data:)[^\"]*", text) == []
    assert set(re.findall(r"https?://[^\"'\s)\\]+", text)) <= {"http://www.w3.org/2000/svg"}
    state = json.loads(re.search(r'id="state">(.*?)</script>', text, re.DOTALL)[1])
    assert state["engaged"] == ["B", "E"]
    assert state["gated"] is False
    assert "ratio 138/95" in re.search(r"<noscript>(.*?)</noscript>", text, re.DOTALL)[1]
    assert page(find("Q24"), "2") == text


def test_only_the_cutaway_makes_a_page_and_only_of_a_solid_train(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    target = str(tmp_path / "page.html")
    assert "only --what cutaway makes a page" in refused(capsys, "draw", "Q24", "--what", "stick", "-o", target)
    assert "leave --set and --speed out" in refused(capsys, "draw", "Q24", "--what", "cutaway", "--set", "P1", "-o", target)
    assert "pass through each other" in refused(capsys, "draw", "bench_set", "--what", "cutaway", "-o", target)
    with pytest.raises(UsageError, match="no range '9'"):
        write_page(find("Q24"), Path(target), "9")
    assert not Path(target).exists()
