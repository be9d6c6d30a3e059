"""The Python behind the commands as pages, made by Sphinx from the docstrings."""

from __future__ import annotations

import importlib.util
import io
import tempfile
from collections.abc import Mapping
from pathlib import Path

from gearkit import __version__
from gearkit.words.errors import GearkitError, UsageError

# What somebody uses in a notebook or a script of their own; the folders' own lines say what else there is.
MODULES: Mapping[str, str] = {
    "gearkit.lesson.workbook": "A lesson in a notebook",
    "gearkit.lesson.answering": "Answers on a sheet",
    "gearkit.train.catalogue": "Layouts by name or file",
    "gearkit.train.layout": "A layout",
    "gearkit.train.planetary_set": "A planetary set",
    "gearkit.solve.mobility": "What a combination of elements does",
    "gearkit.solve.ratios": "Ratios and formulas",
    "gearkit.solve.speeds": "Speeds",
    "gearkit.solve.one_way": "One-way clutches",
    "gearkit.draw.registry": "Pictures",
    "gearkit.words.errors": "What can go wrong",
}
_SETTINGS = f"""
project = "gearkit"
version = release = "{__version__}"
extensions = ["sphinx.ext.autodoc", "sphinx.ext.napoleon"]
autodoc_member_order = "bysource"
autodoc_typehints = "signature"
html_theme = "furo"
html_title = "gearkit {__version__}"
html_copy_source = False
html_show_sourcelink = False
html_show_sphinx = False
html_last_updated_fmt = None
html_static_path = ["own"]
html_css_files = ["own.css"]
"""


def files() -> dict[str, bytes]:
    """Return the pages by name.

    Raises:
        UsageError: Sphinx or its look is not installed.
        GearkitError: Sphinx fails, or warns of a docstring.
    """
    if any(importlib.util.find_spec(name) is None for name in ("sphinx", "furo")):
        raise UsageError('The pages of Python need more than is installed here. Install it with: pip install "gearkit[docs]"')
    with tempfile.TemporaryDirectory(prefix="gearkit-api-") as folder:
        work = Path(folder)
        _write(work / "source")
        _run(work)
        made = [path for path in sorted((work / "made").rglob("*")) if path.is_file()]
        return {
            path.relative_to(work / "made").as_posix(): path.read_bytes()
            for path in made
            if path.name != ".buildinfo" and path.suffix != ".map"
        }


def _write(source: Path) -> None:
    source.mkdir()
    (source / "conf.py").write_text(_SETTINGS, encoding="utf-8")
    (source / "own").mkdir()
    # Long lines are broken, so that nothing has to be scrolled sideways.
    (source / "own" / "own.css").write_text("pre { white-space: pre-wrap; overflow-wrap: anywhere }\n", encoding="utf-8")
    names = [name.replace(".", "_") for name in MODULES]
    listed = "\n".join(f"   {name}" for name in names)
    (source / "index.rst").write_text(
        "Python\n======\n\nWhat the commands use, for notebooks and scripts of your own. `Back to the pages about gearkit "
        f"<../index.html>`_\n\n.. toctree::\n   :maxdepth: 1\n\n{listed}\n",
        encoding="utf-8",
    )
    for (module, title), name in zip(MODULES.items(), names, strict=True):
        text = f"{title}\n{'=' * len(title)}\n\n.. automodule:: {module}\n   :members:\n"
        (source / f"{name}.rst").write_text(text, encoding="utf-8")


def _run(work: Path) -> None:
    from sphinx.application import Sphinx

    warned = io.StringIO()
    source, made = work / "source", work / "made"
    app = Sphinx(source, source, made, work / "kept", "html", status=None, warning=warned)
    app.build()
    if warned.getvalue() or app.statuscode:
        raise GearkitError(f"Sphinx warns of a docstring: {warned.getvalue().strip()[:600]}")
