"""The levels of protection that can be forced on this machine, those of an older system among them."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass

import pytest

from graders.run.engines import warm_process
from graders.run.sandbox import kernel_calls, select_sandbox
from graders.run.sandbox.layers import Layer, Protection

# Landlock closes more with each version: the first leaves open the lengths of files, those before the sixth signals.
OLD_LANDLOCK = (1, 3, 5)


@dataclass(frozen=True)
class Level:
    """Layers, and the version of landlock that they are built with.

    Args:
        name: what a test calls it.
        layers: the layers.
        landlock: the version that the warm process is told, 0 for the machine's own.
    """

    name: str
    protection: Protection
    landlock: int = 0

    def round_a_kernel(self) -> Level:
        """The same round a real kernel."""
        return Level(self.name, Protection(self.protection.layers - {Layer.FILTER} | {Layer.KERNEL_FILTER}), self.landlock)

    @contextmanager
    def forced(self) -> Iterator[None]:
        """Every runner that is chosen in this process has this level, and no other."""
        with pytest.MonkeyPatch.context() as patch:
            self.make_old(patch)
            patch.setattr(select_sandbox, "_possible", self._possible)
            yield

    def _possible(self, engine: str) -> Iterator[Protection]:
        if engine != "kernel":
            yield self.protection
        elif Layer.ROOT in self.protection:
            yield self.round_a_kernel().protection

    def make_old(self, patch: pytest.MonkeyPatch) -> None:
        """Tell warm processes that are started from here on of an older landlock."""
        if self.landlock:
            patch.setattr(
                warm_process,
                "PROGRAM",
                (
                    "-c",
                    (
                        "from graders.run.sandbox import kernel_calls; from graders.run.engines import warm\n"
                        f"kernel_calls.landlock_version = lambda: {self.landlock}\nwarm.main()"
                    ),
                ),
            )


def buildable() -> list[Level]:
    """Every level that this user can build here."""
    found = [
        Level(_name(protection), protection)
        for protection in select_sandbox.LEVELS
        if os.geteuid() == 0 or Layer.ROOT not in protection or Layer.USER_NAMESPACE in protection
    ]
    newest = kernel_calls.landlock_version()
    strong = found[-1].protection
    found += [Level(f"strong, landlock {version}", strong, version) for version in OLD_LANDLOCK if version < newest]
    return [one for one in found if newest > 0 or Layer.LANDLOCK not in one.protection]


def _name(protection: Protection) -> str:
    parts = [
        protection.level,
        *(["user namespace"] if Layer.USER_NAMESPACE in protection else []),
        *([] if Layer.LANDLOCK in protection else ["no landlock"]),
    ]
    return ", ".join(parts)
