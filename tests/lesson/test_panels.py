"""Panels without a browser: their state is set and read from Python, and a result stays shut until it was predicted."""

from __future__ import annotations

import base64
import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pytest
import traitlets

from gearkit.cli.main import main
from gearkit.draw.core import palette
from gearkit.draw.core.shaft_code import shaft_codes
from gearkit.lesson import one_set, panels
from gearkit.lesson.one_set import Roles
from gearkit.lesson.opening import open_lesson
from gearkit.lesson.panels import bundle
from gearkit.lesson.panels.layout import LayoutPanel
from gearkit.lesson.panels.one_set import OneSetPanel
from gearkit.lesson.panels.spec import train_spec
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.record import Record
from gearkit.train.catalogue import find
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.terms import Verdict

S, R = 36, 78
CASES = [  # drive, hold, driven, ratio worked by hand, the case's name
    ("sun", "ring", "carrier", 1 + Fraction(R, S), "forward reduction"),
    ("carrier", "ring", "sun", Fraction(S, S + R), "forward overdrive"),
    ("ring", "sun", "carrier", 1 + Fraction(S, R), "forward reduction"),
    ("carrier", "sun", "ring", Fraction(R, S + R), "forward overdrive"),
    ("sun", "carrier", "ring", Fraction(-R, S), "reverse reduction"),
    ("ring", "carrier", "sun", Fraction(-S, R), "reverse overdrive"),
]


@pytest.fixture
def record(tmp_path: Path) -> Record:
    return Record(tmp_path / "r.json")


@pytest.mark.parametrize(("drive", "hold", "driven", "ratio", "word"), CASES)
def test_one_set_gives_the_six_ratios_and_their_names(drive: str, hold: str, driven: str, ratio: Fraction, word: str) -> None:
    found = one_set.outcome(PlanetarySet("P1", sun_teeth=S, ring_teeth=R), Roles(drive, hold, driven))
    assert (found.ratio, found.word, found.speeds[driven]) == (ratio, word, 1 / ratio)


def test_two_members_joined_turn_as_one_and_none_held_is_neutral_and_both_is_a_tie_up() -> None:
    pset = PlanetarySet("P1", sun_teeth=S, ring_teeth=R)
    assert one_set.outcome(pset, Roles("sun", "none", "ring", "carrier ring")).word == "direct"
    assert one_set.outcome(pset, Roles("sun", "none", "ring")).verdict is Verdict.NEUTRAL
    assert one_set.outcome(pset, Roles("sun", "ring", "carrier", "sun ring")).verdict is Verdict.TIE_UP


@pytest.mark.parametrize(
    ("roles", "told"),
    [
        (("sun", "sun", "ring"), "each member has one role"),
        (("sun", "planet", "ring"), "a member is sun, carrier or ring"),
        (("sun", "ring", "carrier", "sun sun"), "choose one of none, sun carrier"),
    ],
)
def test_roles_that_cannot_be_are_refused_in_words(roles: tuple[str, ...], told: str) -> None:
    with pytest.raises(UsageError, match=told):
        Roles(*roles)


def test_a_shut_result_cannot_be_had_from_python_either(record: Record) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True)
    with pytest.raises(UsageError, match="stays shut until you predict"):
        panel.outcome()
    assert "Predict what the carrier does" in panel.words()
    assert "19/6" not in panel.static_html()


def test_a_prediction_opens_its_case_and_no_other(record: Record) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True, sun=S, planet=21)
    panel.predict("forward reduction", "3.2")
    assert panel.outcome().ratio == 1 + Fraction(R, S)
    panel.sun = 40
    assert panel.is_open
    panel.hold, panel.driven = "carrier", "ring"
    assert not panel.is_open


def test_a_prediction_and_both_its_times_are_in_the_record_before_anything_is_said_about_it(record: Record) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True, sun=S, planet=21)
    panel.predict("reverse reduction", "-2")
    panel.explanation = {"case": panel.case, "text": "I took the carrier for held."}
    said, found, reason = Record(record.path).events
    assert (said["kind"], found["kind"], reason["kind"]) == ("prediction", "reveal", "explanation")
    assert said["said"] == {"kind": "reverse reduction", "figure": "-2", "typed": "-2"}
    assert found["found"] == {"kind": "forward reduction", "figure": "19/6"}
    assert said["prediction"] == found["prediction"] == reason["prediction"]
    assert str(said["at"]) <= str(found["at"]) <= str(reason["at"])
    assert "verdict" not in said
    assert "score" not in said


