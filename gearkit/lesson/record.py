"""The learner's record: one plain JSON file beside the lessons, added to and never rewritten from memory.

The file is a list of events, one on a line, each with its time in UTC. To add one, the file is read again under a
lock, the event put at its end, and the whole replaced in one step; so two open notebooks lose nothing of each other,
a power cut leaves the old file or the new one, and an update of the kit finds every event it does not know unharmed.
"""

from __future__ import annotations

import contextlib
import json
import os
import secrets
import tempfile
import time
from collections.abc import Callable, Iterator, Mapping
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

from gearkit.words.say import say

FORMAT = 1
FILE_NAME = "my_record.json"
RECORD_VARIABLE = "GEARKIT_RECORD"
_LANGUAGE = "language"
FIRST_LESSON_FOLDER = "00_start_here"
_LOCK_WAIT_SECONDS = 8.0
_LOCK_STALE_SECONDS = 5.0

Event = dict[str, object]


def record_path(start: Path | None = None) -> Path:
    """Return where the record lies: named by the environment, else beside the lessons, else in the working folder.

    Args:
        start: the folder of the notebook; the working folder when None.
    """
    named = os.environ.get(RECORD_VARIABLE)
    if named:
        return Path(named)
    folder = (start or Path.cwd()).resolve()
    for candidate in (folder, *list(folder.parents)[:2]):
        if (candidate / FILE_NAME).is_file() or (candidate / FIRST_LESSON_FOLDER).is_dir():
            return candidate / FILE_NAME
    return folder / FILE_NAME


class Record:
    """What one learner predicted, answered and asked for, with the times.

    Args:
        path: the record's file; found by ``record_path`` when None.
        clock: returns the present time; for tests.
    """

    def __init__(self, path: Path | None = None, clock: Callable[[], datetime] | None = None) -> None:
        self.path = path or record_path()
        self.notices: list[str] = []
        self._clock = clock or (lambda: datetime.now(UTC))
        self._unwritten: list[Event] = []
        self._seed = secrets.token_hex(8)
        self._extra: dict[str, object] = {}
        self._unkept = ""
        self._events: list[Event] = []
        self._stamp: tuple[int, int] | None = None
        self._reload()

    @property
    def seed(self) -> str:
        """The learner's own seed, from which all practice numbers are drawn; kept in the file."""
        return self._seed

    @property
    def language(self) -> str:
        """The code of the language that the learner chose, such as "de"; "" where none was chosen."""
        self._reload()
        return str(self._extra.get(_LANGUAGE, ""))

    def choose_language(self, code: str) -> None:
        """Remember the learner's language.

        Args:
            code: such as "de".

        Raises:
            OSError: the file cannot be written.
        """
        if self.language != code:
            # Before it is written the file is read again, which would bring the old one back.
            self._unkept = self._extra[_LANGUAGE] = code
            self._write()
            self._unkept = ""

    @property
    def today(self) -> date:
        """The learner's own day."""
        return self._clock().astimezone().date()

    @property
    def events(self) -> tuple[Event, ...]:
        """All events so far, in the order in which they were written."""
        self._reload()
        return (*self._events, *self._unwritten)

    def of_kind(self, kind: str) -> tuple[Event, ...]:
        """Return the events of one kind, oldest first.

        Args:
            kind: "prediction", "reveal", "explanation", "attempt", "hint" or "draw".
        """
        return tuple(event for event in self.events if event.get("kind") == kind)

    def add(self, kind: str, facts: Mapping[str, object]) -> Event:
        """Add one event, stamp it with the time, and write it through to the file.

        Args:
            kind: what happened, such as "attempt".
            facts: anything that JSON can hold.
        """
        event: Event = {"at": self._clock().astimezone(UTC).isoformat(timespec="milliseconds"), "kind": kind, **facts}
        self._unwritten.append(event)
        try:
            self._write()
        except OSError as fault:
            self.notices.append(
                say(
                    "The record {path} could not be written ({value}). Your work is kept while this notebook runs and is written as soon as it can be; check the folder's permissions and free space.",
                    path=self.path,
                    value=fault.strerror or fault,
                )
            )
        return event

    def begin(self) -> None:
        """Write the file where there is none yet, so that the seed is kept before anything was done.

        Raises:
            OSError: it cannot be written.
        """
        if not self.path.exists():
            self._write()

    def take_notices(self) -> list[str]:
        """Return the messages for the learner and forget them, so that each is shown once."""
        told, self.notices = self.notices, []
        return told

    def _write(self) -> None:
        self.path.parent.mkdir(parents=True, exist_ok=True)
        with _lock(self.path.with_name(self.path.name + ".lock")):
            self._reload()
            merged = [*self._events, *self._unwritten]
            _replace(self.path, _text_of(self._seed, self._extra, merged))
            self._events, self._unwritten = merged, []
            self._stamp = _stamp_of(self.path)

    def _reload(self) -> None:
        stamp = _stamp_of(self.path)
        if stamp is None or stamp == self._stamp:
            return
        try:
            held = _held_in(self.path)
        except OSError as fault:
            self.notices.append(
                say("The record {path} could not be read ({value}).", path=self.path, value=fault.strerror or fault)
            )
            return
        except (ValueError, KeyError, TypeError, RecursionError):
            self._set_aside()
            return
        self._seed = str(held.get("seed", self._seed))
        self._extra = {key: value for key, value in held.items() if key not in {"format", "seed", "events"}}
        if self._unkept:
            self._extra[_LANGUAGE] = self._unkept
        self._events = held["events"]
        self._stamp = stamp

    def _set_aside(self) -> None:
        """Keep a damaged file under another name and go on with every event that can still be read in it."""
        aside = _free_name(self.path, self._clock().strftime("damaged-%Y%m%d-%H%M%S"))
        raw = self.path.read_bytes().decode("utf-8", errors="replace")
        saved = _readable_events(raw)
        seed = _readable_seed(raw) or self._seed
        os.replace(self.path, aside)
        # What this notebook already knew may be more than the damaged file still shows.
        known = self._events if len(self._events) >= len(saved) else saved
        self._seed, self._events = seed, known
        _replace(self.path, _text_of(self._seed, self._extra, known))
        self._stamp = _stamp_of(self.path)
        self.notices.append(
            say(
                "The record {name} was damaged. It was set aside, unchanged, as {name_2}, and {known} entries that could still be read were taken over. Nothing was deleted; show the file to your instructor if work seems to be missing.",
                name=self.path.name,
                name_2=aside.name,
                known=len(known),
            )
        )


