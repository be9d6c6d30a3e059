"""Modules in compiled form for a page's Python: they do what their sources do, and without Node.js the sources stay."""

from __future__ import annotations

import io
import shutil
import subprocess
import sys
import tarfile
import zipfile
from pathlib import Path

import pytest

from gearkit.site import kit_archives
from gearkit.site.browser_python import compiled_modules, compiling

SOURCE = b'''"""What it is for."""
from __future__ import annotations

class Empty:
    """Nothing but this."""

def twice(number: NoSuchName) -> int:
    """Say what it gives."""
    assert number > 0, "checks stay"
    return 2 * number

KEPT = """a text that is no docstring"""
'''
USE = """
import os, sys
sys.path[:0] = [sys.argv[1], os.path.join(sys.argv[1], "library.zip")]
import one, two.three
for module in (one, two.three):
    assert module.twice(4) == 8 and module.Empty() and module.KEPT == "a text that is no docstring"
    assert module.__doc__ is None and module.twice.__doc__ is None and module.Empty.__doc__ is None
    try:
        module.twice(0)
    except AssertionError as fault:
        code = fault.__traceback__.tb_next
        print(os.path.basename(code.tb_frame.f_code.co_filename), code.tb_lineno)
import source
print(source.__doc__)
"""


def test_compiled_modules_run_without_docstrings_and_with_everything_else(tmp_path: Path) -> None:
    (tmp_path / "one.pyc").write_bytes(compiling.compiled(SOURCE, "here/one.py"))
    old = kit_archives.zipped(
        {"two/__init__.py": b"", "two/three.py": SOURCE, "source.py": b'"""Stays."""', "two/data.txt": b"x"}
    )
    new = compiling.library(old, {"two/three.py"}, "/library.zip")
    assert new == compiling.library(old, {"two/three.py"}, "/library.zip")
    (tmp_path / "library.zip").write_bytes(new)
    with zipfile.ZipFile(tmp_path / "library.zip") as archive:
        assert sorted(archive.namelist()) == ["source.py", "two/__init__.py", "two/data.txt", "two/three.pyc"]
    done = subprocess.run(
        [sys.executable, "-I", "-c", USE, str(tmp_path)], capture_output=True, text=True, timeout=60, check=False
    )
    assert (done.stdout, done.stderr) == ("one.py 9\nthree.py 9\nStays.\n", "")


def test_where_node_is_missing_or_fails_the_sources_stay(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    held = {compiled_modules.LIBRARY: b"library"}
    monkeypatch.setattr(shutil, "which", lambda _name: None)
    assert compiled_modules.compiled(held, b"kit") == (held, b"kit")
    node = tmp_path / "node"
    monkeypatch.setattr(shutil, "which", lambda _name: str(node))
    node.write_text("#!/bin/sh\nexit 1\n")
    node.chmod(0o755)
    assert compiled_modules.compiled(held, b"kit") == (held, b"kit")


def test_what_was_compiled_takes_the_place_of_sources_and_is_kept(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    kit = kit_archives.packed({"gearkit/one.py": b"1", "gearkit/one.js": b"js"})
    with tarfile.open(tmp_path / "modules.tar", "w") as archive:
        entry = tarfile.TarInfo("gearkit/one.pyc")
        entry.size = len(b"compiled")
        archive.addfile(entry, io.BytesIO(b"compiled"))
    node = tmp_path / "node"
    monkeypatch.setattr(shutil, "which", lambda _name: str(node))
    node.write_text(f'#!/bin/sh\ncp {tmp_path}/modules.tar "$2/compiled.tar"\nprintf quick > "$2/python_stdlib.out"\n')
    node.chmod(0o755)
    python, compact = compiled_modules.compiled({compiled_modules.LIBRARY: b"slow", "other": b"o"}, kit)
    assert python == {compiled_modules.LIBRARY: b"quick", "other": b"o"}
    with tarfile.open(fileobj=io.BytesIO(compact), mode="r:gz") as archive:
        assert archive.getnames() == ["gearkit/one.js", "gearkit/one.pyc"]
    node.unlink()
    assert compiled_modules.compiled({compiled_modules.LIBRARY: b"slow", "other": b"o"}, kit) == (python, compact)
