"""Compiles modules for a page's Python, and makes ready what that does anew at each start. It runs in that Python itself, because
no other writes a form that it can read.

Left out is what a page never shows: docstrings (a class keeps a full stop), and the columns of a line that an error marks (Pyodide is started so).
"""

from __future__ import annotations

import ast
import dataclasses
import importlib._bootstrap_external as external
import importlib.util
import io
import marshal
import re
import sys
import types
import zipfile
from collections.abc import Collection, Mapping
from typing import Any

# A date of its own would make another archive of the same files.
_DATE = (1980, 1, 1, 0, 0, 0)


def compiled(source: bytes, path: str) -> bytes:
    """Return a module as it stands in a file beside which its source is not looked for.

    Args:
        source: the module's text.
        path: where it will lie; errors name it.
    """
    written = external._code_to_hash_pyc(_code(source, path), importlib.util.source_hash(source), False)  # type: ignore[attr-defined]  # a tree is compiled, so no public name will do
    return bytes(written)


def _code(source: bytes, path: str) -> types.CodeType:
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and ast.get_docstring(
            node, clean=False
        ):
            # Imports from the future stand first, and a body may not be empty. A dataclass without any would write one at each start.
            short = ast.Expr(ast.Constant(".")) if isinstance(node, ast.ClassDef) else ast.Pass()
            ast.copy_location(short, node.body[0])
            ast.fix_missing_locations(short)
            node.body[:1] = [] if node.body[1:] and not isinstance(node, ast.ClassDef) else [short]
    return compile(tree, path, "exec", dont_inherit=True)


def library(archive: bytes, loaded: Collection[str], root: str) -> bytes:
    """Return the standard library with some of its modules compiled in place of their source.

    Args:
        archive: the library as a zip file of sources.
        loaded: the names in it to compile; the others stay as they are, because compiled they are larger.
        root: where the archive will lie.
    """
    into = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(archive)) as old, zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as new:
        for name in old.namelist():
            content = old.read(name)
            use = name in loaded
            entry = zipfile.ZipInfo(f"{name}c" if use else name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, compiled(content, f"{root}/{name}") if use else content)
    return into.getvalue()


def record_methods() -> set[str]:
    """Return a set that fills with the texts which dataclasses write and compile from now on."""
    texts: set[str] = set()

    def methods(text: str, space: dict[str, object], into: dict[str, object]) -> None:
        texts.add(text)
        exec(text, space, into)

    dataclasses.exec = methods  # type: ignore[attr-defined]  # a name of the module goes before a built-in one
    return texts


def made_ready(sources: Mapping[str, tuple[str, bytes]], texts: Collection[str]) -> bytes:
    """Return what `made_ready` reads: modules, methods of dataclasses, and the patterns that have been worked out here.

    Args:
        sources: path and text by a module's full name.
        texts: from `record_methods`.
    """
    modules, codes = {}, b""
    for name, (path, source) in sorted(sources.items()):
        code = marshal.dumps(_code(source, path))
        modules[name] = f"{path}c", path.endswith("/__init__.py"), len(codes), len(code)
        codes += code
    held = marshal.dumps((modules, {text: compile(text, "<string>", "exec") for text in sorted(texts)}, _patterns()))
    return len(held).to_bytes(8, "little") + held + codes


def _patterns() -> dict[tuple[str | bytes, int], tuple[Any, ...]]:
    """Return what the last step of working a pattern out is given, for each pattern that is there."""
    compiler: Any = sys.modules["re._compiler"]
    last, held = compiler._sre, {}

    def given(text: str | bytes, flags: int, code: list[int], *groups: object) -> tuple[object, ...]:
        # The words of the code are numbers that know their names.
        return text, int(flags), [int(word) for word in code], *groups

    compiler._sre = types.SimpleNamespace(**{**vars(last), "compile": given})
    try:
        for kind, text, flags in sorted(re._cache, key=repr):  # type: ignore[attr-defined]  # no public name lists them
            if kind in (str, bytes):
                held[text, int(flags)] = compiler.compile(text, flags)
    finally:
        compiler._sre = last
    return held
