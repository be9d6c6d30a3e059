"""The course as pages: nobody's numbers and no foreign address in it, Python of fixed versions behind it, and honest without."""

from __future__ import annotations

import io
import json
import os
import re
import subprocess
import sys
import tarfile
from pathlib import Path
from typing import Any

import pytest

from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site, kit_archives, page_words, pyodide_files
from gearkit.site.course_site import Site
from gearkit.site.notebook_cells import Cell, results
from gearkit.text import places
from gearkit.train import catalogue
from gearkit.words.errors import GearkitError, UsageError
from tests.support.amounts import SHORT
from tests.support.archives import unpack

SOME = {number: LESSONS[number] for number in (["00", "03"] if SHORT else LESSONS)}
PYTHON = {**dict.fromkeys(pyodide_files.HASHES, b"played"), pyodide_files.LOCK: b'{"packages": {}}'}


@pytest.fixture
def few(monkeypatch: pytest.MonkeyPatch) -> None:
    """A course of few lessons, so that a site is made quickly."""
    monkeypatch.setattr(course_site, "LESSONS", SOME)
    monkeypatch.setattr(pyodide_files, "files", lambda _given: PYTHON)


def texts(site: Site) -> dict[str, str]:
    return {name: content.decode() for name, content in site.files.items() if name.endswith((".html", ".js", ".mjs", ".css"))}


def stored(page: str) -> dict[str, Any]:
    return dict(json.loads(re.findall(r'id="gk-stored">(.*?)</script>', page)[0]))


@pytest.mark.usefixtures("few")
def test_two_sites_are_alike_to_the_byte_so_that_no_drawn_number_of_the_maker_is_in_them() -> None:
    """Every record begins with a seed of its own, from which all numbers are drawn."""
    one, other = course_site.build(), course_site.build()
    assert one.files == other.files
    assert f"{SOME['03'].folder}.html" in one.files


@pytest.mark.usefixtures("few")
def test_a_site_names_no_address_but_its_own_and_keeps_all_its_files_for_times_without_a_network() -> None:
    site = course_site.build()
    for name, text in texts(site).items():
        # A backslash ends an address that stands in quotation marks within the data of a panel.
        assert set(re.findall(r"\w+://[^\s\"'<>)`\\]+", text)) <= {
            "http://www.w3.org/2000/svg",
            "http://www.w3.org/1999/xhtml",
        }, name
        for target in re.findall(r'(?:href|src)="([^"#][^"#]*)', text):
            assert target.startswith("data:") or target in site.files or target.removesuffix(".html") in FOLDERS, (name, target)
    kept = json.loads(re.findall(r"const FILES = (\[.*\]);", texts(site)["service_worker.js"])[0])
    assert set(kept) == {"./", *site.files} - {"service_worker.js"}


FOLDERS = {plan.folder for plan in LESSONS.values()}


@pytest.mark.usefixtures("few")
def test_words_of_the_glossary_are_explained_where_they_first_stand_and_lead_to_their_section() -> None:
    held = texts(course_site.build())
    words = re.findall(r'<a href="glossary\.html#([^"]+)" class="gk-word" title="([^"]+)">', held[f"{SOME['03'].folder}.html"])
    assert len(words) > 8
    assert len(set(words)) == len(words)
    assert {section for section, _ in words} <= set(re.findall(r'<h2 id="([^"]+)">', held["glossary.html"]))
    assert not re.findall(r'\]\(|class="gk-word" title="[^"]*[<>*]', held[f"{SOME['03'].folder}.html"])
    assert 'class="gk-word"' not in held["glossary.html"]


@pytest.mark.usefixtures("few")
def test_a_page_waits_for_python_where_something_depends_on_the_learner() -> None:
    page = texts(course_site.build())[f"{SOME['03'].folder}.html"]
    held = stored(page)
    exercises = [cell for cell in held["cells"] if ".exercise(" in cell["source"]]
    assert len(exercises) > 9
    assert {cell["module"] for cell in exercises} == {"exercise_panel"}
    recall_and_progress = 2
    assert page.count(course_site.WAITING) == len(exercises) + recall_and_progress
    assert set(held["panels"]).isdisjoint(cell["id"] for cell in exercises)