def is_whole(path: Path) -> bool:
    """Return whether a record's file can be read, without touching one that cannot.

    Args:
        path: the file.
    """
    try:
        return bool(_held_in(path))
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        return False


def _held_in(path: Path) -> dict[str, Any]:
    held: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    events = held["events"]
    if not isinstance(events, list) or not all(isinstance(event, dict) for event in events):
        raise ValueError("events is not a list of objects")
    return held


def _text_of(seed: str, extra: Mapping[str, object], events: list[Event]) -> str:
    head = json.dumps({"format": FORMAT, "seed": seed, **extra}, ensure_ascii=False)[:-1]
    lines = ",\n".join(json.dumps(event, ensure_ascii=False) for event in events)
    return f'{head}, "events": [\n{lines}\n]}}\n'


def _readable_events(raw: str) -> list[Event]:
    events: list[Event] = []
    for line in raw.splitlines():
        with contextlib.suppress(ValueError, RecursionError):
            entry = json.loads(line.strip().rstrip(","))
            if isinstance(entry, dict) and "kind" in entry and "at" in entry:
                events.append(entry)
    return events


def _readable_seed(raw: str) -> str | None:
    marker = '"seed": "'
    begin = raw.find(marker)
    if begin < 0:
        return None
    seed = raw[begin + len(marker) :].split('"', 1)[0]
    return seed if seed.isalnum() else None


def _replace(path: Path, text: str) -> None:
    handle, name = tempfile.mkstemp(prefix=path.name, suffix=".tmp", dir=path.parent)
    try:
        with os.fdopen(handle, "w", encoding="utf-8") as file:
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        os.replace(name, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(name)
        raise


def _stamp_of(path: Path) -> tuple[int, int] | None:
    # The inode is new with every replacement, so a change within the clock's grain is seen too.
    try:
        status = path.stat()
    except OSError:
        return None
    return (status.st_mtime_ns, status.st_ino)


def _free_name(path: Path, word: str) -> Path:
    for count in range(1000):
        tail = f"-{count}" if count else ""
        candidate = path.with_name(f"{path.stem}.{word}{tail}{path.suffix}")
        if not candidate.exists():
            return candidate
    raise FileExistsError(f"no free name beside {path.name}")


@contextlib.contextmanager
def _lock(path: Path) -> Iterator[None]:
    """Hold a lock file; one left by a killed process is taken over when it is older than any write takes."""
    give_up = time.monotonic() + _LOCK_WAIT_SECONDS
    while True:
        try:
            os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY))
            break
        except FileExistsError:
            with contextlib.suppress(OSError):
                if time.time() - path.stat().st_mtime > _LOCK_STALE_SECONDS:
                    path.unlink()
                    continue
            if time.monotonic() > give_up:
                raise TimeoutError(f"another notebook is writing {path.name}") from None
            time.sleep(0.01)
    try:
        yield
    finally:
        with contextlib.suppress(OSError):
            path.unlink()
