"""A small random source of our own: the same numbers from the same seed on every machine and every Python.

Python promises nothing about `random` across versions, and a learner's numbers must be the same at marking as on the
sheet. The stream is SHA-256 over seed and counter.
"""

from __future__ import annotations

import hashlib
import hmac
import struct
from collections.abc import Sequence
from functools import lru_cache
from typing import TypeVar

T = TypeVar("T")
_EIGHT_WORDS = struct.Struct(">8I")


def seed_of(secret: bytes, *fields: str) -> bytes:
    """Return a seed that only the holder of the secret can work out (HMAC-SHA256).

    Args:
        secret: the course's secret key.
        fields: what the seed belongs to; each is hashed with its length, so that ("ab", "c") and ("a", "bc") differ.
    """
    return hmac.digest(secret, b"".join(map(_with_length, fields)), "sha256")


@lru_cache(maxsize=1024)
def _with_length(field: str) -> bytes:
    raw = field.encode("utf-8")
    return len(raw).to_bytes(8, "big") + raw


class SeededRandom:
    """Draws from one seed.

    Args:
        seed: any bytes.
    """

    def __init__(self, seed: bytes) -> None:
        self._seed = seed
        self._block = 0
        self._left: list[int] = []

    def below(self, number: int) -> int:
        """Return a whole number from 0 up to number - 1, all equally likely.

        Args:
            number: 1 to 2^32.
        """
        # Four bytes a draw; values beyond the last full round of `number` are thrown away, so none is favoured.
        fair = (1 << 32) // number * number
        while True:
            if not self._left:
                block = hashlib.sha256(self._seed + self._block.to_bytes(8, "big")).digest()
                self._left = list(_EIGHT_WORDS.unpack(block))[::-1]
                self._block += 1
            drawn = self._left.pop()
            if drawn < fair:
                return drawn % number

    def pick(self, things: Sequence[T]) -> T:
        """Return one of several things.

        Args:
            things: at least one.
        """
        return things[self.below(len(things))]

    def shuffled(self, things: Sequence[T]) -> tuple[T, ...]:
        """Return the things in a drawn order.

        Args:
            things: any number.
        """
        left = list(things)
        for place in range(len(left) - 1, 0, -1):
            other = self.below(place + 1)
            left[place], left[other] = left[other], left[place]
        return tuple(left)

    def sample(self, things: Sequence[T], number: int) -> tuple[T, ...]:
        """Return several different ones of the things, in a drawn order.

        Args:
            things: at least `number` of them.
            number: how many.
        """
        return self.shuffled(things)[:number]


class Recorder(SeededRandom):
    """Draws from another source of chance and keeps what came, so that the same can be drawn again without them.

    Args:
        seeded: where the draws come from.
    """

    def __init__(self, seeded: SeededRandom) -> None:
        self._dice = seeded
        self.throws: list[tuple[int, int]] = []

    def below(self, number: int) -> int:
        """Return a whole number from 0 up to number - 1, and keep it.

        Args:
            number: 1 to 2^32.
        """
        thrown = self._dice.below(number)
        self.throws.append((thrown, number))
        return thrown


class Replay(SeededRandom):
    """Gives what a `Recorder` kept, in its order.

    Args:
        throws: what came, each with the number of things that it was drawn from.
    """

    def __init__(self, throws: Sequence[tuple[int, int]]) -> None:
        self._throws = iter(throws)

    def below(self, number: int) -> int:
        """Return the next number that was kept.

        Args:
            number: how many things there are to draw from.

        Raises:
            LookupError: nothing more was kept, or it was drawn from another number of things.
        """
        thrown, of = next(self._throws, (0, 0))
        if of != number:
            raise LookupError(f"drawn from {of} things then, from {number} now")
        return thrown

    @property
    def ended(self) -> bool:
        """Whether everything was given that was kept; asking takes one away."""
        return next(self._throws, None) is None
