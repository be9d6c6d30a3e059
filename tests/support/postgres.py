"""A PostgreSQL server of the tests' own: its files in a folder of their own, reached through a socket in it, ended by them.

The server's programs come from the system's package (Debian and Ubuntu: ``postgresql``). Without them the tests that
ask for a server fail and say so; they never pass by being left out.
"""

from __future__ import annotations

import contextlib
import os
import pwd
import re
import shutil
import signal
import subprocess
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

import psycopg

ROLE, PASSWORD = "teach", "pa/ss:w@rd"
_QUOTED = "pa%2Fss%3Aw%40rd"
_BOUND_SECONDS = 900
_START_SECONDS = 60


class Server:
    """A server that can be started and stopped.

    Args:
        folder: everything of it.
        programs: folder of the server's programs.
        account: the system's account that it runs under; 0 means that of the tests.
    """

    def __init__(self, folder: Path, programs: Path, account: int) -> None:
        self.folder, self._programs, self._account = folder, programs, account
        self._process: subprocess.Popen[bytes] | None = None

    def start(self) -> None:
        """Start it and wait until it answers; it ends by itself after a quarter of an hour."""
        command = [
            "timeout", "--signal=INT", str(_BOUND_SECONDS), str(self._programs / "postgres"),
            "-D", str(self.folder / "data"), "-c", "listen_addresses=", "-c", f"unix_socket_directories={self.folder}",
            "-c", "fsync=off", "-c", "max_connections=40",
        ]  # fmt: skip
        with (self.folder / "log").open("ab") as log:
            self._process = subprocess.Popen(command, stdout=log, stderr=log, stdin=subprocess.DEVNULL, cwd="/",
                                             start_new_session=True, **_as(self._account))  # fmt: skip
        give_up = time.monotonic() + _START_SECONDS
        while time.monotonic() < give_up:
            assert self._process.poll() is None, f"the server ended: {self._log()}"
            with contextlib.suppress(psycopg.OperationalError), psycopg.connect(self._line("postgres", "postgres")):
                return
            time.sleep(0.1)
        raise AssertionError(f"the server did not answer: {self._log()}")

    def stop(self) -> None:
        """Stop it, whoever is connected, and wait until it has ended."""
        if self._process is not None:
            if self._process.poll() is None:
                self._process.send_signal(signal.SIGINT)
            self._process.wait(60)

    @contextlib.contextmanager
    def stopped(self) -> Iterator[None]:
        """Stop it for a while."""
        self.stop()
        yield
        self.start()

    def new_database(self, name: str) -> str:
        """Make an empty database that belongs to an ordinary role; return its address.

        Args:
            name: of the database.
        """
        with psycopg.connect(self._line("postgres", "postgres"), autocommit=True) as connection:
            connection.execute(f'CREATE DATABASE "{name}" OWNER {ROLE} TEMPLATE template0'.encode())
        return f"postgresql+psycopg://{ROLE}:{_QUOTED}@/{name}?host={self.folder}"

    def ask(self, database: str, question: str) -> list[tuple[object, ...]]:
        """Ask a database something as its owner.

        Args:
            database: its name.
            question: in SQL.
        """
        with psycopg.connect(self._line(database, ROLE), autocommit=True) as connection:
            return connection.execute(question.encode()).fetchall()

    def tell(self, database: str, words: str) -> None:
        """Have a database do something as its owner.

        Args:
            database: its name.
            words: in SQL.
        """
        with psycopg.connect(self._line(database, ROLE), autocommit=True) as connection:
            connection.execute(words.encode())

    def make(self) -> None:
        """Make its files; the tests' role comes with the first start."""
        secret = self.folder / "password"
        secret.write_text(PASSWORD)
        if self._account:
            for path in (self.folder, secret):
                os.chown(path, self._account, -1)
        _run(self._account, self._programs / "initdb", "-D", self.folder / "data", "-U", "postgres", "-A", "scram-sha-256",
             "--pwfile", secret, "-E", "UTF8", "--locale=C", "--no-sync")  # fmt: skip
        self.start()
        with psycopg.connect(self._line("postgres", "postgres"), autocommit=True) as connection:
            connection.execute(f"CREATE ROLE {ROLE} LOGIN PASSWORD '{PASSWORD}'".encode())

    def _line(self, database: str, user: str) -> str:
        return f"host={self.folder} dbname={database} user={user} password='{PASSWORD}'"

    def _log(self) -> str:
        return (self.folder / "log").read_text()[-2000:]


def programs() -> Path:
    """The folder of the newest server programs on this machine."""
    places = [path.parent for path in Path("/usr/lib/postgresql").glob("*/bin/initdb")]
    found = shutil.which("initdb")
    if not places and found:
        places = [Path(found).resolve().parent]
    assert places, (
        "PostgreSQL's server programs are missing, so this cannot be tested. Install them with: "
        "apt-get install -y --no-install-recommends postgresql"
    )
    return max(places, key=lambda place: [int(digits) for digits in re.findall(r"\d+", str(place))])


@contextlib.contextmanager
def server() -> Iterator[Server]:
    """Make and start a server; stop it afterwards and delete its files."""
    where, account = programs(), _account()
    # A socket's path has to be short, and the server's account has to get there, so not in pytest's own folder.
    folder = Path(tempfile.mkdtemp(prefix="gearkit-pg-", dir="/tmp"))
    found = Server(folder, where, account)
    try:
        found.make()
        yield found
    finally:
        found.stop()
        shutil.rmtree(folder, ignore_errors=True)


def _account() -> int:
    """The server refuses to run as root; then it runs as the account of its package, or as nobody."""
    if os.geteuid() != 0:
        return 0
    for name in ("postgres", "nobody"):
        with contextlib.suppress(KeyError):
            return pwd.getpwnam(name).pw_uid
    raise AssertionError("no account to run the server under")


def _as(account: int) -> dict[str, object]:
    return {"user": account, "group": pwd.getpwuid(account).pw_gid, "extra_groups": []} if account else {}


def _run(account: int, *words: object) -> None:
    done = subprocess.run([str(word) for word in words], capture_output=True, text=True, cwd="/", check=False, timeout=120,
                          **_as(account))  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
