"""The one command for a fresh machine: what it does where a part of Python is missing."""

from __future__ import annotations

import importlib.machinery
import importlib.util
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = f"python3.{sys.version_info[1]}-venv"


@pytest.fixture
def start(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> ModuleType:
    monkeypatch.setattr(sys, "dont_write_bytecode", True)
    loader = importlib.machinery.SourceFileLoader("start_of_the_kit", str(ROOT / ".start"))
    spec = importlib.util.spec_from_loader(loader.name, loader)
    assert spec is not None
    found = importlib.util.module_from_spec(spec)
    loader.exec_module(found)
    monkeypatch.setattr(found, "OWN", tmp_path / ".venv")
    return found


class Machine:
    """A machine whose Python has neither venv with pip nor pip until the package is installed."""

    def __init__(self, package_comes: bool) -> None:
        self.package_comes, self.installed, self.asked = package_comes, False, []

    def call(self, words: list[str], **more: Any) -> int:
        self.asked.append(words)
        if "apt-get" in words:
            self.installed = self.installed or (self.package_comes and "install" in words)
            return 0 if self.package_comes else 100
        return 0 if self.installed and "--without-pip" not in words else 1


@pytest.mark.parametrize(("user", "as_root"), [(0, []), (1000, ["sudo"])])
def test_where_debian_left_out_venv_its_package_is_installed(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    user: int,
    as_root: list[str],
) -> None:
    machine = Machine(package_comes=True)
    monkeypatch.setattr(start.subprocess, "call", machine.call)
    monkeypatch.setattr(start.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(start.os, "geteuid", lambda: user)
    monkeypatch.setattr(start, "works", lambda python: machine.installed)
    assert start.own_environment() == start.OWN / "bin" / "python"
    assert f"Installing what this Python lacks for it: {PACKAGE}" in capsys.readouterr().out
    [install] = [words for words in machine.asked if "apt-get" in words and "install" in words]
    assert install[: len(as_root) + 1] == [*as_root, "env"]
    assert install[-1] == PACKAGE


@pytest.mark.parametrize("there", [(), ("apt-get", "sudo")], ids=["no apt", "apt fails"])
def test_where_it_cannot_be_installed_the_user_is_told_what_to_type(
    start: ModuleType,
    monkeypatch: pytest.MonkeyPatch,
    there: tuple[str, ...],
) -> None:
    machine = Machine(package_comes=False)
    monkeypatch.setattr(start.subprocess, "call", machine.call)
    monkeypatch.setattr(start.shutil, "which", lambda name: name if name in there else None)
    monkeypatch.setattr(start, "works", lambda python: False)
    with pytest.raises(SystemExit, match=rf"neither venv with pip nor pip itself.*\n +sudo apt-get install -y {PACKAGE}"):
        start.own_environment()
    assert any("apt-get" in words for words in machine.asked) is bool(there)
    assert not start.OWN.exists()
