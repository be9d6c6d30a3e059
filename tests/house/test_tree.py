"""The tree keeps its shape: a fixed top level, modules of one job, no machine paths, no forbidden words."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
TOP_LEVEL = {"README.md", "DEVELOPERS.md", "pyproject.toml", "lessons", "gearkit", "graders", "tests", "datasets"}
LONGEST_MODULE = 400
TEXT_ENDINGS = {".py", ".md", ".toml", ".js", ".css", ".ipynb", ".csv", ".json", ".html", ".txt", ""}


def tracked_files() -> list[Path]:
    listed = subprocess.run(
        ["git", "ls-files", "--cached", "--others", "--exclude-standard"],
        capture_output=True,
        text=True,
        cwd=ROOT,
        check=False,
    )
    assert listed.returncode == 0, "the tree's rules are checked in a git checkout"
    return [ROOT / name for name in listed.stdout.splitlines() if (ROOT / name).is_file()]


def test_the_top_level_holds_the_agreed_names_only() -> None:
    found = {path.relative_to(ROOT).parts[0] for path in tracked_files()}
    assert {name for name in found if not name.startswith(".")} - TOP_LEVEL == set()


def test_modules_stay_short_enough_for_one_job() -> None:
    long = [
        f"{path.relative_to(ROOT)}: {count} lines"
        for package in ("gearkit", "graders")
        for path in sorted((ROOT / package).rglob("*.py"))
        if (count := len(path.read_text(encoding="utf-8").splitlines())) > LONGEST_MODULE
    ]
    assert long == []


def test_no_machine_path_or_registry_host_is_written_down() -> None:
    machine = re.compile(
        r"/(?:work|farm|root)/[a-z]|/tmp/(?:bash_jobs|brief)|pythonhosted"
        + r"\.org|pypi"
        + r"\.org/simple|registry"
        + r"\.npmjs"
    )
    found = [
        f"{path.relative_to(ROOT)}:{number}"
        for path in tracked_files()
        if path.suffix in TEXT_ENDINGS and path != Path(__file__).resolve()
        for number, line in enumerate(path.read_text(encoding="utf-8", errors="replace").splitlines(), start=1)
        if machine.search(line)
    ]
    assert found == []
