"""What reaches the screen: usable text where it shows ASCII or Latin-1 alone, and no orders to it out of a file."""

from __future__ import annotations

import io
import json
import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from gearkit import __version__
from gearkit.cli.main import commands, main
from gearkit.text import places
from gearkit.text.screen import Screen, neutral, plain
from gearkit.train import catalogue
from graders.cli import main as graders_main

EXAMPLES = {one.name: shlex.split(one.example)[1:] for one in commands()}
EXAMPLES["lessons"] = ["lessons", "--to", "mine", "--no-browser"]  # the printed one opens a browser
EXAMPLES["place"] += ["--searches", "1"]
FINDINGS = ("faults", "exercise")  # what these examples show: a faulty element, a wrong answer
ERRORS = {"no such layout": ["ratios", "Q−36·é"], "no such command": ["ratïos"], "help": ["torques", "--help"]}
# Clears the screen, sets its title, hides what follows, goes back in the line; the last two turn letters round.
ORDERS = "\x1b[2J\x1b]0;owned\x07\x9b8m\x7f\b\u202egear\u2066"
AN_ORDER = re.compile("[^\n\t\x20-\x7e\xa0-\u2027\u202f-\u2065\u206a-\U0010ffff]|[\u061c\u200e\u200f]")


class Terminal:
    """Stands in for a terminal with an encoding of its own."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch, encoding: str) -> None:
        self._encoding = encoding
        self._streams = {}
        for name in ("stdout", "stderr"):
            self._streams[name] = io.TextIOWrapper(io.BytesIO(), encoding, write_through=True)
            monkeypatch.setattr(sys, name, self._streams[name])

    def shows(self, name: str) -> str:
        return self._streams[name].buffer.getvalue().decode(self._encoding)


def ended(command: list[str]) -> int:
    try:
        return main(command)
    except SystemExit as stop:
        return int(stop.code or 0)


@pytest.mark.parametrize("encoding", ["ascii", "latin-1", "cp437"])
@pytest.mark.parametrize("name", [*EXAMPLES, *ERRORS])
def test_every_command_prints_usable_text_on_a_terminal_without_utf_8(
    name: str, encoding: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    terminal = Terminal(monkeypatch, encoding)
    code = ended(EXAMPLES.get(name) or ERRORS[name])
    assert code == (2 if name.startswith("no such") else 1 if name in FINDINGS else 0), terminal.shows("stderr")
    shown = terminal.shows("stdout") + terminal.shows("stderr")
    assert shown.strip()
    assert "fault of its own" not in shown
    # No letter that a terminal lacks is left without one that stands for it.
    assert shown.count("?") == (1 if "Is it" in shown else 0) or name in (
        "help",
        "exercise",
    )  # these two ask questions of their own


@pytest.mark.parametrize(
    ("told", "torque"),
    [({"LC_ALL": "C"}, "N.m"), ({"PYTHONIOENCODING": "ascii"}, "N.m"), ({"PYTHONIOENCODING": "latin-1"}, "N·m"),
     ({"LC_ALL": "C", "PYTHONUTF8": "0"}, "N.m"), ({"PYTHONIOENCODING": "utf-8"}, "N·m")],
    ids=str,
)  # fmt: skip
def test_a_command_of_its_own_process_does_as_the_terminal_says(told: dict[str, str], torque: str) -> None:
    encoding = told.get("PYTHONIOENCODING", "ascii")
    line = [sys.executable, "-m", "gearkit.cli.main", "torques", "Q36", "4", "--input-torque", "150"]
    kept = {name: value for name, value in os.environ.items() if name not in ("LC_ALL", "PYTHONIOENCODING", "PYTHONUTF8")}
    done = subprocess.run(line, env=kept | told, capture_output=True, timeout=60, check=False)
    assert (done.returncode, done.stderr) == (0, b"")
    assert f"torques in {torque}" in done.stdout.decode(encoding)


def test_files_stay_utf_8_whatever_the_terminal_shows(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    layout = catalogue.find("Q24")
    text = catalogue.dumps(layout).replace(layout.name, "Gänge · 2−4")
    Path("mine.toml").write_text(text, encoding="utf-8")
    Terminal(monkeypatch, "ascii")
    assert ended(["place", "mine.toml", "--searches", "1", "-o", "placed.toml"]) == 0
    assert ended(["draw", "mine.toml", "--what", "chart", "-o", "chart.svg"]) == 0
    for name in ("placed.toml", "chart.svg"):
        assert "Gänge · 2−4" in Path(name).read_text(encoding="utf-8")


def test_data_lose_no_letter_on_any_terminal(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    name = "Gänge · 2−4" + ORDERS
    (tmp_path / "mine.toml").write_text(hostile(name), encoding="utf-8")
    for encoding in ("ascii", "utf-8"):
        terminal = Terminal(monkeypatch, encoding)
        assert ended(["ratios", str(tmp_path / "mine.toml"), "--json"]) == 0
        assert not AN_ORDER.search(terminal.shows("stdout"))
        assert json.loads(terminal.shows("stdout"))["layout"] == name


def hostile(name: str) -> str:
    layout = catalogue.find("Q36")
    return catalogue.dumps(layout).replace(json.dumps(layout.name), json.dumps(name, ensure_ascii=True))


@pytest.mark.parametrize("name", [name for name, words in EXAMPLES.items() if {"Q36", "Q48", "Q24"} & {*words}])
def test_a_layout_with_screen_orders_in_its_name_gives_none_to_the_screen(
    name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("odd.toml").write_text(hostile("a" + ORDERS + "z"), encoding="utf-8")
    terminal = Terminal(monkeypatch, "utf-8")
    words = ["odd.toml" if word in ("Q36", "Q48", "Q24") else word for word in EXAMPLES[name]]
    assert ended(words) == (1 if name == "faults" else 0)
    assert not AN_ORDER.search(terminal.shows("stdout") + terminal.shows("stderr"))


@pytest.mark.parametrize("key", ["name", "citation", "set", "element", "range"])
def test_faults_found_in_a_file_are_told_without_its_screen_orders(
    key: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = hostile("a")
    odd = json.dumps(ORDERS)
    text = {
        "name": text.replace('name = "a"', f"name = [{odd}]"),
        "citation": text.replace('kind = "own"', f"kind = {odd}", 1),
        "set": text.replace('name = "P1"', f"name = {odd}"),
        "element": text.replace('name = "A"', f"name = {odd}"),
        "range": text.replace('engaged = ["A", "C"]', f'engaged = ["A", {odd}]'),
    }[key]
    path = tmp_path / f"odd{ORDERS.replace('/', '')}.toml"
    path.write_text(text, encoding="utf-8")
    terminal = Terminal(monkeypatch, "utf-8")
    assert ended(["ratios", str(path)]) == 2
    shown = terminal.shows("stderr")
    assert not AN_ORDER.search(shown)
    assert "\\u001b" in shown or "\\x1b" in shown


def test_a_file_name_that_is_no_text_ends_in_a_sentence(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    terminal = Terminal(monkeypatch, "utf-8")
    assert ended(["ratios", str(tmp_path / "odd\udcff.toml")]) == 2
    assert "odd\\udcff.toml" in terminal.shows("stderr")
    assert "fault of its own" not in terminal.shows("stderr")


def test_a_line_of_progress_goes_back_over_itself_and_no_other_text_does() -> None:
    under = io.StringIO()
    screen = Screen(under, "utf-8")
    for text in ("\r1 of 9", "\r9 of 9", "\n", "marks of ", "\rAnn\n"):
        screen.write(text)
    assert under.getvalue() == "\r1 of 9\r9 of 9\nmarks of \\u000dAnn\n"


def test_every_letter_that_the_kit_writes_has_a_plain_form() -> None:
    """Found in all source and data files, so that a new sign cannot be forgotten."""
    files = [file for folder in (Path(main.__code__.co_filename).parents[1], Path(graders_main.__code__.co_filename).parents[1],
                                 places.datasets()) for file in folder.rglob("*") if file.suffix in (".py", ".toml", ".csv")]  # fmt: skip
    signs = {sign for file in files for sign in file.read_text(encoding="utf-8") if ord(sign) > 127}
    assert {"−", "·", "→"} <= signs
    assert {sign for sign in signs if not plain(sign, "ascii").isascii() or "?" in plain(sign, "ascii")} == set()


@pytest.mark.parametrize(
    ("text", "letters"),
    [("−2 N·m", "-2 N.m"), ("ω ≥ 3 °", "omega >= 3  deg"), ("Ødegård, Kåre", "Odegard, Kare"), ("m² ½", "m2 1/2"), ("漢", "?")],
)
def test_plain_letters_say_the_same(text: str, letters: str) -> None:
    assert plain(text, "ascii") == letters
    assert plain(text, "utf-8") == text


def test_text_without_orders_stays_as_it_is() -> None:
    text = "Gänge · 2−4\n\tω → η, 漢字, e\u0301"
    assert neutral(text) == text


@pytest.mark.parametrize(("program", "command"), [("gearkit", main), ("graders", graders_main)])
def test_a_program_tells_its_version_and_alone_shows_its_help(
    program: str, command, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit, match=r"^0$"):
        command(["--version"])
    assert capsys.readouterr().out == f"{program} {__version__}\n"
    assert command([]) == 0
    shown = capsys.readouterr()
    assert (f"usage: {program}" in shown.out, f"example:  {program}" in shown.out, shown.err) == (True, True, "")
