"""The command faults: what a faulty element makes of every range, and suspects from speed readings."""

from __future__ import annotations

import argparse

from gearkit.cli.command import (
    DONE,
    FINDING,
    Command,
    add_json,
    add_layout,
    exact_and_decimal,
    number,
    print_json,
    shown,
    table,
)
from gearkit.solve.service.diagnosis import TOLERANCE, Diagnosis, Reading, Suspect, diagnose, next_test, reading
from gearkit.solve.service.faults import (
    CAUTION,
    ElementFault,
    FaultCase,
    FaultTable,
    element_faults,
    fault_table,
    with_faults,
)
from gearkit.text.phrases import decimal, sentence
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.say import say
from gearkit.words.terms import FaultEffect

_MOST_SHOWN = 8
_MARKS = {
    FaultEffect.SAME: "right",
    FaultEffect.OTHER_RANGE: "other",
    FaultEffect.NEUTRAL: "no drive",
}


def _faults(options: argparse.Namespace) -> int:
    layout = catalogue.find(options.layout)
    if options.reading:
        return _diagnose(layout, options)
    faults = fault_table(layout)
    if options.element is not None:
        layout.element_named(options.element)
    kept = [f for f in element_faults(layout) if options.element in (None, f.element)]
    if options.json:
        print_json({"layout": layout.name, "faults": [_fault_json(faults, f) for f in kept], "caution": say(CAUTION)})
        return DONE
    print(f"{layout.name}\nwhat one faulty element makes of every range\n")
    head = ["fault", *(item.name for item in layout.ranges)]
    rows = [[str(fault), *(_mark(case) for case in faults.of(fault))] for fault in kept]
    print(table(head, rows))
    print("\n→ X: runs as in range X; other: a ratio that no range has; no drive: neutral; may roll: does not hold\n")
    for fault in kept:
        lost, limp = faults.lost(fault), faults.limp_home(fault)
        print(f"{fault}: lost {', '.join(lost) or 'none'}; limp-home {', '.join(limp) or 'none'}")
        for case in faults.of(fault):
            if (case.lost and options.element is not None) or case.range_name in faults.unsafe(fault) or case.braking_lost:
                print(f"    {case.range_name}: {case.symptom()}")
    print(f"\n{say(CAUTION)}")
    return DONE


def _mark(case: FaultCase) -> str:
    if case.effect is FaultEffect.OTHER_RANGE and case.actual_range:
        return f"→ {case.actual_range}"
    if case.effect is FaultEffect.SAME and case.sound.note and case.sound.ratio is None:
        # A one-way clutch blocks the range or lets it go as it is, and the fault changes nothing of that.
        return _word(FaultEffect(case.sound.verdict))
    return "may roll" if case.rolls else _word(case.effect)


def _word(effect: FaultEffect) -> str:
    return _MARKS.get(effect, str(effect))


def _fault_json(faults: FaultTable, fault: ElementFault) -> dict[str, object]:
    return {
        "element": fault.element,
        "mode": fault.mode.value,
        "ranges": [
            {
                "range": case.range_name,
                "effect": case.effect.value,
                "actual_range": case.actual_range,
                "ratio": exact_and_decimal(case.faulty.ratio),
                "braking_lost": case.braking_lost,
                "symptom": case.symptom(),
                "one_way_note": case.faulty.note,
            }
            for case in faults.of(fault)
        ],
        "lost": list(faults.lost(fault)),
        "limp_home": list(faults.limp_home(fault)),
        "unsafe": list(faults.unsafe(fault)),
    }


def _diagnose(layout: Layout, options: argparse.Namespace) -> int:
    taken = [reading(layout, text) for text in options.reading]
    diagnosis = diagnose(layout, taken, options.tolerance if options.tolerance is not None else TOLERANCE)
    if options.json:
        print_json(_diagnosis_json(diagnosis))
    else:
        _print_diagnosis(diagnosis)
    return DONE if diagnosis.sound else FINDING


