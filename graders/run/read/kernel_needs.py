"""Finds what in a notebook the warm shell would not do as a Jupyter kernel does it.

The warm shell refuses to start programs and other processes, has no kernel object, and its streams have no
descriptors; all else was seen to be the same on a list of probes (`tests/graders/test_engines.py`). It is looked for in
the text, without running it: what is found once too often costs a second, and what is hidden from it is refused in the
warm shell as before.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

_PROGRAMS = re.compile(
    r"^[^\S\n]*!(?!=)|=\s*!(?!=)\S"
    r"|^[^\S\n]*%%(?:bash|sh|script|cmd|system|sx|perl|ruby|python[23]?|pypy|writefile)\b"
    r"|%(?:system|sx|pip|conda|run|store)\b"
    r"|\b(?:subprocess|pexpect|pty)\b|\bos\s*\.\s*(?:system|popen|exec\w+|spawn\w+|posix_spawn\w*)\b"
    r"|\.(?:system|getoutput|getoutput_error_code)\s*\(",
    re.MULTILINE,
)
_PROCESSES = re.compile(r"\bmultiprocessing\b|\bProcessPoolExecutor\b|\bjoblib\b|\bos\s*\.\s*fork\w*\b|\bloky\b")
_KERNEL = re.compile(
    r"\bipykernel\b|\bjupyter_client\b|\.kernel\b|\bimport\s+comm\b|\bComm\s*\(|\bcreate_comm\b"
    r"|%(?:connect_info|qtconsole)\b"
)
_STREAMS = re.compile(r"\bfileno\s*\(|\bos\s*\.\s*write\s*\(\s*[12]\b|\bfaulthandler\b|\.buffer\s*\.\s*write\b")
# With each pattern words of which it must find one: looking for words takes a fiftieth of the time.
_REASONS = (
    (_PROGRAMS, ("!", "%", "subprocess", "pexpect", "pty", "system", "popen", "exec", "spawn", "getoutput"), "starts programs"),
    (_PROCESSES, ("multiprocessing", "ProcessPoolExecutor", "joblib", "fork", "loky"), "starts other processes"),
    (_KERNEL, ("ipykernel", "jupyter_client", ".kernel", "comm", "Comm", "%"), "speaks to its kernel"),
    (_STREAMS, ("fileno", "write", "faulthandler"), "uses the descriptors of its streams"),
)


def needs_kernel(cells: Sequence[str]) -> str:
    """Why a notebook should be run in a real kernel, as the end of a sentence, or "" where it need not.

    Args:
        cells: sources of its code cells.
    """
    text = "\n".join(cells)
    reasons = [
        told
        for pattern, words, told in _REASONS
        if any(word in text for word in words) and any(pattern.search(source) for source in cells)
    ]
    return ", ".join(reasons[:-1]) + (" and " if len(reasons) > 1 else "") + reasons[-1] if reasons else ""