def test_without_a_registry_the_site_says_so_and_its_panels_work(
    few: None, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.undo()
    monkeypatch.setattr(course_site, "LESSONS", SOME)
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("PATH", str(tmp_path))
    site = course_site.build()
    assert "its client npm is not installed here" in site.lacks
    assert not any(name.startswith("python/") for name in site.files)
    held = stored(texts(site)[f"{SOME['03'].folder}.html"])
    assert held["python"] is False
    assert len(held["panels"]) == 2


def test_python_is_taken_only_as_it_was_tested(tmp_path: Path) -> None:
    for name in pyodide_files.HASHES:
        (tmp_path / name).write_bytes(b"something else")
    with pytest.raises(
        UsageError, match=r"pyodide\.mjs is another one \(SHA-256 [0-9a-f]{12}…\); take the package pyodide 314"
    ):
        pyodide_files.files(tmp_path)
    (tmp_path / "pyodide.mjs").unlink()
    with pytest.raises(UsageError, match=r"pyodide\.mjs is missing"):
        pyodide_files.files(tmp_path)
    with pytest.raises(UsageError, match="cannot be read"):
        pyodide_files.files(tmp_path / "no.tgz")


def test_a_folder_with_something_else_in_it_is_left_alone_and_a_site_is_brought_up_to_date(tmp_path: Path) -> None:
    own = tmp_path / "own"
    own.mkdir()
    (own / "thesis.html").write_text("mine")
    with pytest.raises(UsageError, match="holds something else than a site"):
        course_site.write(Site({"index.html": b"new"}), own)
    assert [path.name for path in own.iterdir()] == ["thesis.html"]
    course_site.write(Site({"index.html": b"one", "units/old.html": b"old"}), tmp_path / "site")
    course_site.write(Site({"index.html": b"two"}), tmp_path / "site")
    assert (tmp_path / "site/index.html").read_bytes() == b"two"
    assert not (tmp_path / "site/units/old.html").exists()


def test_every_cell_that_a_page_words_anew_is_in_a_lesson() -> None:
    held = [cell["id"] for path in places.lessons().glob("*/*.ipynb") for cell in json.loads(path.read_text("utf-8"))["cells"]]
    assert set(page_words.INSTEAD) <= set(held)


# Runs in a Python that sees nothing but the kit's archive, as behind a page.
BEHIND_A_PAGE = """
import json, sys
sys.path[:] = [path for path in sys.path if "site-packages" not in path]
sys.path.insert(0, sys.argv[1])
from gearkit.site.browser_python.bridge import Bridge
# What takes long to load and has no use on a page.
SLOW = {"IPython", "ipywidgets", "numpy", "sympy", "http.client", "email.message", "urllib.request", "xml.sax"}
said = []
bridge = Bridge(lambda text: said.append(json.loads(text)), json.dumps({"record": sys.argv[2], "files": {}}))
for cell in json.load(sys.stdin):
    bridge.run_cell(json.dumps(cell))
begun = len(said)
for message in json.loads(sys.argv[3]):
    bridge.take(json.dumps(message))
print(json.dumps({"begun": said[:begun], "said": said[begun:], "loaded": sorted(SLOW & set(sys.modules))}))
"""


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("kit")
    with tarfile.open(fileobj=io.BytesIO(kit_archives.kit()), mode="r:gz") as archive:
        unpack(archive, folder)
    return folder


def behind_a_page(kit: Path, number: str, messages: list[dict[str, object]], record: str = "") -> dict[str, Any]:
    """Run a lesson's cells as Python does behind a page, pass messages, and return what it said."""
    (notebook,) = (places.lessons() / LESSONS[number].folder).glob("*.ipynb")
    cells = course_site.parts_of(notebook, lambda _target: None, "").for_python
    done = subprocess.run(
        [sys.executable, "-I", "-c", BEHIND_A_PAGE, str(kit), record, json.dumps(messages)],
        cwd=kit.parent, input=json.dumps(cells), capture_output=True, text=True, timeout=120, check=False,
        env={"GEARKIT_RECORD": str(kit.parent / f"{os.urandom(4).hex()}.json")},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return dict(json.loads(done.stdout))


@pytest.mark.parametrize("number", ["13", "15"] if SHORT else LESSONS)
def test_every_lesson_runs_with_nothing_but_the_kits_archive(number: str, kit: Path) -> None:
    told = behind_a_page(kit, number, [])
    assert [each for each in told["begun"] if "trouble" in each] == []
    titles = [each["state"]["title"] for each in told["begun"] if "state" in each]
    assert len(titles) > 1
    # A title is the name of a region, by which a screen reader finds it.
    assert len({*titles}) == len(titles), titles
    assert told["loaded"] == []


def test_a_library_that_a_page_lacks_is_named_in_a_sentence() -> None:
    cells = [Cell("l99-plot", True, "import no_such_library.plots")]
    with pytest.raises(GearkitError, match=r"Cell l99-plot needs the library no_such_library, .* run it in JupyterLab"):
        list(results(cells, {}))


def test_the_kit_holds_no_marking_and_no_commands(kit: Path) -> None:
    assert {path.name for path in kit.iterdir()} - {"__pycache__"} == {"anywidget.py", "datasets", "gearkit", "traitlets"}
    assert not (kit / "gearkit/cli").exists()


SEED = {"format": 1, "seed": "0123456789abcdef", "events": []}


def test_an_answer_on_a_page_is_checked_by_the_same_python_and_kept_in_the_record(kit: Path) -> None:
    right = [{"panel": "l03-ex-2", "content": {"do": "check", "given": {"answer": "1 + R/S"}}}]
    told = behind_a_page(kit, "03", right, json.dumps(SEED))
    states = [each["state"] for each in told["said"] if each.get("panel") == "l03-ex-2"]
    assert states[-1]["feedback"]["verdict"] == "Right"
    (record,) = (json.loads(each["record"]) for each in told["said"] if "record" in each)
    assert record["seed"] == SEED["seed"]
    assert [(event["kind"], event["item"], event["verdict"]) for event in record["events"]] == [("attempt", "L03-02", "right")]
    # What the learner has done stands at the end of the lesson at once.
    (progress,) = (each["html"] for each in told["said"] if each.get("cell") == "l03-progress")
    assert "1 of 13 exercises done" in progress


def test_what_the_page_changed_is_taken_without_an_echo_and_a_prediction_made_there_is_kept(kit: Path) -> None:
    made = {"kind": "forward reduction", "figure": "18/5", "typed": "3.6", "case": "sun in, ring held, carrier out"}
    messages: list[dict[str, object]] = [
        {"panel": "l03-explore-panel", "state": {"sun": 40}},
        {"panel": "l03-predict-panel", "state": {"prediction": made, "opened": [made["case"]]}},
        {"panel": "l03-explore-panel", "state": {"sun": 400}},
    ]
    told = behind_a_page(kit, "03", messages)
    assert [each for each in told["said"] if each.get("panel") == "l03-explore-panel" and "state" in each] == []
    (record,) = (json.loads(each["record"]) for each in told["said"] if "record" in each)
    assert [event["kind"] for event in record["events"]] == ["prediction", "reveal"]
    assert record["events"][1]["found"] == {"kind": "forward reduction", "figure": "18/5"}
    (history,) = (each["state"]["history"] for each in told["said"] if each.get("panel") == "l03-predict-panel")
    assert "you said forward reduction, 3.6; found forward reduction, 18/5" in history[0]
    # 400 teeth are none that the panel takes: the words go to the page, and Python stays up.
    assert "TraitError" in told["said"][-1]["trouble"]


def test_a_layout_that_is_put_together_on_a_page_leaves_it_as_a_file(kit: Path) -> None:
    lines = [
        ("sets", "P1 single 30/66"),
        ("joins", "input = P1.sun"),
        ("joins", "output = P1.carrier"),
        ("elements", "A brake P1.ring"),
    ]
    add = [{"do": "add", "kind": kind, "line": line} for kind, line in lines]
    steps = [*add, {"do": "save", "file": "made_here.toml"}]
    told = behind_a_page(kit, "13", [{"panel": "l13-build-panel", "content": step} for step in steps])
    (file,) = (each for each in told["said"] if "file" in each)
    assert file["file"] == "made_here.toml"
    assert catalogue.parse(file["text"]).sets[0].teeth == (30, 66)
