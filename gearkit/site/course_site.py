"""The whole course as pages: home, lessons, glossary and record, with Python behind them where it can be had."""

from __future__ import annotations

import hashlib
import json
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from html import escape
from pathlib import Path

from gearkit.answers import items
from gearkit.lesson.course.overview import PURPOSES
from gearkit.lesson.panels import bundle
from gearkit.lesson.syllabus import LESSONS, LessonPlan
from gearkit.site import kit_archives, pyodide_files, sheet_pages
from gearkit.site.browser_python import compiled_modules, memory_image
from gearkit.site.lesson_parts import Parts, parts_of
from gearkit.site.own_code import jupyterlite
from gearkit.site.own_code.notebooks import contents
from gearkit.site.page import STATIC, button, data_of, framed, link, script_of, style
from gearkit.site.sheet_pages import Copy
from gearkit.text import places
from gearkit.text.files import write_atomically
from gearkit.words.errors import UsageError
from gearkit.words.say import later, say

WAITING = later("This needs Python, which is on its way.")
COURSE = later("Planetary automatic transmissions")
GLOSSARY, RECORD = "glossary.html", "record.html"
_SYMPY_ARCHIVE = "python/sympy.bin"
IMAGE = "python/image.bin"


@dataclass
class Site:
    """A site as it grows.

    Args:
        files: content by the file's address in the site.
        lacks: why there is no Python in it, in a sentence; "" where there is.
    """

    files: dict[str, bytes] = field(default_factory=dict)
    lacks: str = ""

    def add(self, address: str, content: str | bytes) -> None:
        """Take a file.

        Args:
            address: where it lies in the site.
            content: text (written as UTF-8) or bytes.
        """
        self.files[address] = content.encode() if isinstance(content, str) else content


def build(
    python: Path | None = None, units: Sequence[Path] = (), copies: Mapping[str, Copy] | None = None, *, own_code: bool = False
) -> Site:
    """Return the course as a site.

    Args:
        python: Pyodide's package, as `pyodide_files.files` takes it; without one and without a registry the site has no
            Python, and says so.
        units: folders of units, each with its lesson.ipynb.
        copies: by its address in the site, each learner's copy of a sheet.
        own_code: whether the lessons also lie there as notebooks, for those who want to write code of their own.

    Raises:
        UsageError: a unit has no lesson, the given package is another one, or notebooks cannot be had.
        GearkitError: a cell of a notebook fails.
    """
    site = Site()
    _add_python(site, python, units if own_code else None)
    chapters = [(f"{plan.folder}.html", _notebook(plan)) for plan in LESSONS.values()]
    order = [address for address, _ in chapters]
    for number, (address, notebook) in enumerate(chapters):
        plan = list(LESSONS.values())[number]
        near = _near(order, number) + _own_code(site, f"{plan.folder}/{notebook.name}")
        site.add(address, _lesson_page(site, _title(plan), parts_of(notebook, _address_of, say(WAITING)), near))
    unit_list = [_add_unit(site, folder) for folder in units]
    glossary = parts_of(places.lessons() / "glossary" / "glossary.ipynb", _address_of, say(WAITING), words=False)
    page = _lesson_page(site, say("Glossary"), glossary, _own_code(site, "glossary/glossary.ipynb"))
    site.add(
        GLOSSARY, re.sub(r"<h2>([^<>]*)</h2>", lambda match: f'<h2 id="{match[1].replace(" ", "-")}">{match[1]}</h2>', page)
    )
    for address, copy in (copies or {}).items():
        _add_sheet(site, address, copy)
    site.add(RECORD, _framed(say("My record"), _record_main(), "record"))
    site.add("index.html", _framed(say(COURSE), _home(unit_list, notebooks=jupyterlite.START in site.files), "home"))
    _add_scripts(site)
    return site


def write(site: Site, folder: Path) -> None:
    """Write a site into a folder.

    Args:
        site: from `build`.
        folder: a new folder, or one that holds a site written before, which is brought up to date.

    Raises:
        UsageError: the folder holds something else, or cannot be written.
    """
    listed = folder / ".gearkit_site.json"
    if folder.exists() and (not folder.is_dir() or (any(folder.iterdir()) and not listed.is_file())):
        raise UsageError(
            f"{folder}: holds something else than a site; give a new folder, so that nothing of yours is replaced."
        )
    try:
        before = json.loads(listed.read_text(encoding="utf-8")) if listed.is_file() else []
        for address, content in site.files.items():
            write_atomically(folder / address, content, durable=False)
        # The names of sheets stand in no file of the site: a server would give that to anybody.
        there = [path.relative_to(folder).as_posix() for path in (folder / sheet_pages.FOLDER).glob("*.html")]
        for address in {*before, *there} - set(site.files):
            (folder / address).unlink(missing_ok=True)
        open_to_all = sorted(name for name in site.files if not name.startswith(f"{sheet_pages.FOLDER}/"))
        write_atomically(listed, json.dumps(open_to_all, indent=0), durable=False)
    except (OSError, ValueError) as fault:
        raise UsageError(f"{folder}: the site cannot be written there ({fault}); choose another folder.") from None


