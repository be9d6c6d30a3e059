"""What a layout must satisfy as a whole, beyond what each set checks of itself.

Every fault comes with a path into the layout file, so that the catalogue can find its line.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from difflib import get_close_matches

from gearkit.train.elements import Element, Range
from gearkit.train.planetary_set import PlanetarySet
from gearkit.train.shafts import ShaftGroups
from gearkit.words.errors import Fault
from gearkit.words.terms import HOUSING, INPUT, MEMBERS, OUTPUT, RESERVED_SHAFTS, ElementKind, FreeDirection

MOST_SETS = 8
MOST_ELEMENTS = 16
MOST_RANGES = 64
_PLAIN_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_+-]{0,23}")
_SHORT_NAME = re.compile(r"[A-Za-z0-9][A-Za-z0-9_+-]{0,11}")

Path = tuple[str, int, str]
FaultsAt = list[tuple[Path, Fault]]


def layout_faults(
    name: str,
    sets: Sequence[PlanetarySet],
    joins: Sequence[Sequence[str]],
    elements: Sequence[Element],
    ranges: Sequence[Range],
    unread_sets: Iterable[str] = (),
    unread_elements: Iterable[str] = (),
    further: Sequence[str] = (INPUT, OUTPUT),
) -> FaultsAt:
    """Return every fault of a layout, each with its path (table, index, key).

    Args:
        name: the layout's title.
        sets: the sets.
        joins: groups of joined members.
        elements: the shift elements.
        ranges: the ranges.
        unread_sets: names of sets that are in the file but could not be built; references to them are no fault. An
            empty name stands for any one name.
        unread_elements: the same for elements.
        further: the shafts beside members and housing.
    """
    faults: FaultsAt = []
    if not name.strip():
        faults.append((("", 0, "name"), Fault("", None, "name", repr(name), "a title in words")))
    faults += _size_faults(sets, elements, ranges, bool(list(unread_sets)))
    faults += _name_faults(sets, elements, ranges)
    set_names = [*(s.name for s in sets), *unread_sets]
    set_names += _meant_by_unnamed(_set_names_used(joins, elements), set_names)
    known = {f"{pset}.{member}" for pset in set_names if pset for member in MEMBERS}
    known.update((HOUSING, *further))
    faults += _join_faults(joins, known)
    element_faults = _reference_faults(elements, known)
    faults += element_faults
    groups = ShaftGroups(sorted(known))
    for join in joins:
        if known.issuperset(join):
            for member in join[1:]:
                groups.join(join[0], member)
    faults += _ground_faults(groups, further)
    broken = {path[1] for path, _ in element_faults}
    faults += _element_shaft_faults([(i, e) for i, e in enumerate(elements) if i not in broken], groups)
    element_names = [*(e.name for e in elements), *unread_elements]
    element_names += _meant_by_unnamed((name for item in ranges for name in item.engaged), element_names)
    faults += _range_faults(ranges, {name for name in element_names if name})
    return faults


def _set_names_used(joins: Sequence[Sequence[str]], elements: Sequence[Element]) -> list[str]:
    shafts = [*(shaft for join in joins for shaft in join), *(shaft for e in elements for shaft in e.between)]
    return [shaft.rpartition(".")[0] for shaft in shafts if shaft.rpartition(".")[2] in MEMBERS]


def _meant_by_unnamed(used: Iterable[str], known: Sequence[str]) -> list[str]:
    """Names that must be those of the parts whose own name could not be read: no more of them than such parts."""
    unknown = list(dict.fromkeys(name for name in used if name not in known))
    return unknown if len(unknown) <= sum(not _is_name(name) for name in known) else []


def _is_name(name: str) -> bool:
    return bool(_PLAIN_NAME.fullmatch(name)) and name not in RESERVED_SHAFTS


def _size_faults(sets: Sequence[PlanetarySet], elements: Sequence[Element], ranges: Sequence[Range], unread: bool) -> FaultsAt:
    faults: FaultsAt = []
    if not sets and not unread:
        faults.append((("set", 0, ""), Fault("", None, "[[set]]", "nothing", "at least one [[set]]")))
    for table, parts, most in (
        ("set", sets, MOST_SETS),
        ("element", elements, MOST_ELEMENTS),
        ("range", ranges, MOST_RANGES),
    ):
        if len(parts) > most:
            faults.append(((table, most, ""), Fault("", None, f"[[{table}]]", f"{len(parts)} tables", f"at most {most}")))
    return faults


def _name_faults(sets: Sequence[PlanetarySet], elements: Sequence[Element], ranges: Sequence[Range]) -> FaultsAt:
    faults: FaultsAt = []
    parts: Sequence[tuple[str, Sequence[PlanetarySet | Element | Range]]] = (
        ("set", sets),
        ("element", elements),
        ("range", ranges),
    )
    for table, named in parts:
        seen: dict[str, int] = {}
        for index, part in enumerate(named):
            expected = []
            if part.name in seen:
                expected.append(f"a name of its own; {table} {seen[part.name] + 1} is called the same")
            seen.setdefault(part.name, index)
            if table != "set" and not _SHORT_NAME.fullmatch(part.name):
                expected.append('up to 12 letters (A to Z), digits, "_", "+" or "-"')
            place = f"[[{table}]] {index + 1}.name"
            faults += [((table, index, "name"), Fault("", None, place, repr(part.name), words)) for words in expected]
    return faults


def _join_faults(joins: Sequence[Sequence[str]], known: set[str]) -> FaultsAt:
    faults: FaultsAt = []
    for index, join in enumerate(joins):
        where = f"joins, entry {index + 1}"
        if len(join) < 2:
            faults.append((("", index, "joins"), Fault("", None, where, repr(list(join)), "two or more members")))
        for member in join:
            if member not in known:
                faults.append((("", index, "joins"), Fault("", None, where, repr(member), expected_member(member, known))))
        if len(set(join)) < len(join):
            faults.append((("", index, "joins"), Fault("", None, where, repr(list(join)), "each member once")))
    return faults


def _ground_faults(groups: ShaftGroups, further: Sequence[str]) -> FaultsAt:
    faults: FaultsAt = []
    for shaft in further:
        if groups.name_of(shaft) == groups.name_of(HOUSING):
            faults.append(
                (
                    ("", 0, "joins"),
                    Fault(
                        "",
                        None,
                        "joins",
                        f"{shaft} joined to housing",
                        f"the {shaft} free to turn; hold a shaft with a brake, or take the join out",
                    ),
                )
            )
    return faults


def _reference_faults(elements: Sequence[Element], known: set[str]) -> FaultsAt:
    return [
        (
            ("element", index, "between"),
            Fault("", None, f'element "{element.name}".between', repr(shaft), expected_member(shaft, known)),
        )
        for index, element in enumerate(elements)
        for shaft in element.between
        if shaft not in known
    ]


def _element_shaft_faults(elements: Sequence[tuple[int, Element]], groups: ShaftGroups) -> FaultsAt:
    faults: FaultsAt = []
    for index, element in elements:
        if element.kind is not ElementKind.ONE_WAY_CLUTCH and element.free_direction is not FreeDirection.FORWARD:
            where = f'element "{element.name}".free_direction'
            expected = "no entry: only a one-way clutch has a free direction"
            faults.append(
                (
                    ("element", index, "free_direction"),
                    Fault("", None, where, repr(str(element.free_direction)), expected),
                )
            )
        first, second = (groups.name_of(shaft) for shaft in element.between)
        shown = " and ".join(repr(shaft) for shaft in element.between)
        grounded = HOUSING in (first, second)
        if first == second:
            expected = "two different shafts; these are one shaft already, by its own name or by the joins"
        elif element.kind is ElementKind.BRAKE and not grounded:
            expected = 'one side "housing": a brake holds a member to the housing; is this a clutch?'
        elif element.kind is ElementKind.CLUTCH and grounded:
            expected = "two shafts that can turn; an element that holds to the housing is a brake"
        else:
            continue
        faults.append((("element", index, "between"), Fault("", None, f'element "{element.name}".between', shown, expected)))
    return faults


def _range_faults(ranges: Sequence[Range], known: set[str]) -> FaultsAt:
    faults: FaultsAt = []
    for index, item in enumerate(ranges):
        where = f'range "{item.name}"'
        for name in item.engaged:
            if name not in known:
                faults.append(
                    (
                        ("range", index, "engaged"),
                        Fault(
                            "",
                            None,
                            f"{where}.engaged",
                            repr(name),
                            f"names of elements: {', '.join(sorted(known)) or 'none are defined'}",
                        ),
                    )
                )
        if len(set(item.engaged)) < len(item.engaged):
            faults.append(
                (
                    ("range", index, "engaged"),
                    Fault("", None, f"{where}.engaged", repr(list(item.engaged)), "each element once"),
                )
            )
        if item.published_ratio and not re.fullmatch(r"-?\d+(\.\d+)?", item.published_ratio):
            faults.append(
                (
                    ("range", index, "published_ratio"),
                    Fault(
                        "",
                        None,
                        f"{where}.published_ratio",
                        repr(item.published_ratio),
                        'a number as text, with the digits of its source, such as "2.346"',
                    ),
                )
            )
    return faults


def expected_member(name: str, known: set[str]) -> str:
    """Return what may stand where an unknown member was found.

    Args:
        name: what was found.
        known: every member and shaft that there is.
    """
    sets = sorted({name.split(".")[0] for name in known if "." in name})
    near = get_close_matches(name, sorted(known), 1)
    # Input, outputs and housing in the order of the way through a train.
    shafts = sorted((shaft for shaft in known if "." not in shaft), key=lambda s: (s == HOUSING, s != INPUT, s))
    return (
        f"SET.sun, SET.carrier or SET.ring with SET one of {', '.join(sets) or '(no set is defined)'}, "
        f"or {', '.join(shafts)}{f'; is {near[0]!r} meant?' if near else ''}"
    )
