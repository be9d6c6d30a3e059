"""Notebooks beside the pages: parts of fixed versions alone, one record on both sides, and the same marks for the same answers."""

from __future__ import annotations

import base64
import hashlib
import io
import json
import re
import sys
import zipfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from gearkit.answers.judge import marking
from gearkit.cli.main import main
from gearkit.lesson.record import Record
from gearkit.lesson.syllabus import LESSONS
from gearkit.site import course_site, page, pyodide_files, sheet_pages
from gearkit.site.own_code import jupyterlite, notebooks, wheels
from gearkit.words.errors import GearkitError, UsageError
from graders.mark import batch
from graders.take_in import take_in
from tests.graders.classroom import CLASS, Classroom, right, wrong
from tests.lesson import javascript

FEW = {"03": LESSONS["03"]}
KERNEL_PART = "@jupyterlite/pyodide-kernel-extension"


def wheel(files: Mapping[str, str]) -> bytes:
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w") as archive:
        for name, text in files.items():
            archive.writestr(name, text)
    return into.getvalue()


PLAYED = {
    "jupyterlite_pyodide_kernel-0.8.6-py3-none-any.whl": wheel(
        {
            f"x.data/data/share/jupyter/labextensions/{KERNEL_PART}/static/pypi/widgetsnbextension-4.0.999-py3-none-any.whl": "",
            f"x.data/data/share/jupyter/labextensions/{KERNEL_PART}/package.json": "{}",
        }
    ),
    "traitlets-5.14.3-py3-none-any.whl": wheel({"traitlets/__init__.py": ""}),
}
LOCK = json.dumps({"info": {}, "packages": {"traitlets": {"depends": [], "imports": ["traitlets"]}}}).encode()


def test_pyodides_lock_lists_exactly_the_wheels_that_lie_there_with_their_hashes() -> None:
    held = wheels.for_pyodide(PLAYED, LOCK)
    listed = json.loads(held.pop("pyodide-lock.json"))["packages"]
    assert {one["file_name"] for one in listed.values()} == set(held)
    assert set(listed) == {"gearkit", "jedi", "traitlets", "widgetsnbextension"}
    for one in listed.values():
        assert one["sha256"] == hashlib.sha256(held[one["file_name"]]).hexdigest()


def test_every_requirement_of_a_listed_wheel_is_listed() -> None:
    pinned = {
        name for name, _, _ in re.findall(r"^(\S+)==(\S+) --hash=sha256:(\w{64})$", wheels.LISTED.read_text(), re.MULTILINE)
    }
    given = pinned | {"gearkit", "jedi", "widgetsnbextension"}
    assert {need for _, needs in wheels._JOINS.values() for need in needs} <= given
    assert len(pinned) == len([line for line in wheels.LISTED.read_text().splitlines() if not line.startswith("#")])


def test_our_wheel_holds_layouts_and_no_lesson_no_command_and_no_marking() -> None:
    name, content = wheels.kit_wheel()
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        names = archive.namelist()
    assert re.fullmatch(r"gearkit-[\d.]+-py3-none-any\.whl", name)
    assert "gearkit/_data/datasets/layouts/Q36.toml" in names
    assert not [one for one in names if one.startswith(("graders", "gearkit/cli", "gearkit/_data/lessons"))]
    assert wheels.kit_wheel()[1] == content


