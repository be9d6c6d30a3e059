"""The course's lessons: number, title, minutes, what each needs, and the folder of its notebook."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from gearkit.words.say import later, say


@dataclass(frozen=True)
class LessonPlan:
    """One lesson of the course.

    Args:
        number: two digits; "00" opens the course.
        english_title: what it is about.
        minutes: planned time.
        english_needs: what has to be known before.
        folder: folder of its notebook under ``lessons``.
        core: the exercises that everybody does, as numbers with blanks between; the others are extra, for who has time.
    """

    number: str
    english_title: str
    minutes: int
    english_needs: str
    folder: str
    core: str = ""

    @property
    def title(self) -> str:
        """What it is about, in the reader's language."""
        return say(self.english_title)

    @property
    def needs(self) -> str:
        """What has to be known before, in the reader's language."""
        return say(self.english_needs)

    @property
    def core_items(self) -> tuple[str, ...]:
        """Ids of the core exercises, in order."""
        return tuple(f"L{self.number}-{name}" for name in self.core.split())


# A mark takes a learner about so long (planned: 780 minutes for the 597 marks of the course), and the core exercises of a
# lesson fill at most this share of its time.
MINUTES_PER_MARK = 1.3
CORE_SHARE = 1 / 3

_PLANS = (
    LessonPlan("00", later("Start here: how a lesson works"), 5, later("nothing"), "00_start_here"),
    LessonPlan(
        "01",
        later("Gear pairs: speeds, tooth counts, direction"),
        60,
        later("fractions and signs"),
        "01_gear_pairs",
        "01 02 03 05 06",
    ),
    LessonPlan(
        "02",
        later("One planetary set: members and the speed equation"),
        75,
        later("lesson 1"),
        "02_one_planetary_set",
        "01 02 03 04 21",
    ),
    LessonPlan(
        "03",
        later("What one set can do: six ratios, direct, neutral"),
        60,
        later("lesson 2"),
        "03_what_one_set_can_do",
        "01 04 05 21",
    ),
    LessonPlan(
        "04",
        later("Geometry and assembly: will it go together?"),
        75,
        later("lessons 2 and 3"),
        "04_will_it_go_together",
        "03 04 05 06 07",
    ),
    LessonPlan(
        "05",
        later("Two sets together: series, shared members, trade types"),
        90,
        later("lessons 2 to 4"),
        "05_two_sets_together",
        "01 02 03 04 05 06 21",
    ),
    LessonPlan(
        "06",
        later("Three or more sets: predict every range"),
        90,
        later("lesson 5"),
        "06_predict_every_range",
        "01 02 03 04 05 24",
    ),
    LessonPlan(
        "07",
        later("Degrees of freedom: neutral, range, tie-up"),
        60,
        later("lesson 6"),
        "07_neutral_range_tie_up",
        "01 02 03 07",
    ),
    LessonPlan("08", later("Torque and reaction"), 90, later("lessons 6 and 7"), "08_torque_and_reaction", "01 02 04 05 06 08"),
    LessonPlan(
        "09", later("Efficiency and power flow"), 75, later("lesson 8"), "09_efficiency_and_power_flow", "01 02 05 08 09"
    ),
    LessonPlan("10", later("Ratios on the road"), 75, later("lessons 6 and 8"), "10_ratios_on_the_road", "01 02 04 05 07 08"),
    LessonPlan(
        "11",
        later("Shifting: what lets go, what takes hold"),
        75,
        later("lessons 6, 7 and 10"),
        "11_shifting",
        "01 02 03 05 06",
    ),
    LessonPlan(
        "12",
        later("Fault finding: from readings to the element"),
        90,
        later("lessons 6, 7 and 11"),
        "12_fault_finding",
        "01 02 03 05 07",
    ),
    LessonPlan(
        "13",
        later("Design, check and build a bench model"),
        180,
        later("all lessons"),
        "13_design_and_build",
        "01 02 03 04 05 06 07 08",
    ),
    LessonPlan(
        "14", later("Two inputs: the power split"), 90, later("lessons 2, 8 and 9"), "14_two_inputs", "01 02 03 05 06 08 11"
    ),
    LessonPlan(
        "15",
        later("One in, two out: differentials and transfer"),
        75,
        later("lessons 2, 8 and 14"),
        "15_one_in_two_out",
        "01 02 04 05 07 08",
    ),
)
LESSONS: Mapping[str, LessonPlan] = MappingProxyType({plan.number: plan for plan in _PLANS})
