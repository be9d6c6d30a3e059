"""Every sample that a text of the kit shows works: the README's and the guides' commands as they stand, and what docstrings show."""

from __future__ import annotations

import doctest
import importlib
import re
import shlex
import shutil
from pathlib import Path

import pytest

from gearkit.site.about import about_site
from gearkit.text import places
from graders.cli import telling
from graders.course import course as course_folders
from tests.graders import test_help_examples as examples
from tests.graders.classroom import Classroom, right
from tests.site.test_about_site import PROGRAMS, commands_in_guides
from tests.support.amounts import SHORT

ROOT = Path(__file__).parents[2]
# Lines that are played elsewhere, or that no test can play here, with the reason.
NOT_HERE = {
    "demo": "sets up an environment of its own; tests/house/test_start.py plays it",
    "test": "would run these tests within these tests",
    "gearkit lessons": "opens JupyterLab and stays; tests/browser and tests/house/test_wheel.py start it",
    "gearkit lessons --no-browser": "fills a folder in the home; tests/cli/test_every_command.py plays it into another",
    "gearkit new my.toml": "asks for its lines; tests/cli/test_new_command.py answers",
    "graders mark COURSE SHEET": "of the guides' course below",
    "graders demo -o demo": "takes 20 s; tests/demo plays it",
    "graders doctor": "its answer is that of the machine; tests/graders/test_protection.py plays it",
    "pip install gearkit": "needs a registry; tests/house/test_wheel.py installs the built wheel",
}
WHOLE_ONLY = (
    "gearkit place mine.toml",
    "gearkit bench Q24 --whole -o train",
    "graders unit my.toml -o my_unit",
    "gearkit teeth TARGETS.toml",
)
# The guides' commands in the order of the job. Where a guide leaves arguments out, they stand here.
PLAYED = {
    "graders items": "",
    'graders compose "lessons 1-13" --blueprint "2 easy, 3 middle, 1 hard of torque" -o week9.toml': "",
    "gearkit ratios MY.toml": "",
    "graders compose MY.toml -o mine.toml": "",
    "graders compose L02-01,L03-02,L06-03 -o week3.toml": "",
    "graders check week3.toml --class roster.csv": "",
    "graders preview week3.toml --learner fd07": "",
    "graders preview SHEET --answers": "graders preview week3.toml --answers",
    "graders course COURSE --late ...": 'graders course COURSE --late "10 percent a day, 3 days" --grace 15',
    "graders hand-out COURSE week3.toml --class roster.csv": "",
    "graders course COURSE --language de": "graders course COURSE --language en",
    "graders take-in COURSE week3 handed_in.zip": "",
    "graders mark COURSE week3": "",
    "graders report COURSE week3": "",
    "graders hand-back COURSE week3": "",
    "graders mark COURSE week3 --resume": "",
    "graders report --pseudonyms": "graders report COURSE week3 --pseudonyms",
    "graders retake --below 50 --cap 70": "graders retake COURSE week3 --below 50 --cap 70",
}


# These end with 1 where they have something to tell: a fault that may be there, an answer that is wrong.
FINDINGS = ("gearkit faults", "gearkit exercise")


def play(line: str) -> None:
    program, *words = shlex.split(line)
    assert PROGRAMS[program].main(words) == (1 if line.startswith(FINDINGS) else 0), line


def fenced(text: str) -> list[str]:
    """The lines of a text's blocks of commands, without what stands before and behind the command."""
    blocks = re.findall(r"^```(?:sh)?\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
    lines = [re.sub(r"\s+#.*", "", line).strip() for block in blocks for line in block.splitlines()]
    return [line.removeprefix("python3 .start ") for line in lines if line and not line.startswith("#")]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with the files that the texts speak of as the reader's own."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    # A slow machine is told how far long work is.
    monkeypatch.setattr(telling, "QUIET_SECONDS", float("inf"))
    shutil.copy(places.datasets() / "layouts" / "Q24.toml", "MY.toml")
    shutil.copy(next((places.datasets() / "targets").glob("*.toml")), "TARGETS.toml")
    for name in ("roster.csv", "ROSTER.csv"):
        Path(name).write_text(examples.ROSTER, encoding="utf-8")
    return tmp_path


def test_every_command_of_the_readme_works_as_it_stands(desk: Path) -> None:
    lines = fenced((ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(lines) > 20
    for name in ("mine.toml", "my.toml"):
        shutil.copy("MY.toml", name)
    for line in lines:
        if line not in NOT_HERE and not (SHORT and line in WHOLE_ONLY):
            play(line)


def hand_in() -> None:
    """Two of three learners, as a zip of the copies that they were given."""
    room = Classroom.__new__(Classroom)
    room.course = course_folders.open_course(Path("COURSE"))
    room.sheet = examples.hand_out.sheet_of(room.course, "week3")
    for learner, write in (("fd06", right), ("fd07", None)):
        folder = room.hand_in(learner, room.copy(learner, write), time="")
        (Path("handed in") / learner).mkdir(parents=True)
        shutil.move(folder / "week3.ipynb", Path("handed in") / learner)
        folder.rmdir()
    shutil.make_archive("handed_in", "zip", "handed in")


def test_the_instructors_guide_is_played_from_the_first_command_to_the_last(desk: Path) -> None:
    # What the guide of shared servers says is played by accounts of their own in tests/graders/test_exchange.py; a command
    # that is only named has its example played in tests/graders/test_help_examples.py.
    server = set(fenced((places.lessons() / "instructor" / "shared_server.md").read_text(encoding="utf-8")))
    asked = {line for line in commands_in_guides() if len(shlex.split(line)) > 2 or line == "graders items"}
    assert asked - server - set(NOT_HERE) <= set(PLAYED)
    assert set(PLAYED) <= set(commands_in_guides())
    for line, whole in PLAYED.items():
        if " take-in " in line:
            hand_in()
        play(whole or line)


def test_every_command_of_the_learners_guide_is_played_or_named_with_a_reason() -> None:
    for path in about_site.TEXTS.glob("*.md"):
        text = path.read_text(encoding="utf-8")
        played = re.findall(r"^```sh\n(.*?)^```", text, re.MULTILINE | re.DOTALL)
        assert set(fenced(text)) - {line for block in played for line in block.splitlines()} <= set(NOT_HERE)


def test_every_sample_of_a_docstring_gives_what_it_shows() -> None:
    tried = 0
    for path in sorted(path for package in ("gearkit", "graders") for path in (ROOT / package).rglob("*.py")):
        if ">>> " in path.read_text(encoding="utf-8"):
            module = importlib.import_module(".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"))
            result = doctest.testmod(module)
            assert result.failed == 0, module.__name__
            tried += result.attempted
    assert tried > 90
