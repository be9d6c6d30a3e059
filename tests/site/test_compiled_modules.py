"""Modules in compiled form for a page's Python: they do what their sources do, and without Node.js the sources stay."""

from __future__ import annotations

import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from gearkit.site import kit_archives
from gearkit.site.browser_python import compiled_modules, compiling, made_ready

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
    assert module.__doc__ is None and module.twice.__doc__ is None and module.Empty.__doc__ == "."
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


# A Python that has read nothing yet makes it ready, and another one uses it.
MAKES = """
import re, sys
sys.path.insert(0, sys.argv[1])
import compiling
texts = compiling.record_methods()
exec(open(sys.argv[2]).read())
held = {"train": ("/kit/train/__init__.py", open(sys.argv[2], "rb").read()), "train.bad": ("/kit/train/bad.py", b"import no_such_module")}
open(sys.argv[3], "wb").write(compiling.made_ready(held, texts))
"""
USES = """
import sys
sys.path.insert(0, sys.argv[1])
import made_ready
made_ready.begin(sys.argv[2])
import re._parser
def refused(*given):
    raise AssertionError(given)
known, re._parser.parse = re._parser.parse, refused
kinds = set()
made_ready.exec = lambda code, *given: (kinds.add(type(code).__name__), exec(code, *given))
import train
print(train.__file__, train.__path__, train.PATTERN.findall("A1, B22"), train.Gear(3) == train.Gear(3), kinds)
for _ in range(2):
    try:
        import train.bad
    except ImportError as fault:
        print(fault)
re._parser.parse = known
print(re.compile("x(y)").match("xy")[1], "json" in made_ready.names(), __import__("json").dumps(1))
made_ready.let_go()
print(made_ready.names())
"""
TRAIN = b'''"""A module with what costs at each start."""
import re
from dataclasses import dataclass

PATTERN = re.compile("([A-Z])([0-9]+)")

@dataclass(frozen=True)
class Gear:
    """A gear."""
    teeth: int
'''


def test_what_was_made_ready_is_found_and_not_made_again_and_all_else_is_as_ever(tmp_path: Path) -> None:
    (tmp_path / "train.py").write_bytes(TRAIN)
    folder = str(Path(compiling.__file__).parent)
    begin = [sys.executable, "-I", "-c"]
    made = [*begin, MAKES, folder, str(tmp_path / "train.py"), str(tmp_path / made_ready.NAME)]
    subprocess.run(made, timeout=60, check=True)
    done = subprocess.run([*begin, USES, folder, str(tmp_path)], capture_output=True, text=True, timeout=60, check=False)
    assert done.stderr == ""
    assert done.stdout.splitlines() == [
        "/kit/train/__init__.pyc ['/kit/train'] [('A', '1'), ('B', '22')] True {'code'}",
        "No module named 'no_such_module'",
        "No module named 'no_such_module'",
        "y False 1",
        "[]",
    ]


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
    node = tmp_path / "node"
    monkeypatch.setattr(shutil, "which", lambda _name: str(node))
    results = ("python_stdlib.out", "made_ready.bin", "sitecustomize.pyc")
    node.write_text("#!/bin/sh\n" + "".join(f'printf quick > "$2/{name}"\n' for name in results))
    node.chmod(0o755)
    python, compact = compiled_modules.compiled({compiled_modules.LIBRARY: b"slow", "other": b"o"}, kit)
    assert python == {compiled_modules.LIBRARY: b"quick", "other": b"o"}
    assert kit_archives.unpacked(compact) == {
        "gearkit/one.js": b"js", "made_ready.bin": b"quick", "sitecustomize.pyc": b"quick",
    }  # fmt: skip
    node.unlink()
    assert compiled_modules.compiled({compiled_modules.LIBRARY: b"slow", "other": b"o"}, kit) == (python, compact)