def test_earlier_predictions_are_shown_again_after_a_restart(record: Record) -> None:
    OneSetPanel(Predictions(record, "03", "one set"), gated=True).predict("direct")
    again = OneSetPanel(Predictions(Record(record.path), "03", "one set"), gated=True)
    assert not again.is_open
    [line] = again.history
    assert "you said direct; found forward reduction, 19/6" in line


def test_only_numbers_get_a_true_minus_and_words_keep_their_hyphen(record: Record) -> None:
    layout = replace(find("Q36"), name="Two-set trial")
    panel = LayoutPanel(layout, Predictions(record, "05", "Q36"), gated=True, engaged=list(layout.engaged_in("R")))
    panel.predict("tie-up")
    assert f"Two-set trial: {' and '.join(panel.engaged)} applied: a range, ratio −" in panel.words()
    [line] = LayoutPanel(layout, Predictions(Record(record.path), "05", "Q36")).history
    assert "you said tie-up; found reverse, −" in line


@pytest.mark.parametrize(
    ("kind", "figure", "told"),
    [
        ("faster", "2", "is not one of the possible cases"),
        ("forward reduction", "three", "is not read as a number"),
        ("forward reduction", "2,006", "can be read in two ways"),
        ("forward reduction", "", "is not read as a number"),
    ],
)
def test_a_prediction_that_cannot_be_read_opens_nothing(record: Record, kind: str, figure: str, told: str) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True)
    with pytest.raises(UsageError, match=told):
        panel.predict(kind, figure)
    assert not panel.is_open
    assert record.events == ()


@pytest.mark.parametrize(
    ("typed", "figure"),
    [
        ("19/6", "19/6"),
        ("3.17", "317/100"),
        ("−2.5", "-5/2"),
        (" 3.2 : 1", "16/5"),
        (".5", "1/2"),
        ("4.", "4"),
        ("3,2", "16/5"),
        ("3 1/6", "19/6"),
        ("3½", "7/2"),
        ("about 3.2 to 1", "16/5"),
        ("i = 3.2", "16/5"),
        ("4.6 reverse", "-23/5"),
        ("1.2e1", "12"),
        ("16/5 = 3.2", "16/5"),
    ],
)
def test_a_predicted_number_is_read_as_every_answer_is(record: Record, typed: str, figure: str) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True)
    panel._on_said(panel, {"do": "predict", "kind": "forward reduction", "figure": typed}, [])
    assert panel.is_open
    assert panel.prediction == {"kind": "forward reduction", "figure": figure, "typed": typed, "case": panel.case}


def test_a_prediction_from_the_browser_that_cannot_be_read_is_sent_back_in_words(record: Record) -> None:
    panel = OneSetPanel(Predictions(record, "03", "one set"), gated=True)
    sent: list[dict[str, str]] = []
    panel.send = lambda content, buffers=None: sent.append(content)
    for figure, told in (
        ("2,006", "Write 2.006 if the comma stands for the decimal point, or 2006 if it parts the thousands."),
        ("R/S", "R is a letter or a word, and a number is asked for."),
        ("9" * 5000, "400 are read"),
    ):
        panel._on_said(panel, {"do": "predict", "kind": "forward reduction", "figure": figure}, [])
        assert told in sent[-1]["trouble"]
    assert not panel.is_open
    assert record.events == ()


def test_two_given_speeds_make_the_third(record: Record) -> None:
    panel = OneSetPanel(
        Predictions(record, "02", "two speeds"),
        gated=True,
        mode="speeds",
        sun=32,
        planet=20,
        drive="sun",
        given="ring",
        input_speed=1300,
        second_speed=0,
    )
    panel.predict("forward", "400")
    assert panel.third() == ("carrier", Fraction(32 * 1300, 32 + 72))
    assert record.of_kind("reveal")[0]["found"] == {"kind": "carrier forward", "figure": "400"}