def _notebook(plan: LessonPlan) -> Path:
    (notebook,) = (places.lessons() / plan.folder).glob("*.ipynb")
    return notebook


def _title(plan: LessonPlan) -> str:
    return say("Lesson {number}: {title}", number=int(plan.number), title=plan.title) if plan.number != "00" else plan.title


def _address_of(target: str) -> str | None:
    """Return the page for a notebook that another one links to."""
    folder, (path, _, section) = Path(target).parent.name, target.partition("#")
    # A unit has the glossary beside its lesson.
    if Path(path).name == "glossary.ipynb":
        return GLOSSARY + (f"#{section}" if section else "")
    return f"{folder}.html" if folder in {plan.folder for plan in LESSONS.values()} else None


def _own_code(site: Site, path: str, root: str = "") -> str:
    """Return the link from a page to its notebook; "" where there are none."""
    if jupyterlite.START not in site.files:
        return ""
    return link(jupyterlite.address_of(path, root), say("Try your own code"))


def _address_in_unit(page: str | None) -> str | None:
    return None if page is None else f"../{page}"


def _near(order: Sequence[str], number: int) -> str:
    before = link(order[number - 1], say("← Lesson before"), "prev") if number else ""
    after = link(order[number + 1], say("Next lesson →"), "next") if number + 1 < len(order) else ""
    return before + after


def _add_python(site: Site, given: Path | None, notebooks: Sequence[Path] | None) -> None:
    """Add what runs Python; notebooks where units to lay in are given, of which there may be none."""
    if notebooks is not None and (why := jupyterlite.missing()):
        raise UsageError(why)
    try:
        held = pyodide_files.files(given)
    except UsageError as fault:
        if given is not None or notebooks is not None:
            raise
        site.lacks = str(fault)
        return
    lock = held[pyodide_files.LOCK]
    if notebooks is not None:
        site.files |= jupyterlite.build(contents(LESSONS, notebooks), lock)
    held, kit = compiled_modules.compiled(
        {**held, pyodide_files.LOCK: pyodide_files.without_packages(lock)}, kit_archives.kit()
    )
    for name, content in {**held, "kit.bin": kit}.items():
        site.add(f"python/{name}", content)
    image = memory_image.image(held, kit)
    if image is not None:
        site.add(IMAGE, image)
    worker = (STATIC / "worker.mjs").read_text(encoding="utf-8")
    site.add("worker.mjs", worker.replace("IMAGE_VERSION", memory_image.version(held, kit) if image is not None else ""))
    site.add("python_files.mjs", (STATIC / "python_files.mjs").read_bytes())


def _lesson_page(site: Site, title: str, parts: Parts, near: str, root: str = "", files: dict[str, str] | None = None) -> str:
    extras = [_SYMPY_ARCHIVE] if parts.needs_sympy and not site.lacks else []
    if extras and _SYMPY_ARCHIVE not in site.files:
        site.add(_SYMPY_ARCHIVE, kit_archives.sympy())
    stored = {
        "panels": parts.panels, "cells": parts.for_python, "files": files or {}, "extras": extras, "python": not site.lacks,
    }  # fmt: skip
    return _framed(title, parts.html, "lesson", root, near, data_of(stored))


def _add_unit(site: Site, folder: Path) -> tuple[str, str]:
    """Add the page of a unit's lesson; return its address and its title."""
    notebook = folder / "lesson.ipynb"
    if not notebook.is_file():
        raise UsageError(f"{folder}: holds no lesson.ipynb; give a folder that graders unit made.")
    parts = parts_of(notebook, lambda target: _address_in_unit(_address_of(target)), say(WAITING))
    files = {
        path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.toml")) if path.name == "layout.toml"
    }
    name = folder.resolve().name
    address = f"units/{name}.html"
    title = next((cell.source.split("\n")[0].lstrip("# ") for cell in parts.cells if not cell.is_code), folder.name)
    own = _own_code(site, f"units/{name}/lesson.ipynb", "../")
    site.add(address, _lesson_page(site, title, parts, own, "../", files))
    return address, title


def _add_sheet(site: Site, address: str, copy: Copy) -> None:
    main, stored = sheet_pages.page_of(copy)
    notebooks = jupyterlite.START in site.files
    data = data_of(
        {**stored, "python": not site.lacks, "open": jupyterlite.address_of(copy.file_name, "../") if notebooks else ""}
    )
    site.add(address, _framed(copy.sheet, main + (sheet_pages.in_a_notebook() if notebooks else ""), "sheet", "../", data=data))
    # A static server lists a folder that has no page of its own.
    site.add(f"{sheet_pages.FOLDER}/index.html", _framed(say("Sheets"), f"<p>{say(sheet_pages.NOBODY)}</p>", "none", "../"))


