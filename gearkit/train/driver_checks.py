"""What machines, outputs and a converter must satisfy within their layout; each fault with a path into the file."""

from __future__ import annotations

import re
from collections.abc import Sequence

from gearkit.train.checks import FaultsAt, expected_member
from gearkit.train.drivers import Converter, Machine
from gearkit.train.elements import Element
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.errors import Fault
from gearkit.words.terms import ENGINE, HOUSING, INPUT, MEMBERS, OUTPUT

MOST_OUTPUTS = 6
MOST_MACHINES = 6
_NAME = re.compile(r"[A-Za-z][A-Za-z0-9_-]{0,11}")
_NAME_WORDS = 'a letter followed by letters (A to Z), digits, "_" or "-", up to 12'


def driver_faults(
    sets: Sequence[PlanetarySet],
    joins: Sequence[Sequence[str]],
    elements: Sequence[Element],
    outputs: Sequence[str],
    machines: Sequence[Machine],
    converter: Converter | None,
    unread_sets: Sequence[str] = (),
) -> FaultsAt:
    """Return every fault of what may drive a layout beside its input, each with its path (table, index, key).

    Args:
        sets: the sets.
        joins: groups of joined members.
        elements: the shift elements.
        outputs: the declared names of the outputs.
        machines: the machines.
        converter: the converter.
        unread_sets: names of sets that could not be built; a machine on one of their members is no fault, nor is one
            on any set where a name is empty.
    """
    set_names = [*(pset.name for pset in sets), *unread_sets]
    further = (INPUT, *(outputs or (OUTPUT,)), *((ENGINE,) if converter else ()))
    known = {f"{name}.{member}" for name in set_names for member in MEMBERS} | {HOUSING, *further}
    groups = ShaftGroups(sorted(known))
    for join in joins:
        for member in join[1:]:
            if {join[0], member} <= known:
                groups.join(join[0], member)
    faults = _output_faults(outputs, {name for name in set_names if name} | {element.name for element in elements})
    taken = {name: "a set" for name in set_names if name} | {element.name: "an element" for element in elements}
    taken |= {INPUT: "the input", HOUSING: "the housing", ENGINE: "the engine"} | dict.fromkeys(
        outputs or (OUTPUT,), "an output"
    )
    for index, machine in enumerate(machines):
        faults += _machine_faults(machine, index, taken, known, groups, "" in set_names)
        taken.setdefault(machine.name, "another machine")
    if len(machines) > MOST_MACHINES:
        faults.append(
            (
                ("machine", MOST_MACHINES, ""),
                Fault("", None, "[[machine]]", f"{len(machines)} tables", f"at most {MOST_MACHINES}"),
            )
        )
    if converter and any(groups.name_of(ENGINE) == groups.name_of(shaft) for shaft in known - {ENGINE, HOUSING}):
        expected = "the engine joined to nothing: the converter is between engine and input, and a lock-up is a clutch"
        faults.append((("", 0, "joins"), Fault("", None, "joins", "engine joined to another shaft", expected)))
    return faults


def _output_faults(outputs: Sequence[str], taken: set[str]) -> FaultsAt:
    faults: FaultsAt = []

    def fault(value: object, expected: str) -> None:
        faults.append((("", 0, "outputs"), Fault("", None, "outputs", repr(value), expected)))

    for index, name in enumerate(outputs):
        if not _NAME.fullmatch(name) or name in (INPUT, HOUSING, ENGINE):
            fault(name, f"{_NAME_WORDS}, and neither input, housing nor engine")
        elif name in outputs[:index]:
            fault(name, "each output once")
        elif name in taken:
            fault(name, "a name of its own; a set or an element is called the same")
    if len(outputs) > MOST_OUTPUTS:
        fault(f"{len(outputs)} names", f"at most {MOST_OUTPUTS}")
    return faults


def _machine_faults(
    machine: Machine, index: int, taken: dict[str, str], known: set[str], groups: ShaftGroups, unnamed_set: bool
) -> FaultsAt:
    faults: FaultsAt = []

    def fault(key: str, value: str, expected: str) -> None:
        where = f"[[machine]] {index + 1}.name" if key == "name" else f'machine "{machine.name}".{key}'
        faults.append((("machine", index, key), Fault("", None, where, repr(value), expected)))

    if not _NAME.fullmatch(machine.name):
        fault("name", machine.name, f'{_NAME_WORDS}, such as "M1"')
    elif machine.name in taken:
        fault("name", machine.name, f"a name of its own; {taken[machine.name]} is called the same")
    if machine.shaft not in known:
        if not (unnamed_set and machine.shaft.rpartition(".")[2] in MEMBERS):
            fault("shaft", machine.shaft, expected_member(machine.shaft, known))
    elif groups.name_of(machine.shaft) == groups.name_of(HOUSING):
        fault("shaft", machine.shaft, "a shaft that can turn; this one is joined to the housing")
    return faults
