"""The archives that Python unpacks behind a page: gearkit with what it needs, and SymPy for the pages that ask for it."""

from __future__ import annotations

import gzip
import importlib.util
import io
import tarfile
import zipfile
from collections.abc import Iterator, Mapping
from pathlib import Path

from gearkit.site import browser_python
from gearkit.text import places
from gearkit.words.catalogue import FOLDER
from gearkit.words.errors import GearkitError
from gearkit.words.say import language_code

_SUFFIXES = (".py", ".js", ".css", ".toml")
# Commands, paper and the makers of pages have no use on a page, nor have tests that a library brings along.
_LEFT_OUT = (
    "cli/",
    "print/",
    "_data/",
    "tests/",
    "testing/",
    "site/own_code/",
    "site/about/",
    "site/browser_python/compiled_modules.py",
    "site/browser_python/compiling.py",
    "site/browser_python/made_ready.py",
    "site/browser_python/memory_image.py",
    "site/browser_python/node_step.py",
)
# A date of its own would make another archive of the same files.
_DATE = (1980, 1, 1, 0, 0, 0)


def kit() -> bytes:
    """Return the archive of gearkit, its layouts, traitlets and what stands in for a notebook's widgets."""
    held = dict(package("gearkit"))
    held.update(package("traitlets"))
    for path in sorted(places.datasets().rglob("*.toml")):
        held[f"datasets/{path.relative_to(places.datasets()).as_posix()}"] = path.read_bytes()
    # A page has one language, and what others say would only make it larger.
    for path in sorted((FOLDER / language_code()).glob("*.po")):
        held[f"gearkit/words/catalogues/{path.parent.name}/{path.name}"] = path.read_bytes()
    held["anywidget.py"] = (Path(browser_python.__path__[0]) / "widget_stand_in.py").read_bytes()
    return packed(held)


def sympy() -> bytes:
    """Return the archive of SymPy with mpmath."""
    return packed({**dict(package("sympy")), **dict(package("mpmath"))})


def package(name: str) -> Iterator[tuple[str, bytes]]:
    """Yield the files of an installed package that have a use on a page, each with its content.

    Args:
        name: the package's import name.

    Raises:
        GearkitError: it is not installed.
    """
    spec = importlib.util.find_spec(name)
    if spec is None or not spec.submodule_search_locations:
        raise GearkitError(f"The package {name} is missing here; install gearkit again.")
    root = Path(spec.submodule_search_locations[0])
    for path in sorted(root.rglob("*")):
        inside = path.relative_to(root).as_posix()
        if path.suffix in _SUFFIXES and not inside.startswith(_LEFT_OUT) and "/tests/" not in inside and path.is_file():
            yield f"{name}/{inside}", path.read_bytes()


def packed(held: Mapping[str, bytes]) -> bytes:
    """Return an archive that a page unpacks by itself, as one stream; the same bytes each time.

    Args:
        held: content by name.
    """
    into = io.BytesIO()
    with tarfile.open(fileobj=into, mode="w", format=tarfile.USTAR_FORMAT) as archive:
        for name, content in sorted(held.items()):
            entry = tarfile.TarInfo(name)
            entry.size = len(content)
            archive.addfile(entry, io.BytesIO(content))
    return gzip.compress(into.getvalue(), compresslevel=9, mtime=0)


def unpacked(archive: bytes) -> dict[str, bytes]:
    """Return the content by name of what `packed` made.

    Args:
        archive: from `packed`.
    """
    with tarfile.open(fileobj=io.BytesIO(archive), mode="r:gz") as tar:
        streams = {member.name: tar.extractfile(member) for member in tar if member.isfile()}
        return {name: stream.read() for name, stream in streams.items() if stream is not None}


def zipped(held: Mapping[str, bytes]) -> bytes:
    """Return an archive of files that is the same bytes each time.

    Args:
        held: content by name.
    """
    into = io.BytesIO()
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as archive:
        for name, content in sorted(held.items()):
            entry = zipfile.ZipInfo(name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(entry, content)
    return into.getvalue()
