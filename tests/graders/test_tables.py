"""The book-keeping's tables alone are loaded, and the rest of it comes when it is asked for."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

REST = ("nbgrader.apps", "nbgrader.server_extensions", "nbconvert", "rfc3987_syntax", "jupyter_server")


def told(script: str, *words: str) -> str:
    """What a new process says."""
    done = subprocess.run([sys.executable, "-c", script, *words], capture_output=True, text=True, timeout=120)
    assert done.returncode == 0, done.stderr
    return done.stdout.strip()


def test_opening_a_gradebook_loads_the_tables_and_nothing_of_the_rest(tmp_path: Path) -> None:
    script = (
        "import sys; from pathlib import Path\n"
        "from graders.course import course; from graders.book import gradebook\n"
        "with gradebook.opened(course.create(Path(sys.argv[1]))) as book:\n"
        "    gradebook.add_students(book, [('s1', 'Ann Lee')])\n"
        "    print(sorted(gradebook.student_ids(book)))\n"
        f"print(sorted(set({REST!r}) & set(sys.modules)))\n"
    )
    assert told(script, str(tmp_path / "course")) == "['s1']\n[]"


def test_whatever_else_is_asked_of_the_package_is_there(tmp_path: Path) -> None:
    script = (
        "from graders.book import tables; tables.load()\n"
        "from nbgrader import api\n"
        "import nbgrader, inspect\n"
        "assert not hasattr(nbgrader, '__no_such_thing__') and inspect.getmodule(nbgrader) is nbgrader\n"
        "print(nbgrader._jupyter_server_extension_points()[0]['module'], nbgrader.__version__[:2])\n"
        "print(nbgrader.converters.__name__, nbgrader.api is api, hasattr(nbgrader, 'no_such_thing'))\n"
        "from nbgrader.apps import NbGraderAPI\n"
        "from nbgrader.api import Gradebook\n"
        "print(Gradebook is api.Gradebook)\n"
    )
    assert told(script) == "nbgrader 0.\nnbgrader.converters True False\nTrue"


def test_programs_of_the_package_can_be_loaded_at_once() -> None:
    script = (
        "from graders.book import tables; tables.load()\n"
        "from nbgrader.apps import NbGraderApp; from nbgrader.preprocessors import ClearOutput\n"
        "print(NbGraderApp.name, ClearOutput.__name__)\n"
    )
    assert told(script) == "nbgrader ClearOutput"


def test_a_package_that_was_started_before_stays_as_it_is() -> None:
    script = (
        "import nbgrader; before = nbgrader\n"
        "from graders.book import tables; tables.load()\n"
        "import nbgrader\n"
        "print(nbgrader is before, type(nbgrader).__name__)\n"
    )
    assert told(script) == "True module"


def test_a_release_whose_tables_need_its_start_is_started_by_whoever_imports_them(tmp_path: Path) -> None:
    package = tmp_path / "nbgrader"
    package.mkdir()
    (package / "__init__.py").write_text("started = True\n")
    (package / "api.py").write_text("from nbgrader import started\nGradebook = started\n")
    script = (
        "import sys; sys.path.insert(0, sys.argv[1])\n"
        "from graders.book import tables; tables.load()\n"
        "from nbgrader.api import Gradebook; print(Gradebook)\n"
    )
    assert told(script, str(tmp_path)) == "True"


def test_where_it_is_not_installed_nothing_happens() -> None:
    script = (
        "import sys; sys.path = [entry for entry in sys.path if 'site-packages' not in entry]\n"
        "from graders.book import tables; tables.load()\n"
        "print('nbgrader' in sys.modules)\n"
    )
    assert told(script) == "False"
