"""Compiles modules for a page's Python. It runs in that Python itself, because no other writes a form that it can read.

Left out is what a page never shows: docstrings, and the columns of a line that an error marks (Pyodide is started so).
"""

from __future__ import annotations

import ast
import importlib._bootstrap_external as external
import importlib.util
import io
import zipfile
from collections.abc import Container

# A date of its own would make another archive of the same files.
_DATE = (1980, 1, 1, 0, 0, 0)


def compiled(source: bytes, path: str) -> bytes:
    """Return a module as it stands in a file beside which its source is not looked for.

    Args:
        source: the module's text.
        path: where it will lie; errors name it.
    """
    tree = ast.parse(source)
    for node in ast.walk(tree):
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef) and ast.get_docstring(
            node, clean=False
        ):
            # Imports from the future stand first, and a body may not be empty.
            node.body[:1] = [] if node.body[1:] else [ast.copy_location(ast.Pass(), node.body[0])]
    code = compile(tree, path, "exec", dont_inherit=True)
    written = external._code_to_hash_pyc(code, importlib.util.source_hash(source), False)  # type: ignore[attr-defined]  # a tree is compiled, so no public name will do
    return bytes(written)


def library(archive: bytes, wanted: Container[str], root: str) -> bytes:
    """Return the standard library with some of its modules compiled in place of their source.

    Args:
        archive: the library as a zip file of sources.
        wanted: the names in it to compile; the others stay as they are, because compiled they are larger.
        root: where the archive will lie.
    """
    into = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(archive)) as old, zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED, compresslevel=9) as new:
        for name in old.namelist():
            content = old.read(name)
            use = name in wanted
            entry = zipfile.ZipInfo(f"{name}c" if use else name, _DATE)
            entry.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(entry, compiled(content, f"{root}/{name}") if use else content)
    return into.getvalue()