def test_the_ring_follows_from_the_diameters_and_assembly_from_the_sum() -> None:
    panel = OneSetPanel(sun=32, planet=20, planets=4)
    assert panel.ring == 32 + 2 * 20


@pytest.mark.parametrize(("trait", "value"), [("sun", 5), ("planet", 500), ("hold", "planet"), ("input_speed", 10**6)])
def test_a_state_that_cannot_be_drawn_is_refused(trait: str, value: object) -> None:
    with pytest.raises(traitlets.TraitError, match=trait):
        setattr(OneSetPanel(), trait, value)


def test_a_layout_panel_gives_state_ratio_and_speeds() -> None:
    panel = LayoutPanel(find("Q36"))
    panel.apply("C", "A")
    assert panel.engaged == ["A", "C"]
    assert panel.outcome().ratio == 1 + Fraction(93, 59)
    assert panel.speeds().members["P1.carrier"] == 1
    panel.apply_range("R")
    assert panel.outcome().ratio == Fraction(-94, 38)
    panel.apply("B", "D")
    assert panel.outcome().verdict is Verdict.INPUT_LOCKED
    assert panel.speeds().shafts["input"] == 0


def test_an_element_that_is_not_there_is_refused_with_the_ones_that_are() -> None:
    with pytest.raises(UsageError, match=r"no element 'Z'. It has: A, B, C, D, E"):
        LayoutPanel(find("Q36")).apply("Z")


def test_every_range_of_a_layout_stays_shut_until_it_was_predicted(tmp_path: Path) -> None:
    lesson = open_lesson("06", tmp_path / "r.json")
    panel = lesson.predict("Q36")
    assert isinstance(panel, LayoutPanel)
    for item in find("Q36").ranges:
        panel.apply_range(item.name)
        with pytest.raises(UsageError, match="stays shut"):
            panel.outcome()
        panel.predict("neutral" if item.name == "N" else "forward", "" if item.name == "N" else "1.5")
        assert panel.outcome().verdict in (Verdict.RANGE, Verdict.NEUTRAL)
    assert len(lesson.record.of_kind("prediction")) == len(find("Q36").ranges)
    assert lesson.progress().predictions == len(find("Q36").ranges)


