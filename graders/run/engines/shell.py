"""The IPython shell in which the cells of a submission run: silent, without input, without programs.

What a notebook user would notice is kept: magics, `display`, `In`, `Out` and `_`, top-level `await`, widgets without a
browser. Outputs are not kept, because nobody marks them. `input()` is refused, as in any run without a person.
Where IPython does more for each cell than anybody here can see, a class below does it with less; the reasons stand there.
"""

from __future__ import annotations

import ast
import builtins
import getpass
import os
import re
import sys
import traceback
import types
import zlib
from collections.abc import Sequence
from typing import Any

from IPython.core.compilerop import CachingCompiler
from IPython.core.displayhook import DisplayHook
from IPython.core.displaypub import DisplayPublisher
from IPython.core.history import HistoryManager
from IPython.core.interactiveshell import InteractiveShell
from traitlets import Type
from traitlets.config import Config


class InputRefusedError(RuntimeError):
    """A cell asked for keyboard input."""


class Nowhere:
    """A text stream that forgets; a flood of output costs nothing but its own time."""

    encoding, errors, closed, newlines = "utf-8", "replace", False, None

    def write(self, text: object) -> int:
        """Take a text and forget it."""
        return len(str(text))

    def writelines(self, lines: Sequence[object]) -> None:
        """Take some texts and forget them."""

    def flush(self) -> None:
        """Do nothing."""

    def isatty(self) -> bool:
        """Say that no person is looking."""
        return False

    def writable(self) -> bool:
        """Say that it can be written to."""
        return True

    def readable(self) -> bool:
        """Say that nothing can be read from it."""
        return False

    def fileno(self) -> int:
        """Refuse: there is no descriptor behind it."""
        raise OSError("this stream has no descriptor")


class Statements(list[types.CodeType]):
    """The statements of a cell, compiled one by one from their own lines; it stands in the place of a tree's."""

    @property
    def body(self) -> Statements:
        """Itself, as a tree has it."""
        return self


# What begins a statement that holds others, whose values are never shown.
_COMPOUND = re.compile(r"(?:if|for|while|with|try|def|class)\b|@")
# How a line begins that begins no statement.
_GOES_ON = (" ", "\t", ")", "]", "}", "#")
# With any of these in it a cell's lines alone do not show where a statement begins, or which kind it is.
_UNCLEAR = re.compile(r";|\\|\r|\f|await|async|match")


class OnceParsed(CachingCompiler):  # type: ignore[misc]  # IPython is seen without types
    """Compiles a cell once, though it is looked at twice: to see whether it is Python already, and to run it."""

    flags: int

    def __init__(self) -> None:
        super().__init__()
        self._ahead: tuple[ast.AST | Statements, str, str, int] | None = None

    def get_code_name(self, raw_code: str, transformed_code: str, number: int) -> str:
        """What tracebacks call a cell; a short sum tells cells of one number apart as well as IPython's long one.

        Args:
            raw_code: the cell as it was written.
            transformed_code: the cell, translated.
            number: its number in the session.
        """
        return f"<ipython-input-{number}-{zlib.crc32(transformed_code.encode()):08x}>"

    def parse_ahead(self, source: str, filename: str, *, apart: bool = True) -> None:
        """Parse a cell that is about to be run; raises what parsing raises.

        Args:
            source: the cell, with a line end.
            filename: what errors will call it.
            apart: whether its statements may be compiled without a tree; what changes trees needs one.
        """
        statements = self.statements(source, filename) if apart else None
        self._ahead = statements or super().ast_parse(source, filename), source, filename, self.flags

    def statements(self, source: str, filename: str) -> Statements | None:
        """The statements of a cell, where its lines show where each begins; None where they don't or are no Python.

        To make a tree of Python's objects and take it apart again costs as much as all else in compiling a cell. Where
        lines are parted wrongly one of the parts is no Python, since a bracket, a quotation or a block stays open.

        Args:
            source: the cell, with a line end.
            filename: what errors call it.
        """
        if _UNCLEAR.search(source):
            return None
        lines, flags, statements = source.split("\n"), self.flags, Statements()
        starts = [place for place, line in enumerate(lines) if line and not line.startswith(_GOES_ON)]
        try:
            for start, end in zip([0, *starts[1:]], [*starts[1:], len(lines)], strict=True):
                shown = end == len(lines) and not _COMPOUND.match(lines[starts[-1]])
                text = "\n" * start + "\n".join(lines[start:end]) + "\n"
                statements.append(self(text, filename, "single" if shown else "exec"))
        except Exception:
            self.flags = flags
            return None
        return statements

    def ast_parse(self, source: str, filename: str = "<unknown>", symbol: str = "exec") -> ast.AST | Statements:
        """The tree of a cell; one that was parsed ahead is given away, since whoever gets it may change it.

        Args:
            source: the cell, translated.
            filename: what errors call it.
            symbol: "exec", "eval" or "single".
        """
        ahead, self._ahead = self._ahead, None
        if ahead is not None and symbol == "exec" and ahead[1:] == (source, filename, self.flags):
            return ahead[0]
        tree: ast.AST = super().ast_parse(source, filename, symbol)
        return tree


