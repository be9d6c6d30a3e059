"""What takes bytes or texts from a stranger keeps its promises on rubbish, on near misses, and on what was found once."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from graders.run.engines import reply_protocol
from tests.fuzz.guided import CASES
from tests.fuzz.seeds import ANSWERS, BOOK, CELL, EXPRESSIONS, FRAME, SEEDS, SOURCES
from tests.fuzz.targets import TARGETS

FOUND = sorted(CASES.glob("*/*"))
WORDS = [piece for text in (*ANSWERS, *SOURCES) for piece in text.decode().replace("(", " ( ").split(" ")]


def near(seeds: list[bytes]) -> st.SearchStrategy[bytes]:
    """Seeds with a few bytes cut out, doubled or replaced, and mixtures of two."""

    def change(parts: tuple[bytes, bytes, int, int, bytes]) -> bytes:
        one, other, start, end, put = parts
        start, end = sorted((start % (len(one) + 1), end % (len(one) + 1)))
        return one[:start] + put + other[end % (len(other) + 1) :] if len(put) % 2 else one[:start] + put + one[end:]

    place = st.integers(0, 10_000)
    return st.tuples(st.sampled_from(seeds), st.sampled_from(seeds), place, place, st.binary(max_size=6)).map(change)


def texts() -> st.SearchStrategy[bytes]:
    """Answers of the right words in a wrong order."""
    return st.lists(st.sampled_from(WORDS), max_size=14).map(lambda words: " ".join(words).encode())


PLAIN = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), st.text(max_size=20)),
    lambda inner: st.one_of(
        st.lists(inner, max_size=4),
        st.dictionaries(st.sampled_from([*CELL, *FRAME, "cells", "worksheets", "input", "x"]), inner),
    ),
)


@pytest.mark.parametrize("name", TARGETS)
def test_seeds_are_taken(name: str) -> None:
    for seed in SEEDS[name]:
        TARGETS[name](seed)


@pytest.mark.parametrize("path", FOUND, ids=lambda path: f"{path.parent.name} {path.name}")
def test_what_was_found_once_stays_mended(path: Path) -> None:
    TARGETS[path.parent.name](path.read_bytes())


@settings(max_examples=300, deadline=None)
@given(st.one_of(texts(), near(EXPRESSIONS), st.binary(max_size=60)))
def test_any_text_is_read_as_an_expression_or_refused(data: bytes) -> None:
    TARGETS["expression"](data)


@settings(max_examples=400, deadline=None)
@given(st.integers(0, 255), st.one_of(texts(), near(ANSWERS), st.binary(max_size=60)))
def test_any_text_is_marked_as_the_answer_to_any_kind_of_item(kind: int, data: bytes) -> None:
    TARGETS["answer"](bytes([kind]) + data)


@settings(max_examples=200, deadline=None)
@given(st.one_of(texts(), near(SOURCES)))
def test_any_source_is_read_or_left_to_be_run(data: bytes) -> None:
    TARGETS["cell"](data)


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        near([BOOK]),
        st.tuples(st.lists(PLAIN, max_size=3), PLAIN).map(
            lambda parts: json.dumps({"cells": [CELL, *parts[0]], "metadata": parts[1]}).encode()
        ),
    )
)
def test_any_notebook_is_taken_as_far_as_it_can_be_read(data: bytes) -> None:
    TARGETS["notebook"](data)


@settings(max_examples=100, deadline=None)
@given(near(SEEDS["archive"]))
def test_any_file_gives_a_notebook_or_a_reason(data: bytes) -> None:
    TARGETS["archive"](data)


@settings(max_examples=200, deadline=None)
@given(
    st.one_of(
        near(SEEDS["reply"]),
        st.lists(PLAIN, max_size=3).map(
            lambda parts: b"".join(reply_protocol.packed({**FRAME, "answers": part, "cell": 1}) for part in parts)
        ),
    )
)
def test_any_reply_is_taken_no_further_than_its_form(data: bytes) -> None:
    TARGETS["reply"](data)