def _print_diagnosis(diagnosis: Diagnosis) -> None:
    print(f"{diagnosis.layout.name}\n")
    print(table(["asked", "input", "output", "ratio", "right ratio", "slip"], [_row(diagnosis, r) for r in diagnosis.readings]))
    if diagnosis.sound:
        print("\nEvery reading is as the range that was asked for: these readings show no fault.")
    elif diagnosis.signal_factor is not None:
        print(
            f"\nEvery ratio is off by the same factor, {shown(diagnosis.signal_factor, 3)}: suspect the speed signal first "
            "(tooth count of a tone wheel, tyre or final drive entered), not an element."
        )
    if not diagnosis.sound and not diagnosis.standing and diagnosis.signal_factor is None:
        print("\nNo single fault, and no element on with another off, fits every reading. Take the readings again.")
    for title, suspects in (
        ("suspects that no reading refutes, likeliest first", diagnosis.standing),
        ("refuted", [s for s in diagnosis.suspects if s.refuted]),
    ):
        if suspects and not diagnosis.sound:
            print(f"\n{title}")
            for suspect in suspects[:_MOST_SHOWN]:
                _print_suspect(suspect)
            if len(suspects) > _MOST_SHOWN:
                print(f"  and {len(suspects) - _MOST_SHOWN} more (see --json)")
    proposed = None if diagnosis.sound else next_test(diagnosis)
    if proposed is not None:
        print(f"\nnext test: ask for {proposed.range_name}; it splits them best")
        for seen, group in proposed.outcomes.items():
            print(f"  {seen}: {'; '.join(suspect.name for suspect in group)}")
    print(f"\n{say(CAUTION)}")


def _print_suspect(suspect: Suspect) -> None:
    print(f"  {suspect.name}")
    for item in suspect.evidence:
        sign = "supports" if item.supports else "refutes "
        print(f"      {item.reading.range_name}: {sign}  {sentence(item.words)}")


def _row(diagnosis: Diagnosis, taken: Reading) -> list[str]:
    right = with_faults(diagnosis.layout, taken.range_name).ratio
    slip = taken.slip(right) if right is not None else None
    return [
        taken.range_name,
        decimal(taken.input_speed),
        decimal(taken.output_speed),
        shown(taken.ratio),
        shown(right),
        "–" if slip is None else f"{shown(100 * slip, 1)} %",
    ]


def _diagnosis_json(diagnosis: Diagnosis) -> dict[str, object]:
    proposed = None if diagnosis.sound else next_test(diagnosis)
    return {
        "layout": diagnosis.layout.name,
        "tolerance": exact_and_decimal(diagnosis.tolerance),
        "sound": diagnosis.sound,
        "signal_factor": exact_and_decimal(diagnosis.signal_factor),
        "readings": [_reading_json(taken) for taken in diagnosis.readings],
        "suspects": [_suspect_json(suspect) for suspect in diagnosis.suspects],
        "next_test": None
        if proposed is None
        else {
            "range": proposed.range_name,
            "outcomes": {seen: [s.name for s in group] for seen, group in proposed.outcomes.items()},
        },
        "caution": say(CAUTION),
    }


def _reading_json(taken: Reading) -> dict[str, object]:
    return {
        "range": taken.range_name,
        "input_speed": exact_and_decimal(taken.input_speed),
        "output_speed": exact_and_decimal(taken.output_speed),
        "ratio": exact_and_decimal(taken.ratio),
    }


def _suspect_json(suspect: Suspect) -> dict[str, object]:
    return {
        "faults": [{"element": fault.element, "mode": suspect.mode_of(fault)} for fault in suspect.faults],
        "refuted": suspect.refuted,
        "support": suspect.support,
        "evidence": [
            {"range": item.reading.range_name, "supports": item.supports, "words": item.words} for item in suspect.evidence
        ],
    }


def _arguments(parser: argparse.ArgumentParser) -> None:
    add_layout(parser)
    parser.add_argument(
        "--reading",
        action="append",
        metavar="IN:OUT:RANGE",
        help="input speed, output speed and the range asked for; may be given several times",
    )
    parser.add_argument(
        "--tolerance", type=number, metavar="SHARE", help=f"how far a ratio may be off (default {float(TOLERANCE)})"
    )
    parser.add_argument("--element", metavar="NAME", help="faults of one element only, with every symptom")
    add_json(parser)


COMMANDS: list[Command] = [
    Command(
        "faults",
        "what a faulty element makes of every range; suspects from speed readings",
        "gearkit faults Q36 --reading 2400:931.6:3 --reading 2400:1685:4",
        _arguments,
        _faults,
    )
]
