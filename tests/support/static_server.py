"""A folder served on loopback as any static web server does."""

from __future__ import annotations

import contextlib
import http.server
import ssl
import threading
from collections.abc import Iterator
from functools import partial
from pathlib import Path


class _Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_words: object) -> None:
        pass


@contextlib.contextmanager
def served(folder: Path, certificate: Path | None = None) -> Iterator[str]:
    """Serve a folder and return its address.

    Args:
        folder: the folder.
        certificate: a file with a key and its certificate; with one the folder is served by https.
    """
    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), partial(_Quiet, directory=str(folder))) as server:
        if certificate is not None:
            context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
            context.load_cert_chain(certificate)
            server.socket = context.wrap_socket(server.socket, server_side=True)
        thread = threading.Thread(target=server.serve_forever, daemon=True)
        thread.start()
        try:
            yield f"{'https' if certificate else 'http'}://127.0.0.1:{server.server_port}"
        finally:
            server.shutdown()
            thread.join(10)
