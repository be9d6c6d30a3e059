"""What comes back from another machine is believed no further than its form."""

from __future__ import annotations

import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from graders.run.engines.reply_protocol import LONGEST_TEXT, MOST_ITEMS, Frame
from graders.run.engines.runner import Run
from graders.run.remote import remote_protocol
from graders.run.remote.remote_protocol import Ran, Reply, Request, reply_from, request_from

RUN = Run((Frame(0, {"L03-02": {"answer": "19/6"}}, "NameError"), Frame(1, {}, last=True)), True, "", 0.25, "a note")
REPLY = Reply(Ran(RUN, "full"), Request(("x = 1",), ("s",)).digest, "0.1", "tls://a:1", "")

TEXTS = st.text(max_size=40)
PLAIN = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(), st.floats(), TEXTS),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(TEXTS, inner, max_size=4)),
)


def test_a_request_holds_texts_only_and_comes_out_as_it_went_in() -> None:
    request = Request(("answer('L03-02', 1)", "\ud800 half a character"), ("setup",))
    assert request_from(request.packed()) == request
    assert set(json.loads(request.packed())) == {"cells", "setup"}


@pytest.mark.parametrize("data", [b'{"cells": [1], "setup": []}', b'{"cells": ["a"], "setup": [null]}'])
def test_a_request_of_anything_but_texts_is_refused(data: bytes) -> None:
    with pytest.raises(ValueError, match="texts only"):
        request_from(data)


def test_two_requests_that_differ_have_different_fingerprints() -> None:
    requests = [Request(("a", "b"), ()), Request(("a",), ("b",)), Request(("a\nb",), ()), Request(("b", "a"), ())]
    assert len({request.digest for request in requests}) == len(requests)


def test_a_reply_comes_out_as_it_went_in() -> None:
    assert reply_from(REPLY.packed()) == REPLY


@pytest.mark.parametrize(
    ("key", "value"),
    [
        ("digest", 7),
        ("kit", None),
        ("worker", 1),
        ("trouble", True),
        ("level", []),
        ("reason", {}),
        ("note", 0),
        ("complete", 1),
        ("seconds", "1"),
        ("seconds", True),
        ("frames", {}),
        ("frames", None),
    ],
)
def test_a_reply_of_another_form_is_dropped(key: str, value: Any) -> None:
    assert reply_from(json.dumps({**json.loads(REPLY.packed()), key: value}).encode()) is None


@pytest.mark.parametrize(
    "data", [b"", b"[]", b"null", b"[" * 100_000, b"\xff", "text", None, 3, b" " * (remote_protocol.LONGEST_REPLY + 1)]
)
def test_what_is_no_reply_is_dropped(data: object) -> None:
    assert reply_from(data) is None


def test_frames_after_one_of_another_form_are_left_out_and_the_run_is_no_longer_whole() -> None:
    data = json.loads(REPLY.packed())
    data["frames"].insert(1, {"cell": -1, "answers": {}, "fault": "", "last": False})
    found = reply_from(json.dumps(data).encode())
    assert found is not None
    assert found.ran.run.frames == RUN.frames[:1]
    assert not found.ran.run.complete


def test_a_run_is_not_whole_only_because_the_reply_says_so() -> None:
    found = reply_from(json.dumps({**json.loads(REPLY.packed()), "frames": []}).encode())
    assert found is not None
    assert not found.ran.run.complete


@given(PLAIN)
def test_whatever_comes_in_the_place_of_frames_is_bounded_or_dropped(frames: Any) -> None:
    found = reply_from(json.dumps({**json.loads(REPLY.packed()), "frames": frames}).encode())
    for frame in found.ran.run.frames if found else ():
        assert len(frame.answers) <= MOST_ITEMS
        assert all(len(text) <= LONGEST_TEXT for parts in frame.answers.values() for text in parts.values())


@given(st.dictionaries(st.sampled_from(["cell", "answers", "fault", "last", "score"]), PLAIN))
def test_a_frame_is_whole_or_none(frame: dict[str, Any]) -> None:
    found = reply_from(json.dumps({**json.loads(REPLY.packed()), "frames": [frame]}).encode())
    assert found is not None
    assert len(found.ran.run.frames) <= 1
