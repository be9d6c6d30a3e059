"""Runs the cells of one notebook in an IPython shell, in a process that is thrown away afterwards.

This code shares its process with the learner's: nothing it reports is believed beyond its form.
What a notebook user would notice is kept: magics, `display`, top-level `await`, widgets without a browser.
Outputs are not kept, because nobody marks them. `input()` is refused, as in any run without a person.
"""

from __future__ import annotations

import ast
import asyncio
import builtins
import getpass
import importlib
import os
import signal
import sys
import types
from collections.abc import Callable, Mapping, Sequence
from typing import Any, ClassVar

from graders.run.frames import bounded

Send = Callable[[Mapping[str, Any]], None]
PREPARATION = "from gearkit.lesson.answering import answer"


class CellTimeout(BaseException):
    """A cell ran longer than allowed; not an Exception, so that an ordinary handler does not catch it."""


class InputRefusedError(RuntimeError):
    """A cell asked for keyboard input."""


class _Nowhere:
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


def _refuse_input(prompt: object = "") -> str:
    raise InputRefusedError("input() cannot be answered while a sheet is being marked; write the value into the cell")


def make_shell() -> Any:
    """A fresh IPython shell whose outputs go nowhere. Call it once per process, before any fork."""
    from IPython.core.displayhook import DisplayHook
    from IPython.core.displaypub import DisplayPublisher
    from IPython.core.interactiveshell import InteractiveShell
    from traitlets import Type
    from traitlets.config import Config

    class Quiet(DisplayHook):  # type: ignore[misc]
        def write_output_prompt(self) -> None: ...
        def write_format_data(self, format_dict: Any, md_dict: Any = None) -> None: ...
        def finish_displayhook(self) -> None: ...

    class Dropped(DisplayPublisher):  # type: ignore[misc]
        def publish(self, data: Any, metadata: Any = None, **more: Any) -> None: ...
        def clear_output(self, wait: bool = False) -> None: ...

    class Shell(InteractiveShell):  # type: ignore[misc]
        displayhook_class = Type(Quiet)
        display_pub_class = Type(Dropped)

        def showtraceback(self, *arguments: Any, **named: Any) -> None: ...
        def showsyntaxerror(self, *arguments: Any, **named: Any) -> None: ...
        def enable_gui(self, gui: Any = None) -> None: ...
        def ask_exit(self) -> None: ...

        usual_transforms: ClassVar[list[Any]] = []

    config = Config()
    config.HistoryManager.enabled = False
    config.HistoryManager.hist_file = ":memory:"
    config.InteractiveShell.autocall = 0
    config.InteractiveShell.colors = "nocolor"
    shell = Shell.instance(config=config)
    Shell.usual_transforms = _transforms(shell)
    shell.set_hook("show_in_pager", lambda *pages, **more: None, 0)
    return shell


def warm_up(shell: Any) -> None:
    """Go once through the parts that are slow the first time, then forget what was run."""
    output, errors = sys.stdout, sys.stderr
    sys.stdout = sys.stderr = _Nowhere()
    try:
        for cell in ("(1, 'a')", "%time 1", "def f(:", "1/0", PREPARATION):
            shell.run_cell(cell, store_history=False)
        shell.reset(new_session=True)
        # A fresh notebook has these, empty; resetting forgot them.
        shell.user_ns.update({"_": "", "__": "", "___": ""})
    finally:
        sys.stdout, sys.stderr = output, errors


def make_ready(shell: Any) -> None:
    """Set up what is the same for every submission; afterwards this process shows nothing and asks nobody any more.

    Args:
        shell: what `make_shell` made.
    """
    sys.stdout = sys.stderr = _Nowhere()
    vars(builtins)["input"] = vars(getpass)["getpass"] = _refuse_input
    _close_shell_escapes(shell)
    importlib.import_module("gearkit.lesson.answering")
    # The first loop of a process costs several times the second.
    asyncio.new_event_loop().close()