def _framed(title: str, main: str, kind: str, root: str = "", near: str = "", data: str = "") -> str:
    everything = link(f"{root}index.html", say("All lessons")) + near
    apart = link(root + GLOSSARY, say("Glossary")) + link(root + RECORD, say("My record"))
    course, again = escape(say("Course"), quote=True), escape(say("Course, again"), quote=True)
    nav = f'<header class="gk-head"><nav aria-label="{course}">{everything}{apart}</nav></header>'
    said = '<p class="gk-say" id="gk-python" role="status" hidden></p><div id="gk-notices" role="alert"></div>'
    foot = f'<footer class="gk-foot"><nav aria-label="{again}">{everything}</nav></footer>'
    head = f'<link rel="stylesheet" href="{root}gearkit.css"><script src="{root}gearkit.js" defer></script>'
    root_data = {"data-kind": kind, "data-root": root}
    return framed(title, f"{nav}<main>{said}\n{main}</main>{foot}", head, data, **root_data)


def _home(units: Sequence[tuple[str, str]], *, notebooks: bool) -> str:
    rows = "".join(_row(plan) for plan in LESSONS.values())
    own = "".join(f"<li>{link(address, escape(title))}</li>" for address, title in units)
    heads = (say(COURSE), say("From your instructor"), say("Lessons"), say("Your own code"))
    yours = f"<h2>{heads[1]}</h2><ul>{own}</ul>" if own else ""
    own_code = f"<h2>{heads[3]}</h2><p>{_own_code_words()}</p>" if notebooks else ""
    my_record = link(RECORD, say("My record"))
    kept = say(
        "Your work is kept in this browser. To take it along or to another machine, save it under {my_record}.",
        my_record=my_record,
    )
    return (
        f'<h1>{heads[0]}</h1>{yours}<p id="gk-due"></p><h2>{heads[2]}</h2><ul class="gk-course">{rows}</ul>{own_code}'
        f'<p>{kept}</p><p id="gk-offline"></p>'
    )


def _own_code_words() -> str:
    there = link(jupyterlite.HOME, say("open the notebooks"))
    return say(
        "The same lessons as notebooks, in which every cell can be changed and new ones written, in this browser: "
        "{open_the_notebooks}. The first time they take a while (about 30 MB). Your work in them is kept in this browser too, "
        "and your record is the same as on the pages.",
        open_the_notebooks=there,
    )


def _row(plan: LessonPlan) -> str:
    own = "" if plan.number == "00" else " ".join(item.id for item in items.of_lesson(int(plan.number)))
    time = say("{minutes} minutes, needs {needs}", minutes=plan.minutes, needs=plan.needs)
    return (
        f'<li><a href="{plan.folder}.html">{escape(_title(plan))}</a><br>{escape(say(PURPOSES[plan.number]))}<br>{escape(time)}'
        f' <strong data-lesson="{plan.number}" data-items="{own}"></strong></li>'
    )


def _record_main() -> str:
    about = say(
        "Predictions, answers and hints are kept in this browser, and only there. The file {file} is the same as in JupyterLab: "
        "put it beside your lessons there, or bring it in here.",
        file="<code>my_record.json</code>",
    )
    save = button("gk-save", say("Save my record to a file"))
    head, bring = say("My record"), say("Bring in a record from a file:")
    return f"""<h1>{head}</h1>
<p id="gk-count"></p>
<p>{about}</p>
<p>{save}</p>
<p><label>{bring} <input type="file" id="gk-bring" accept=".json,application/json"></label></p>
<p id="gk-told" role="status"></p>"""


def _add_scripts(site: Site) -> None:
    site.add("gearkit.css", style())
    site.add("gearkit.js", script_of(sorted(set(bundle.entries().values())), "site_page"))
    own = sorted(name for name in site.files if name.startswith(f"{jupyterlite.FOLDER}/"))
    listed = sorted(set(site.files) - set(own) - {name for name in site.files if name.startswith(f"{sheet_pages.FOLDER}/")})
    worker = (STATIC / "service_worker.js").read_text(encoding="utf-8")
    # Names that hold other names go first.
    for name, value in (
        ("CELLS_VERSION", _version(site, own)),
        ("CELLS_LISTED", json.dumps(own)),
        ("VERSION", _version(site, listed)),
        ("LISTED", json.dumps(["./", *listed])),
    ):
        worker = worker.replace(name, value)
    if own:
        worker += f'\nimportScripts("{jupyterlite.WORKER}");\n'
    site.add("service_worker.js", worker)


def _version(site: Site, names: Sequence[str]) -> str:
    held = b"".join(name.encode() + hashlib.sha256(site.files[name]).digest() for name in names)
    return hashlib.sha256(held).hexdigest()[:16]
