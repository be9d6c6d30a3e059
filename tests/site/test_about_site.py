"""The pages about the kit: what stands on them works as it stands, is all there, and asks for nothing from elsewhere."""

from __future__ import annotations

import argparse
import importlib
import json
import re
import shlex
from collections.abc import Iterator
from pathlib import Path

import pytest

from gearkit.cli.command import parser_of
from gearkit.site.about import about_site, api_pages
from gearkit.site.course_site import Site
from gearkit.text import places
from gearkit.words.errors import UsageError
from tests.support.amounts import SHORT

PROGRAMS = {name: importlib.import_module(f"{name}.cli.main") for name in ("gearkit", "graders")}
# As it is before the short form takes its place.
BY_SPHINX = api_pages.files
_FENCED = re.compile(r"^```(?:sh)?\n(.*?)^```", re.MULTILINE | re.DOTALL)
_COMMAND = re.compile(r"^(?:gearkit|graders) ")


@pytest.fixture(scope="module")
def site() -> Iterator[Site]:
    """The pages; those that Sphinx makes only in the whole form."""
    with pytest.MonkeyPatch.context() as patch:
        if SHORT:
            patch.setattr(api_pages, "files", lambda: {"index.html": b"<html></html>"})
        yield about_site.build([(parser(name), [one.example for one in held.commands()]) for name, held in PROGRAMS.items()])


def parser(name: str) -> argparse.ArgumentParser:
    return parser_of(name, PROGRAMS[name].ABOUT, PROGRAMS[name].commands())


def text_of(name: str) -> str:
    return (about_site.TEXTS / f"{name}.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", sorted(path.stem for path in about_site.TEXTS.glob("*.md")))
def test_every_command_of_a_text_runs_as_it_stands(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("HOME", str(tmp_path))
    lines = [
        line
        for block in re.findall(r"^```sh\n(.*?)^```", text_of(name), re.MULTILINE | re.DOTALL)
        for line in block.splitlines()
    ]
    assert len(lines) > 2
    for line in lines:
        program, *words = shlex.split(line)
        assert PROGRAMS[program].main(words) == 0, line


def commands_in_guides() -> Iterator[str]:
    """Every command of the instructor's guides, in blocks and in the middle of sentences."""
    guide = places.lessons() / "instructor"
    cells = json.loads((guide / "instructor.ipynb").read_text(encoding="utf-8"))["cells"]
    texts = ["".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"]
    for text in [*texts, (guide / "shared_server.md").read_text(encoding="utf-8")]:
        for block in _FENCED.findall(text):
            yield from (line.partition("  #")[0] for line in block.splitlines() if _COMMAND.match(line))
        yield from (" ".join(found.split()) for found in re.findall(r"(?<!`)`((?:gearkit|graders) [^`]+)`(?!`)", text))


def test_every_command_of_the_instructors_guides_is_one_that_its_program_takes() -> None:
    """What they do is played elsewhere; here it is held against the parsers, so that no option in a text is out of date."""
    seen = 0
    for line in commands_in_guides():
        program, *words = shlex.split(line)
        held = parser(program)
        names = {one.name for one in PROGRAMS[program].commands()}
        assert words[0] in names or words[0].startswith("-"), line
        (own,) = (each for each in held._actions if isinstance(each, argparse._SubParsersAction))
        known = {option for action in own.choices[words[0]]._actions for option in action.option_strings}
        assert {word.partition("=")[0] for word in words if word.startswith("--")} <= known, line
        seen += 1
    assert seen > 20


def test_the_page_of_commands_holds_every_command_and_every_option_with_its_help(site: Site) -> None:
    page = site.files["commands.html"].decode()
    for name, held in PROGRAMS.items():
        for command in held.commands():
            assert f'<h3 id="{name}-{command.name}">' in page
    options = re.findall(r"<dt>([^<]*)</dt><dd>([^<]*)</dd>", page)
    assert len(options) > 150
    assert [called for called, said in options if not said.strip()] == []
    assert "%(" not in page
    assert "SUPPRESS" not in page


def test_links_lead_to_pages_that_are_there_and_nothing_is_asked_for_elsewhere(site: Site) -> None:
    for name, content in site.files.items():
        if not name.endswith(".html"):
            continue
        page = content.decode()
        loaded = re.findall(r'<(?:img|script|link|iframe)[^>]*\b(?:src|href)="([^"]+)"', page)
        assert not [address for address in loaded if re.match(r"(?:https?:)?//", address)], name
        if not name.startswith("api/"):
            for target in re.findall(r'(?:href|src)="([^"#][^"#]*)', page):
                assert target.startswith("data:") or target in site.files, (name, target)
            ids = set(re.findall(r'\bid="([^"]+)"', page))
            assert set(re.findall(r'href="#([^"]+)"', page)) <= ids


def test_every_picture_has_its_words_and_is_shown_on_the_first_page(site: Site) -> None:
    found = re.findall(r'<figure><img src="([^"]+)" alt="([^"]*)">', site.files["index.html"].decode())
    assert len(found) == 6
    assert all(len(words) > 30 for _, words in found)


def test_without_sphinx_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(api_pages.importlib.util, "find_spec", lambda _name: None)
    with pytest.raises(UsageError, match=r'pip install "gearkit\[docs\]"'):
        BY_SPHINX()


@pytest.mark.skipif(SHORT, reason="GEARKIT_TESTS=whole runs Sphinx")
def test_the_pages_of_python_are_made_of_the_docstrings_without_a_warning(site: Site) -> None:
    page = site.files["api/gearkit_solve_ratios.html"].decode()
    assert "Return the ratio in tooth symbols, in LaTeX." in page
    assert all(f"api/{module.replace('.', '_')}.html" in site.files for module in api_pages.MODULES)
