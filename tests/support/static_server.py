"""A folder served on loopback as any static web server does."""

from __future__ import annotations

import contextlib
import http.server
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_words: object) -> None:
        pass


@contextlib.contextmanager
def served(folder: Path) -> Iterator[str]:
    """Serve a folder and return its address.

    Args:
        folder: the folder.
    """
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder))) as server:
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"http://127.0.0.1:{server.server_port}"
        finally:
            server.shutdown()
            thread.join(10)
