"""The wheel alone does the main job, outside the checkout, in an empty environment with an empty home."""

from __future__ import annotations

import json
import os
import shutil
import site
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.support.amounts import SHORT

ROOT = Path(__file__).resolve().parents[2]
PASSED_ON = {"PATH", "LANG", "TMPDIR"} | {name for name in os.environ if name.startswith(("PIP_", "SSL_", "REQUESTS_"))}


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("wheel")
    subprocess.run([sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", str(folder), str(ROOT)], check=True)
    (built,) = folder.glob("gearkit-*.whl")
    return built


@pytest.mark.alone
def test_the_wheel_ships_lessons_datasets_and_scripts_for_the_browser(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    assert "gearkit/_data/datasets/layouts/Q36.toml" in names
    assert any(name.startswith("gearkit/_data/lessons/") and name.endswith(".ipynb") for name in names)
    assert any(name.startswith("gearkit/lesson/panels/") and name.endswith(".js") for name in names)
    assert not any(name.startswith("tests/") for name in names)


@pytest.mark.alone
def test_the_installed_wheel_runs_the_main_job_in_an_empty_environment(wheel: Path, tmp_path: Path) -> None:
    home, out = tmp_path / "home", tmp_path / "demo"
    home.mkdir()
    environment = {name: value for name, value in os.environ.items() if name in PASSED_ON} | {"HOME": str(home)}
    subprocess.run([sys.executable, "-m", "venv", str(tmp_path / "venv")], check=True, env=environment)
    programs = tmp_path / "venv" / "bin"
    # The short form lends it the packages of this environment, without this checkout; that the kit's own list of them is
    # enough, the command of the README shows, and the whole form.
    lent = [path for path in map(Path, site.getsitepackages()) if path.is_dir()] if SHORT else []
    for packages in (tmp_path / "venv").glob("lib/python*/site-packages"):
        (packages / "lent.pth").write_text("".join(f"{path}\n" for path in lent))

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [str(programs / words[0]), *words[1:]],
            env=environment,
            cwd=home,
            capture_output=True,
            text=True,
            timeout=600,
            check=False,
        )

    installed = run("python", "-m", "pip", "install", "-q", *(["--no-deps", str(wheel)] if SHORT else [f"{wheel}[class]"]))
    assert installed.returncode == 0, installed.stderr
    where = run("python", "-c", "import gearkit, graders; print(gearkit.__file__, graders.__file__)").stdout
    assert where.count(str(tmp_path / "venv")) == 2, where
    ratios = run("gearkit", "ratios", "Q36", "--json")
    assert ratios.returncode == 0, ratios.stderr
    assert json.loads(ratios.stdout)["ranges"][1]["ratio"]["exact"] == "152/59"
    lessons = run("gearkit", "lessons", "--to", str(home / "lessons"), "--no-browser")
    assert lessons.returncode == 0, lessons.stderr
    assert list((home / "lessons").rglob("*.ipynb"))
    for attempt in ("first", "second"):
        demo = run("graders", "demo", "-o", str(out))
        assert demo.returncode == 0, f"{attempt} run: {demo.stdout}\n{demo.stderr}"
    assert "27 of 27" in demo.stdout


# Run in the new environment: a lesson as a learner's notebook server runs it.
RUN_A_LESSON = """
import pathlib, nbformat
from nbclient import NotebookClient
(path,) = pathlib.Path("lessons").glob("03_*/*.ipynb")
notebook = nbformat.read(path, 4)
NotebookClient(notebook, timeout=240, kernel_name="python3", resources={"metadata": {"path": str(path.parent)}}).execute()
print(sum("application/vnd.jupyter.widget-view+json" in output.get("data", {}) for cell in notebook.cells for output in cell.get("outputs", [])))
"""


@pytest.mark.alone
@pytest.mark.skipif(SHORT or shutil.which("uv") is None, reason="fetches the lowest versions, which pip cannot choose")
def test_a_lesson_runs_with_the_lowest_versions_that_are_allowed(wheel: Path, tmp_path: Path) -> None:
    home, programs = tmp_path / "home", tmp_path / "venv" / "bin"
    home.mkdir()
    passed_on = {name: value for name, value in os.environ.items() if name in PASSED_ON}
    environment = passed_on | {"HOME": str(home), "PATH": f"{programs}:{os.environ['PATH']}"}

    def run(*words: str) -> str:
        done = subprocess.run(words, env=environment, cwd=home, capture_output=True, text=True, timeout=600, check=False)
        assert done.returncode == 0, done.stderr
        return done.stdout

    run("uv", "venv", "-q", "-p", sys.executable, str(tmp_path / "venv"))
    install = ("uv", "pip", "install", "-q", "-p", str(programs / "python"))
    run(*install, "--resolution", "lowest-direct", "-r", str(ROOT / "pyproject.toml"))
    run(*install, "--no-deps", str(wheel))
    assert "jupyterlab 4.2.0" in run(
        "python", "-c", "from importlib.metadata import version; print('jupyterlab', version('jupyterlab'))"
    )
    assert "Quillbrook Q24" in run("gearkit", "ratios", "Q24")
    run("gearkit", "lessons", "--to", str(home / "lessons"), "--no-browser")
    assert run("python", "-c", RUN_A_LESSON).split()[-1] == "18"
