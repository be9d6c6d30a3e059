"""The memory image of Python: made where Node.js is, kept, and refused by a page where it is damaged or another site's."""

from __future__ import annotations

import base64
import gzip
import io
import json
import shutil
import subprocess
import tarfile
from pathlib import Path

import pytest

from gearkit.cli import lessons
from gearkit.site import kit_archives
from gearkit.site.browser_python import memory_image
from gearkit.site.page import STATIC

# What a worker does with the files of a site, without Pyodide.
READ = """
import { filesOf, imageIn, layOut, unpacked } from "FILES";
const [kit, image, version] = JSON.parse(process.argv[1]).map((text, place) => place < 2 ? Buffer.from(text, "base64") : text);
const made = {};
layOut(await unpacked(kit), { mkdirTree: (path) => { made[path] = null; }, writeFile: (path, content) => { made[path] = Buffer.from(content).toString(); } }, "/kit");
const read = await unpacked(image).then((whole) => imageIn(whole, version), () => null);
console.log(JSON.stringify({ made, image: read && Buffer.from(read).toString() }));
"""


def read_by_a_page(image: bytes, version: str = "0123456789abcdef") -> tuple[dict[str, str | None], str | None]:
    """The files that a page lays out, and the image that it takes; None for none."""
    held = {"a.py": b"one", f"{'deep/' * 24}{'name' * 5}.py": b"two" * 400, "empty/__init__.py": b""}
    texts = [base64.b64encode(content).decode() for content in (kit_archives.packed(held), image)]
    script = READ.replace("FILES", (STATIC / "python_files.mjs").as_uri())
    done = subprocess.run(
        ["node", "--input-type=module", "-e", script, json.dumps([*texts, version])],
        capture_output=True, text=True, timeout=60, check=True,
    )  # fmt: skip
    told = json.loads(done.stdout)
    return told["made"], told["image"]


@pytest.fixture
def packed() -> bytes:
    return gzip.compress(b"0123456789abcdef" + b"memory" * 1000, mtime=0)


def test_a_page_lays_out_the_archive_as_python_would_and_takes_its_own_image(packed: bytes) -> None:
    made, image = read_by_a_page(packed)
    assert {path: text for path, text in made.items() if text is not None} == {
        "/kit/a.py": "one", f"/kit/{'deep/' * 24}{'name' * 5}.py": "two" * 400, "/kit/empty/__init__.py": "",
    }  # fmt: skip
    assert "/kit/empty" in made
    assert image == "memory" * 1000


@pytest.mark.parametrize("fault", ["cut off", "changed", "another version", "empty", "no archive"])
def test_a_page_takes_no_image_that_is_damaged_or_another_sites(fault: str, packed: bytes) -> None:
    middle = len(packed) // 2
    given = {
        "cut off": packed[:middle],
        "changed": packed[:middle] + bytes([packed[middle] ^ 1]) + packed[middle + 1 :],
        "another version": gzip.compress(b"fedcba9876543210" + b"memory" * 1000),
        "empty": b"",
        "no archive": b"<!DOCTYPE html>",
    }[fault]
    assert read_by_a_page(given)[1] is None


def test_the_archive_is_the_same_bytes_each_time_and_any_tar_reads_it() -> None:
    held = {"b.py": b"2", "a.py": b"1"}
    assert kit_archives.packed(held) == kit_archives.packed(dict(reversed(held.items())))
    with tarfile.open(fileobj=io.BytesIO(kit_archives.packed(held)), mode="r:gz") as archive:
        assert archive.getnames() == ["a.py", "b.py"]


def test_an_image_is_told_by_the_kit_that_it_holds() -> None:
    one = memory_image.version({"a": b"1"}, b"one")
    assert one == memory_image.version({"a": b"1"}, b"one")
    assert len({one, memory_image.version({"a": b"1"}, b"two"), memory_image.version({"a": b"2"}, b"one")}) == 3
    assert len(one) % 4 == 0


def test_without_node_there_is_no_image_and_the_command_says_so(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path))
    monkeypatch.setattr(shutil, "which", lambda _name: None)
    assert memory_image.image({}, b"kit") is None
    assert "Without a memory image, which Node.js makes" in lessons.told_of(None)


def test_a_node_that_fails_gives_no_image_and_one_that_was_made_is_kept(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "cache"))
    node = tmp_path / "node"
    monkeypatch.setattr(shutil, "which", lambda _name: str(node))
    node.write_text("#!/bin/sh\nexit 1\n")
    node.chmod(0o755)
    assert memory_image.image({}, b"kit") is None
    node.write_text('#!/bin/sh\nprintf memory > "$2/image.bin"\n')
    made = memory_image.image({}, b"kit")
    assert made is not None
    assert gzip.decompress(made) == memory_image.version({}, b"kit").encode() + b"memory"
    node.unlink()
    assert memory_image.image({}, b"kit") == made
    assert lessons.told_of(made).startswith("Of these the memory image")
