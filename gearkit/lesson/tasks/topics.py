"""The prediction tasks by topic: what a lesson's notebook asks for by name."""

from __future__ import annotations

from collections.abc import Mapping

from gearkit.lesson.tasks.task import PredictionTask
from gearkit.train.catalogue import find
from gearkit.train.layout import Layout
from gearkit.words.errors import UsageError

TOPICS = ("assembly", "freedoms", "torques", "power", "road", "shifts", "faults", "design")
# These ask for layouts with machines, or with two outputs.
SEVERAL_TOPICS = ("split", "sharing")


def task_about(
    topic: str, layout: str = "Q36", seed: str = "practice", teeth: Mapping[str, tuple[int, int]] | None = None
) -> PredictionTask:
    """Return a prediction task.

    Args:
        topic: one of `TOPICS` or `SEVERAL_TOPICS`.
        layout: a layout's name or file; assembly and design need none; split asks for two machines, sharing for two outputs.
        seed: which faults are hidden; used by "faults" only.
        teeth: other tooth counts of the layout's sets, name of a set -> sun and ring teeth.

    Raises:
        UsageError: there is no such topic or layout.
    """
    match topic:
        case "assembly":
            from gearkit.lesson.tasks.assembly import AssemblyTask

            return AssemblyTask()
        case "freedoms":
            from gearkit.lesson.tasks.freedoms import Freedoms

            return Freedoms(_layout_with(layout, teeth))
        case "torques":
            from gearkit.lesson.tasks.torques import ElementTorques

            return ElementTorques(_layout_with(layout, teeth))
        case "power":
            from gearkit.lesson.tasks.power import PowerFlowTask

            return PowerFlowTask(_layout_with(layout, teeth))
        case "road":
            from gearkit.lesson.tasks.road import RoadTask
            from gearkit.solve.on_road.vehicle_file import find_vehicle

            return RoadTask(_layout_with(layout, teeth), find_vehicle("college_van"))
        case "shifts":
            from gearkit.lesson.tasks.shifts import ShiftTask

            return ShiftTask(_layout_with(layout, teeth))
        case "faults":
            from gearkit.lesson.tasks.faults import FaultHunt

            return FaultHunt(_layout_with(layout, teeth), seed)
        case "design":
            from gearkit.lesson.tasks.design import DesignTask

            return DesignTask()
        case "split":
            from gearkit.lesson.tasks.split import PowerSplitTask

            return PowerSplitTask(_layout_with(layout, teeth))
        case "sharing":
            from gearkit.lesson.tasks.sharing import SharingTask

            return SharingTask(_layout_with(layout, teeth))
    raise UsageError(f"There is nothing to predict about {topic!r}; topics: {', '.join((*TOPICS, *SEVERAL_TOPICS))}.")


def _layout_with(layout: str, teeth: Mapping[str, tuple[int, int]] | None) -> Layout:
    return find(layout).with_teeth(teeth) if teeth else find(layout)