def test_ranges_of_the_chart_are_sent_once_the_panel_stands_but_never_ahead_of_a_prediction(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    q24 = find("Q24")
    sent: list[dict[str, str]] = []
    monkeypatch.setattr(LayoutPanel, "send", lambda _panel, content: sent.append(content))
    LayoutPanel(q24, gated=True)._on_message(None, {"do": "ranges"}, [])
    assert sent == []
    panel = LayoutPanel(q24)
    panel._on_message(None, {"do": "something else"}, [])
    panel._on_message(None, {"do": "ranges"}, [])
    assert [message["range"] for message in sent] == ["E F", "D E", "B E", "C E", "B C", "A D", "D"]
    panel.apply_range("2")
    [second] = [message for message in sent if message["range"] == "B E"]
    assert (second["drawing"], second["story"]) == (panel.drawing, panel.story)


@pytest.mark.parametrize("panel", [
    lambda: OneSetPanel(title="One set"),
    lambda: OneSetPanel(title="One set", mode="speeds"),
    lambda: OneSetPanel(title="One set", drive="sun", hold="none", driven="ring"),
    lambda: LayoutPanel(find("Q36"), title="Q36", engaged=["B", "C"]),
    lambda: LayoutPanel(find("Q48"), title="Q48"),
], ids=["held", "speeds", "neutral", "Q36", "Q48"])  # fmt: skip
def test_what_has_no_script_still_gets_a_drawing_and_the_facts_in_words(panel: object) -> None:
    shown = panel()
    data, _ = shown._repr_mimebundle_()
    assert {"text/plain", "text/html", "application/vnd.jupyter.widget-view+json"} <= set(data)
    assert shown.words() in data["text/plain"]
    for drawing in shown.pictures():
        root = ElementTree.fromstring(drawing)
        assert root.get("role") == "img"
        tags = [child.tag.rpartition("}")[2] for child in root]
        assert "title" in tags
        assert "desc" in tags
    assert "<script" not in data["text/html"]


@pytest.mark.parametrize("entry", ["one_set", "layout_panel", "exercise_panel"])
def test_a_panel_comes_as_one_script_without_imports(entry: str) -> None:
    text = bundle.script(entry)
    assert "export default {" in text
    assert "\nimport " not in text
    assert text.count("export ") == 1


def test_a_form_of_import_that_is_not_bundled_is_an_error_and_not_a_guess(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "odd.js").write_text('import * as all from "./dom.js";\nexport default {};\n')
    (tmp_path / "ring.js").write_text('import { a } from "./ring2.js";\nexport default {};\n')
    (tmp_path / "ring2.js").write_text('import { b } from "./ring.js";\nexport const a = 1;\n')
    monkeypatch.setattr(bundle, "STATIC", tmp_path)
    with pytest.raises(GearkitError, match="this form is not bundled"):
        bundle.script.__wrapped__("odd")
    with pytest.raises(GearkitError, match="import each other in a ring"):
        bundle.script.__wrapped__("ring")


def test_a_saved_notebook_shows_drawings_and_words_without_a_kernel() -> None:
    """Feedback pages and prints are made from saved outputs; widget state is not in them."""
    import nbformat
    from nbclient import NotebookClient
    from nbconvert import HTMLExporter

    cell = nbformat.v4.new_code_cell(
        "from gearkit.lesson.panels.layout import LayoutPanel\nfrom gearkit.train.catalogue import find\n"
        'LayoutPanel(find("Q36"), title="Explore: Q36", engaged=["B", "C"])'
    )
    notebook = NotebookClient(nbformat.v4.new_notebook(cells=[cell]), timeout=120, store_widget_state=False).execute()
    page, _ = HTMLExporter().from_notebook_node(notebook)
    shown = [base64.b64decode(text).decode() for text in re.findall(r'src="data:image/svg\+xml;base64,([^"]+)"', page)]
    assert ['class="gk gk-stick"' in shown[0], 'class="gk gk-levers"' in shown[1], len(shown)] == [True, True, 2]
    assert "a range, ratio 200665/49324 = 4.068" in page
    assert page.count("Run this lesson from the top to use the panel again.") == 1


def test_the_colours_of_shafts_in_panels_are_those_of_the_pictures() -> None:
    css = Path(panels.__file__).with_name("static").joinpath("panel.css").read_text(encoding="utf-8")
    light, dark = css.partition('body[data-jp-theme-light="false"]')[::2]
    for page, colours in ((light, palette.LIGHT), (dark, palette.DARK)):
        for hue in palette.HUES:
            assert f"--gk-{hue}: {colours[hue]};" in page
    nodes = [node for lever in train_spec(find("Q48"))["levers"] for node in lever["nodes"]]
    assert {node["kind"] for node in nodes} == {"sun", "carrier", "ring", "shaft"}
    codes = shaft_codes(find("Q48"))
    assert {node["role"] for node in nodes} <= {code.role for code in codes.values()}


@pytest.mark.parametrize("ring", [67, 66])
def test_what_cannot_be_put_together_is_said_with_every_panel_and_picture_of_the_train(
    ring: int, record: Record, tmp_path: Path
) -> None:
    lesson, file = open_lesson("06", record.path), tmp_path / "own.toml"
    told = (f"P1 single 30/{ring} 3 planets", "input P1.sun", "P1.carrier output", "A P1.ring", "B P1.sun P1.ring")
    flags = ("--set", "--join", "--join", "--brake", "--clutch")
    lines = [word for pair in zip(flags, told, strict=True) for word in pair]
    assert main(["new", str(file), *lines, "--range", "1: A", "--range", "2: B"]) == 0
    own = str(file)
    panels_of_it = [lesson.explore(own), lesson.predict(own), lesson.cutaway(own)]
    panels_of_it += [lesson.explore_about(topic, own) for topic in ("faults", "shifts")]
    why = "ring 67 less sun 30 is odd"
    assert [why in panel.note for panel in panels_of_it] == [ring == 67] * 5
    assert [why in panel.static_html() for panel in panels_of_it] == [ring == 67] * 5
    for what in ("stick", "cutaway", "front"):
        assert (why in lesson.show(own, what)._repr_html_()) is (ring == 67)
    assert why not in lesson.show(own, "levers")._repr_html_()
