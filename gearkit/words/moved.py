"""Old addresses of modules that stand in sheets handed out, in copied lessons and in settings of courses.

A learner's notebook and a course's settings keep the addresses of the day on which they were made. An old address gives
the module itself, not a copy of it, so that what is loaded under both names is one thing.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.abc import Loader, MetaPathFinder
from importlib.machinery import ModuleSpec
from types import ModuleType

MOVED = {
    "gearkit.draw.loaded_levers": "gearkit.draw.lever.loaded_levers",
    "gearkit.solve.diagnosis": "gearkit.solve.service.diagnosis",
    "gearkit.solve.faults": "gearkit.solve.service.faults",
    "gearkit.solve.gear_choices": "gearkit.solve.teeth.gear_choices",
    "gearkit.solve.road": "gearkit.solve.on_road.road",
    "gearkit.solve.shifts": "gearkit.solve.service.shifts",
    "gearkit.solve.torques": "gearkit.solve.loads.torques",
    "gearkit.solve.vehicle": "gearkit.solve.on_road.vehicle",
    "gearkit.solve.vehicle_file": "gearkit.solve.on_road.vehicle_file",
    "graders.mark.grading_page": "graders.book.grading_page",
    "graders.prepare": "graders.hand_out",
    "graders.prepare.fetch": "graders.hand_out.fetch",
}


class _AtItsNewPlace(MetaPathFinder, Loader):
    """Answers an old address with the module at its new place."""

    def find_spec(self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None) -> ModuleSpec | None:
        return ModuleSpec(fullname, self) if fullname in MOVED else None

    def create_module(self, spec: ModuleSpec) -> ModuleType:
        module = import_module(MOVED[spec.name])
        self._own = module.__spec__
        return module

    def exec_module(self, module: ModuleType) -> None:
        # The import system has just written the old address over the module's own description of itself.
        module.__spec__ = self._own


def install() -> None:
    """Let old addresses be imported from now on; does nothing the second time."""
    if not any(isinstance(finder, _AtItsNewPlace) for finder in sys.meta_path):
        sys.meta_path.insert(0, _AtItsNewPlace())