class History(HistoryManager):  # type: ignore[misc]  # IPython is seen without types
    """The inputs of a session. The last ones are plain attributes: as traits they cost more than all else in it."""

    _i00 = _i = _ii = _iii = ""


def _nothing(*arguments: object, **named: object) -> None:
    """Do nothing with whatever is handed over."""


class Quiet(DisplayHook):  # type: ignore[misc]  # IPython is seen without types
    """Keeps a cell's value as `_` and in `Out`, and shows it to nobody."""

    # It is set twice for each cell, and nobody watches it.
    exec_result = None
    write_output_prompt = write_format_data = finish_displayhook = _nothing


class Dropped(DisplayPublisher):  # type: ignore[misc]  # IPython is seen without types
    """Takes what is displayed and drops it."""

    publish = clear_output = _nothing


class Shell(InteractiveShell):  # type: ignore[misc]  # IPython is seen without types
    """IPython's shell with the parts above."""

    displayhook_class = Type(Quiet)
    display_pub_class = Type(Dropped)
    compiler_class = Type(OnceParsed)
    # Set for each cell, and nobody watches them: as traits they would cost more than the cell.
    execution_count = 1
    last_execution_succeeded = True
    last_execution_result: Any = None
    usual_transforms: Sequence[Any] = ()
    showtraceback = showsyntaxerror = enable_gui = ask_exit = _nothing

    def transforms(self) -> list[Any]:
        """What translates a cell into Python now; a notebook may add to it."""
        manager = self.input_transformer_manager
        return [*manager.cleanup_transforms, *manager.line_transforms, *manager.token_transformers]

    def transform_ast(self, node: Any) -> Any:
        """A cell's tree, changed as the notebook wants it; compiled statements are no tree any more.

        Args:
            node: the tree, or the statements.
        """
        return node if isinstance(node, Statements) else super().transform_ast(node)

    async def run_ast_nodes(self, nodelist: Any, *more: Any, result: Any = None, **named: Any) -> Any:
        """Run the statements of a cell; whether one raised something.

        Args:
            nodelist: the statements, as trees or compiled already.
            more: as IPython's own takes it.
            result: takes what was raised.
            named: as IPython's own takes it.
        """
        if not isinstance(nodelist, Statements):
            return await super().run_ast_nodes(nodelist, *more, result=result, **named)
        try:
            for code in nodelist:
                if await self.run_code(code, result):
                    return True
        except BaseException as fault:
            # The alarm can come between two statements.
            result.error_before_exec = fault
            return True
        return False

    def init_history(self) -> None:
        """Make the history."""
        self.history_manager = History(shell=self, parent=self)
        self.configurables.append(self.history_manager)

    def _format_exception_for_storage(
        self, exception: BaseException, filename: str | None = None, running_compiled_code: bool = False
    ) -> dict[str, Any]:
        """An exception as the history keeps it.

        IPython lays it out with colours and source lines for the page, and its libraries for that take several times
        as long to load as a sheet takes to run. Python's own lines are its own way out where that fails.
        """
        try:
            lines = exception._render_traceback_()  # type: ignore[attr-defined]  # IPython's own convention
        except Exception:
            lines = traceback.format_exception(exception)
        return {"ename": type(exception).__name__, "evalue": str(exception), "traceback": lines}


def make() -> Shell:
    """A fresh shell whose outputs go nowhere. Call it once per process, before any fork."""
    config = Config()
    config.HistoryManager.enabled = False
    config.HistoryManager.hist_file = ":memory:"
    config.InteractiveShell.autocall = 0
    config.InteractiveShell.colors = "nocolor"
    shell: Shell = Shell.instance(config=config)
    shell.usual_transforms = shell.transforms()
    shell.set_hook("show_in_pager", lambda *pages, **more: None, 0)
    return shell


def close(shell: Shell) -> None:
    """From here on this process shows nothing, asks nobody and starts no programs by name.

    Args:
        shell: what `make` made.
    """
    sys.stdout = sys.stderr = Nowhere()
    vars(builtins)["input"] = vars(getpass)["getpass"] = _refuse_input
    # Without a program to start, these magics would wait for the limit.
    for name in ("bash", "sh", "script", "system", "sx", "perl", "ruby", "cmd"):
        for kind in ("line", "cell"):
            shell.magics_manager.magics[kind][name] = _refuse_program
    shell.system = shell.getoutput = _refuse_program
    os.environ.clear()


def _refuse_input(prompt: object = "") -> str:
    raise InputRefusedError("input() cannot be answered while a sheet is being marked; write the value into the cell")


def _refuse_program(*arguments: object) -> None:
    raise OSError("programs cannot be started while a sheet is being marked")