def test_without_the_extra_or_with_another_version_the_next_thing_to_try_is_said(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    monkeypatch.setitem(sys.modules, "jupyterlite_core", None)
    assert main(["site", "-o", str(tmp_path / "s"), "--own-code"]) == 2
    assert 'Install it with: pip install "gearkit[own-code]"' in capsys.readouterr().err
    monkeypatch.undo()
    monkeypatch.setattr(jupyterlite, "_PROGRAM_HASH", "0")
    with pytest.raises(UsageError, match=r"the site takes 0\.8\.6 as it was tested"):
        jupyterlite.build({}, LOCK)


def test_a_wheel_that_differs_is_not_taken(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setenv("PIP_NO_INDEX", "1")
    monkeypatch.setenv("PIP_FIND_LINKS", str(tmp_path))
    with pytest.raises(UsageError, match=r"could not be fetched: .*try again with a network, or leave --own-code out"):
        wheels.fetched()
    # The folder is there already, and empty.
    monkeypatch.setattr(wheels, "_fetch", lambda folder: (folder / "a.whl").write_bytes(b"another"))
    with pytest.raises(UsageError, match="wheels are missing there, or others than the listed ones"):
        wheels.fetched()


def test_a_page_of_another_form_is_not_taken_for_jupyterlites() -> None:
    assert b"../start.js" in jupyterlite._started_by_us(
        b"<head>\n        await import(\n          '../config-utils.js?_=12'\n        );\n"
    )
    with pytest.raises(GearkitError, match="starts otherwise than the site expects"):
        jupyterlite._started_by_us(b"<head><script src='main.js'></script>")


@pytest.fixture
def site(monkeypatch: pytest.MonkeyPatch) -> course_site.Site:
    """A site of one lesson whose notebooks are played."""
    played = {jupyterlite.START: b"", jupyterlite.HOME: b"", jupyterlite.WORKER: b""}
    monkeypatch.setattr(course_site, "LESSONS", FEW)
    monkeypatch.setattr(pyodide_files, "files", lambda _given: {pyodide_files.LOCK: LOCK})
    monkeypatch.setattr(
        jupyterlite, "build", lambda held, _lock: played | {f"own_code/files/{name}": text for name, text in held.items()}
    )
    return course_site.build(own_code=True)


def test_each_lessons_page_leads_to_its_notebook_and_the_worker_keeps_notebooks_apart(site: course_site.Site) -> None:
    text = site.files[f"{FEW['03'].folder}.html"].decode()
    (path,) = set(re.findall(r'href="own_code/notebooks/index\.html\?path=([^"]+)">Try your own code</a>', text))
    held = json.loads(site.files[f"own_code/files/{path}"])
    assert held["metadata"]["kernelspec"]["name"] == "python"
    assert "../glossary/glossary.ipynb#" in json.dumps(held)
    worker = site.files["service_worker.js"].decode()
    (lessons, cells) = (json.loads(found) for found in re.findall(r"FILES = (\[.*\]);", worker))
    assert all(name.startswith("own_code/") for name in cells)
    assert set(lessons) | set(cells) == {"./", *site.files} - {"service_worker.js"}
    assert worker.endswith('importScripts("own_code/service-worker.js");\n')
    assert not re.findall(r"VERSION|LISTED", worker)


def test_without_notebooks_no_page_speaks_of_them(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(course_site, "LESSONS", FEW)
    monkeypatch.setattr(pyodide_files, "files", lambda _given: {pyodide_files.LOCK: LOCK})
    held = course_site.build().files
    assert not [name for name, text in held.items() if name.endswith(".html") and b"own_code/" in text]
    assert b"importScripts" not in held["service_worker.js"]


# What the notebooks' page offers: files by name with a signal when one changes. Python writes as bytes, the page as text.
JOINED = """
const files = new Map(Object.entries(payload.files));
const heard = [];
const contents = {
  fileChanged: { connect: (act) => heard.push(act) },
  get: async (path) => { if (!files.has(path)) throw new Error("404"); return files.get(path); },
  save: async (path, model) => { files.set(path, model); for (const act of heard) act(null, { newValue: { path } }); },
};
globalThis.localStorage = new Proxy({ held: new Map(Object.entries(payload.shelf)) }, {
  ownKeys: (all) => [...all.held.keys()], getOwnPropertyDescriptor: () => ({ enumerable: true, configurable: true }),
  get: (all, name) => ({ getItem: (key) => all.held.get(key) ?? null, setItem: (key, text) => all.held.set(key, text) })[name],
});
globalThis.window = { localStorage, addEventListener: () => {} };
globalThis.location = { search: "", href: "http://a/own_code/notebooks/index.html" };
module_cells_extension.offer();
const { default: plugin } = (await window._JUPYTERLAB.gearkit.get("./extension"))();
await plugin.activate({ serviceManager: { contents }, restored: new Promise(() => {}) });
if (payload.later) { files.set("my_record.json", payload.later); for (const act of heard) act(null, { newValue: { path: "my_record.json" } }); }
await new Promise((done) => setTimeout(done, 20));
return { files: Object.fromEntries(files), shelf: Object.fromEntries(Object.keys(localStorage).map((key) => [key, localStorage.getItem(key)])) };
"""


def beside_notebooks(shelf: Mapping[str, str], files: Mapping[str, object], later: object = None) -> dict[str, Any]:

    return dict(javascript.run(["cells_extension"], JOINED, {"shelf": shelf, "files": files, "later": later}, page.STATIC))


def events(text: str) -> list[str]:
    return [str(event["item"]) for event in json.loads(text)["events"]]


def test_the_record_of_the_pages_is_there_when_notebooks_open_and_what_python_writes_goes_back(tmp_path: Path) -> None:
    path = tmp_path / "my_record.json"
    Record(path).add("hint", {"item": "L03-02", "number": 1})
    on_pages = path.read_text(encoding="utf-8")
    Record(path).add("hint", {"item": "L03-03", "number": 1, "words": "ä"})
    written = {"content": base64.b64encode(path.read_bytes()).decode(), "format": "base64"}
    found = beside_notebooks({"gearkit/my_record.json": on_pages}, {}, written)
    assert events(found["shelf"]["gearkit/my_record.json"]) == ["L03-02", "L03-03"]
    assert json.loads(found["shelf"]["gearkit/my_record.json"])["seed"] == Record(path).seed
    assert found["files"]["my_record.json"] == written
    # Without a word from Python, what the pages hold lies there as Python's file.
    assert events(beside_notebooks({"gearkit/my_record.json": on_pages}, {})["files"]["my_record.json"]["content"]) == [
        "L03-02"
    ]


def test_two_records_that_grew_apart_become_one_and_a_damaged_file_is_left_for_python(tmp_path: Path) -> None:
    one, other = tmp_path / "one.json", tmp_path / "other.json"
    Record(one).add("hint", {"item": "L03-02", "number": 1})
    Record(other).add("hint", {"item": "L05-01", "number": 1})
    model = {"content": other.read_text(encoding="utf-8"), "format": "text"}
    found = beside_notebooks({"gearkit/my_record.json": one.read_text(encoding="utf-8")}, {"my_record.json": model})
    assert sorted(events(found["files"]["my_record.json"]["content"])) == ["L03-02", "L05-01"]
    assert sorted(events(found["shelf"]["gearkit/my_record.json"])) == ["L03-02", "L05-01"]
    broken = {"content": '{"format": 1, "ev', "format": "text"}
    found = beside_notebooks({"gearkit/my_record.json": one.read_text(encoding="utf-8")}, {"my_record.json": broken})
    assert found["files"]["my_record.json"] == broken
    assert events(found["shelf"]["gearkit/my_record.json"]) == ["L03-02"]


def test_a_sheet_comes_over_with_its_answers_once_and_never_over_work() -> None:
    key = "gearkit/cells s1_A1.ipynb"
    handed = json.dumps({"back": "http://a/sheets/x.html", "notebook": {"cells": [1]}})
    found = beside_notebooks({key: handed}, {})
    assert found["files"]["s1_A1.ipynb"]["content"] == {"cells": [1]}
    assert json.loads(found["shelf"][key]) == {"back": "http://a/sheets/x.html"}
    there = {"content": {"cells": [2]}, "format": "json"}
    assert beside_notebooks({key: handed}, {"s1_A1.ipynb": there})["files"]["s1_A1.ipynb"] == there


@pytest.mark.parametrize(
    ("path", "back", "address"),
    [
        ("03_what_one_set_can_do/what_one_set_can_do.ipynb", None, "03_what_one_set_can_do.html"),
        ("units/mine/lesson.ipynb", None, "units/mine.html"),
        ("glossary/glossary.ipynb", None, "glossary.html"),
        ("s1_A1.ipynb", "http://a/sheets/x.html", "http://a/sheets/x.html"),
        ("", None, "index.html"),
    ],
)
def test_a_link_leads_back_to_the_page_of_each_notebook(path: str, back: str | None, address: str) -> None:
    body = "return module_cells_extension.backFrom(payload[0], { back: payload[1] });"
    assert javascript.run(["cells_extension"], body, [path, back], page.STATIC)[0] == address


def test_notebook_page_and_notebook_in_the_browser_earn_the_same_marks(tmp_path: Path) -> None:
    """In the browser a notebook is saved as its kernel's: other words about the kernel, outputs, and what widgets leave."""
    room = Classroom(tmp_path, "L03-02, L03-05, L03-24")
    (tmp_path / "in").mkdir()
    for copy in sheet_pages.copies_in(room.course.folder):
        variants = room.variants(copy.learner)
        given = {item: marking.right_answer(variant) for item, variant in variants.items()}
        if copy.learner == "s2":
            given = {item: marking.wrong_texts(one, one.key.wrong_forms[0]) for item, one in variants.items()}
        _, stored = sheet_pages.page_of(copy)
        body = "return module_sheet_page.forCells(payload[0], payload[1]);"
        held = javascript.run(["sheet_page"], body, [stored["notebook"], given], page.STATIC)
        assert held["metadata"]["kernelspec"] == notebooks.KERNEL
        held["metadata"]["language_info"] = {
            "name": "python",
            "version": "3.14",
            "codemirror_mode": {"name": "python", "version": 3},
        }
        for cell in held["cells"]:
            if cell["cell_type"] == "code":
                cell["execution_count"] = 3
                cell["outputs"] = [{"output_type": "stream", "name": "stdout", "text": ["read as 7\n"]}]
                cell["metadata"]["trusted"] = True
        (tmp_path / "in" / copy.file_name).write_text(json.dumps(held, ensure_ascii=False), encoding="utf-8")
    assert take_in.take_in(room.course, "A1", tmp_path / "in", CLASS).taken == ("s1", "s2", "s3")
    in_browser = batch.mark_sheet(room.course, room.sheet, workers=1)
    for learner, write in (("s1", right), ("s2", wrong), ("s3", right)):
        room.hand_in(learner, room.copy(learner, write))
    in_lab = batch.mark_sheet(room.course, room.sheet, workers=1)
    for one, other in zip(in_browser.learners, in_lab.learners, strict=True):
        assert [(item.item, item.score, item.verdict, item.mistakes) for item in one.items] == [
            (item.item, item.score, item.verdict, item.mistakes) for item in other.items
        ]
    assert in_browser.learners[1].score < in_browser.learners[0].score == in_browser.learners[0].max