def run_cells(shell: Any, cells: Sequence[str], setup: Sequence[str], cell_seconds: float, send: Send) -> None:
    """Run cells in order and send the answers that each of them changed.

    Args:
        shell: what `make_shell` made and `make_ready` got ready.
        cells: sources of the notebook's code cells.
        setup: sources of the cells that the sheet itself brings; they are run first, so that a deleted
            or moved one costs nobody an answer.
        cell_seconds: time for one cell, in seconds.
        send: takes each message.
    """
    signal.signal(signal.SIGALRM, _out_of_time)
    # A loop that was made before the fork would be dead here.
    loop = asyncio.new_event_loop()
    asyncio.set_event_loop(loop)
    answering = importlib.import_module("gearkit.lesson.answering")
    for source in (PREPARATION, *setup):
        loop.run_until_complete(_one_cell(shell, source))
    answering.clear()
    known: Mapping[str, Mapping[str, str]] = {}
    for index, source in enumerate(cells):
        fault = _timed_cell(loop, shell, source, cell_seconds)
        try:
            now = answering.collected()
            changed = bounded({item: parts for item, parts in now.items() if known.get(item) != parts})
            known = now
        except BaseException as ended:
            changed, fault = {}, type(ended).__name__
        send({"cell": index, "answers": changed, "fault": fault, "last": False})
    signal.setitimer(signal.ITIMER_REAL, 0)
    send({"cell": len(cells), "answers": {}, "fault": "", "last": True})


def _timed_cell(loop: asyncio.AbstractEventLoop, shell: Any, source: str, cell_seconds: float) -> str:
    """Run a cell in its time; the name of what ended it, or ""."""
    try:
        # The interval repeats the alarm for a cell that catches the first one.
        signal.setitimer(signal.ITIMER_REAL, cell_seconds, 0.5)
        task = loop.create_task(_one_cell(shell, source))
        try:
            return loop.run_until_complete(task)
        finally:
            # A cell that waits for ever is left by the alarm; its task must not go on beside the next cell.
            task.cancel()
    except BaseException as ended:
        return type(ended).__name__


def translated(shell: Any, source: str) -> str:
    """A cell as plain Python, magics and prompts translated.

    What is Python already, translating leaves as it is, and it takes a third of the time of a simple cell; except for a
    pasted prompt such as "In [3]: x", which happens to be Python too, and where the notebook translates more by itself.

    Args:
        shell: the shell.
        source: the cell.
    """
    plain = bool(source) and not source[0].isspace() and not source.startswith("In [")
    if not plain or shell.input_transformers_post or _transforms(shell) != shell.usual_transforms:
        return str(shell.transform_cell(source))
    try:
        ast.parse(source)
    except (SyntaxError, ValueError, RecursionError, MemoryError):
        return str(shell.transform_cell(source))
    return source if source.endswith("\n") else source + "\n"


def _transforms(shell: Any) -> list[Any]:
    manager = shell.input_transformer_manager
    return [*manager.cleanup_transforms, *manager.line_transforms, *manager.token_transformers]


async def _one_cell(shell: Any, source: str) -> str:
    """Run a cell as a kernel does, inside the one running loop; the name of its exception, or "".

    A cell without `await` runs through without giving the loop a turn, as in `run_cell`, which would translate magics a
    second time. The two events are what a kernel sends after each cell; figures are closed by them.
    """
    try:
        transformed, trouble = translated(shell, source), None
    except Exception:
        transformed, trouble = source, sys.exc_info()
    result = None
    try:
        result = await shell.run_cell_async(source, store_history=True, transformed_cell=transformed,
                                            preprocessing_exc_tuple=trouble)
    finally:
        shell.events.trigger("post_execute")
        shell.events.trigger("post_run_cell", result)
    ended = result.error_before_exec or result.error_in_exec
    return type(ended).__name__ if ended is not None else ""


def _out_of_time(number: int, frame: types.FrameType | None) -> None:
    raise CellTimeout("the cell ran longer than allowed")


def _close_shell_escapes(shell: Any) -> None:
    """Refuse magics that start programs by name: without a program to start they would wait for the limit."""
    def refused(*arguments: object) -> None:
        raise OSError("programs cannot be started while a sheet is being marked")

    for name in ("bash", "sh", "script", "system", "sx", "perl", "ruby", "cmd"):
        for kind in ("line", "cell"):
            shell.magics_manager.magics[kind][name] = refused
    shell.system = shell.getoutput = refused
    os.environ.clear()
