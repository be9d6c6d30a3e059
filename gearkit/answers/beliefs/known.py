"""Every misconception that the kit knows, and one by its key."""

from __future__ import annotations

from functools import lru_cache

from gearkit.answers.beliefs import of_one_set, of_trains, of_use
from gearkit.answers.beliefs.belief import Belief
from gearkit.words.errors import UsageError


@lru_cache(maxsize=1)
def _known() -> dict[str, Belief]:
    return {idea.key: idea for family in (of_one_set, of_trains, of_use) for idea in family.BELIEFS}


def all_beliefs() -> tuple[Belief, ...]:
    """Return every misconception that the kit knows."""
    return tuple(_known().values())


def belief(key: str) -> Belief:
    """Return a misconception by its key.

    Args:
        key: such as "own turn left out".

    Raises:
        UsageError: there is none of that name.
    """
    known = _known().get(key)
    if known is None:
        raise UsageError(f"No misconception is called {key!r}. Known are: {', '.join(_known())}.")
    return known
