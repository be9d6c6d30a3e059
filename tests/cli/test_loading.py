"""Commands load and end without the search for circles; whoever calls them from a program of their own keeps it."""

from __future__ import annotations

import gc
import subprocess
import sys

import pytest

from gearkit.cli.main import main
from gearkit.text.loading import loading

# A circle that nobody holds any more is told by its end, which only the search brings about.
CIRCLE = "class Told:\n    def __del__(self): print('searched')\n\ntold = Told()\ntold.itself = told\ndel told\n"


def searched(code: str) -> bool:
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    return "searched" in done.stdout


def test_nothing_is_searched_while_modules_are_loaded_and_then_again() -> None:
    with loading():
        assert not gc.isenabled()
    assert gc.isenabled()
    with pytest.raises(ImportError, match="missing"), loading():
        raise ImportError("missing")
    assert gc.isenabled()
    gc.disable()
    try:
        with loading():
            pass
        assert not gc.isenabled()
    finally:
        gc.enable()


def test_the_tables_are_loaded_without_a_search() -> None:
    code = (
        "import gc\nfrom graders.book import tables\nruns = []\n"
        "gc.collect()\ngc.callbacks.append(lambda phase, facts: phase == 'start' and runs.append(phase))\n"
        "tables.load()\ndone = len(runs)\nimport sys\nprint(done, 'nbgrader.api' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    often, loaded = done.stdout.split()
    # Once is what all that was loaded brings about where the search is allowed again; without the rule it was hundreds.
    assert (int(often) <= 1, loaded) == (True, "True")


def test_a_command_of_its_own_ends_without_a_last_search() -> None:
    assert searched(CIRCLE)
    as_a_command = "import sys\nfrom gearkit.cli.main import main\nsys.argv = ['gearkit', 'layouts']\n"
    assert not searched(f"{as_a_command}main()\n{CIRCLE}")


def test_a_command_that_a_program_calls_leaves_the_programs_search_alone(capsys: pytest.CaptureFixture[str]) -> None:
    held = gc.get_freeze_count()
    assert main(["layouts"]) == 0
    assert gc.isenabled()
    assert gc.get_freeze_count() == held
    assert capsys.readouterr().out
