"""The prediction tasks by topic: what a lesson's notebook asks for by name."""

from __future__ import annotations

from gearkit.lesson.tasks.task import PredictionTask
from gearkit.train.catalogue import find
from gearkit.words.errors import UsageError

TOPICS = ("assembly", "freedoms", "torques", "power", "road", "shifts", "faults", "design")
# These ask for layouts with machines, or with two outputs.
SEVERAL_TOPICS = ("split", "sharing")


def task_about(topic: str, layout: str = "Q36", seed: str = "practice") -> PredictionTask:
    """Return a prediction task.

    Args:
        topic: one of `TOPICS` or `SEVERAL_TOPICS`.
        layout: a layout's name or file; assembly and design need none; split asks for two machines, sharing for two outputs.
        seed: which faults are hidden; used by "faults" only.

    Raises:
        UsageError: there is no such topic or layout.
    """
    match topic:
        case "assembly":
            from gearkit.lesson.tasks.assembly import AssemblyTask

            return AssemblyTask()
        case "freedoms":
            from gearkit.lesson.tasks.freedoms import Freedoms

            return Freedoms(find(layout))
        case "torques":
            from gearkit.lesson.tasks.torques import ElementTorques

            return ElementTorques(find(layout))
        case "power":
            from gearkit.lesson.tasks.power import PowerFlowTask

            return PowerFlowTask(find(layout))
        case "road":
            from gearkit.lesson.tasks.road import RoadTask
            from gearkit.solve.on_road.vehicle_file import find_vehicle

            return RoadTask(find(layout), find_vehicle("college_van"))
        case "shifts":
            from gearkit.lesson.tasks.shifts import ShiftTask

            return ShiftTask(find(layout))
        case "faults":
            from gearkit.lesson.tasks.faults import FaultHunt

            return FaultHunt(find(layout), seed)
        case "design":
            from gearkit.lesson.tasks.design import DesignTask

            return DesignTask()
        case "split":
            from gearkit.lesson.tasks.split import PowerSplitTask

            return PowerSplitTask(find(layout))
        case "sharing":
            from gearkit.lesson.tasks.sharing import SharingTask

            return SharingTask(find(layout))
    raise UsageError(f"There is nothing to predict about {topic!r}; topics: {', '.join((*TOPICS, *SEVERAL_TOPICS))}.")
