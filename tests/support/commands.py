"""Run a command of the kit inside the test's own process, as its user would see it."""

from __future__ import annotations

import json
from typing import Any

import pytest

from gearkit.cli.main import main


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    """Return exit code, output and error stream of a command line."""
    try:
        code = main(words)
    except SystemExit as stop:
        code = int(stop.code or 0)
    shown = capsys.readouterr()
    return code, shown.out, shown.err


def data(capsys: pytest.CaptureFixture[str], *words: str, code: int = 0) -> dict[str, Any]:
    """Return what a command prints with --json, after a look at its exit code."""
    found, out, _ = run(capsys, *words, "--json")
    assert found == code
    answer: dict[str, Any] = json.loads(out)
    return answer


def refused(capsys: pytest.CaptureFixture[str], *words: str) -> str:
    """Return the message with which a command refuses its input; it prints nothing else and shows no traceback."""
    code, out, err = run(capsys, *words)
    assert (code, out) == (2, "")
    assert "Traceback" not in err
    return err
