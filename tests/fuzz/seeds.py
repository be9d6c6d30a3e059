"""Sound inputs from which a search sets out."""

from __future__ import annotations

import io
import json
import zipfile

from graders.run.engines import reply_protocol

CELL = {
    "cell_type": "code",
    "id": "a",
    "metadata": {"gearkit": {"item": "L03-02"}, "nbgrader": {"grade_id": "L03-02"}},
    "outputs": [],
    "execution_count": None,
    "source": ["answer('L03-02',\n", " 1 + R/S)"],
}
BOOK = json.dumps(
    {
        "cells": [CELL, {**CELL, "cell_type": "markdown", "source": "x"}],
        "nbformat": 4,
        "nbformat_minor": 5,
        "metadata": {"gearkit": {"learner": "s1"}, "kernelspec": {"language": "python"}},
    }
).encode()
OLD = json.dumps({"worksheets": [{"cells": [{"cell_type": "code", "input": "answer('L03-02', 2)"}]}]}).encode()
FRAME = {"cell": 0, "answers": {"L03-02": {"answer": "19/6"}}, "fault": "", "last": True}
REPLY = json.dumps(
    {
        "digest": "x",
        "kit": "0.1",
        "level": "full",
        "complete": True,
        "reason": "",
        "seconds": 0.1,
        "note": "",
        "frames": [FRAME],
    }
).encode()
EXPRESSIONS = [
    b"1 + R/S",
    b"(R+S)/S",
    b"2R(S+1)^2 : 1",
    b"\\frac{R}{S}",
    b"3.2:1",
    b"i = 16/5",
    b"2 34/59",
    b"R\xc2\xb2/S",
    b"1e-3",
    b"1.2 x 10^3",
    b"about 3 1/7 to 1",
    "½(R-S)".encode(),
    b"i = 24/7 = 3.43",
    b"4.6 reverse",
    b"1.234,5",
    b"(overdrive) 0.7",
    b"-R/(S - P)**-2",
    "R₁·S⁻¹".encode(),
    b"3,2",
]
ANSWERS = [
    *EXPRESSIONS,
    b"sun = 12; planet = -3",
    b"a, b, c",
    b"427.8 r/min",
    b"12 N.m",
    b"forward",
    b"true",
    b"no",
    b"range",
    b"sun",
    b"d e a",
    b"S = 24, R = 66",
    b"it is the sun gear",
    b"element D",
    "A → B, then C".encode(),
    b"second, reverse",
    b"552 revs per minute (reverse)",
    b"3 mph",
    b"lb*ft 30",
    b"none",
]
SOURCES = [
    b"answer('L03-02', 1 + R/S)",
    b"answer('L03-05', {'a': [R, 2], 3: '4'}, S_R_C=-2**3)  # x",
    b"answer('L03-02', 19/6",
    b"2 34/59",
    b"'''a'''\npass\n1/2*R",
    b"answer('L03-02', 3,2)",
]


def _zipped() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("work/H1.ipynb", BOOK)
    return out.getvalue()


SEEDS = {
    "expression": EXPRESSIONS,
    "answer": [bytes([place]) + text for place, text in enumerate(ANSWERS * 3)],
    "cell": SOURCES,
    "notebook": [BOOK, OLD, b"answer('L03-02', 1)"],
    "archive": [_zipped(), BOOK],
    "reply": [REPLY, reply_protocol.packed(FRAME), reply_protocol.packed(FRAME) * 2],
}
