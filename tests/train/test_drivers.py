"""Machines, outputs, a converter and a planet's own count in a layout file: read, checked, written back; all else refuses."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from gearkit.cli.main import main
from gearkit.solve.mobility import assess
from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.train.drivers import Machine
from gearkit.train.planetary_set import PlanetarySet
from gearkit.words.errors import LayoutError, UsageError

FILES = sorted(path for folder in ("several", "published/several") for path in (datasets() / folder).glob("*.toml"))
SPLIT = (datasets() / "several" / "power_split_one_set.toml").read_text("utf-8")
AXLE = (datasets() / "several" / "planetary_transfer.toml").read_text("utf-8")
CONVERTER = (datasets() / "several" / "converter_two_ranges.toml").read_text("utf-8")


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_file_is_written_back_byte_for_byte_and_reads_the_same_when_written_anew(path: Path, tmp_path: Path) -> None:
    layout = catalogue.read(path)
    catalogue.write(layout, tmp_path / "copy.toml")
    assert (tmp_path / "copy.toml").read_bytes() == path.read_bytes()
    assert catalogue.parse(catalogue.dumps(replace(layout, text=""))) == layout
    assert not layout.plain


def test_what_a_file_says_of_machines_outputs_and_converter_is_exact() -> None:
    first, second = catalogue.parse(SPLIT).machines
    assert first == Machine("M1", "P1.sun", Fraction(9000), Fraction(60), Fraction(9, 10))
    assert second.shaft == "output"
    assert catalogue.parse(AXLE).output_names == ("front", "rear")
    converter = catalogue.parse(CONVERTER).converter
    assert converter is not None
    assert converter.speed_ratio[1] == Fraction(1, 5)
    pound_feet = catalogue.parse(SPLIT.replace('"60 N·m"', '"100 lb·ft"')).machines[0].highest_torque
    assert pound_feet == 100 * Fraction("0.45359237") * Fraction("9.80665") * Fraction("0.3048")


def test_a_file_without_them_has_one_input_and_one_output() -> None:
    layout = catalogue.find("Q36")
    assert layout.plain
    assert (layout.output_names, layout.machines, layout.converter) == (("output",), (), None)
    named = catalogue.parse(
        (datasets() / "layouts" / "Q36.toml").read_text("utf-8").replace("joins", 'outputs = ["output"]\njoins', 1)
    )
    assert named.plain


def test_a_planet_has_its_own_count_where_one_is_given() -> None:
    own = PlanetarySet("P1", sun_teeth=30, ring_teeth=78, own_planet_teeth=23)
    assert own.planet_teeth == 23
    assert own.spins() == {"planet": Fraction(-30, 23)}
    assert PlanetarySet("P1", sun_teeth=30, ring_teeth=78).spins() == {"planet": Fraction(-30, 24)}
    assert own.weights == (30, 78)


SLIPS = [
    (SPLIT, 'shaft = "P1.sun"', 'shaft = "P1.son"', 'machine "M1".shaft', "'P1.sun' meant"),
    (SPLIT, 'shaft = "P1.sun"', 'shaft = "housing"', 'machine "M1".shaft', "a shaft that can turn"),
    (SPLIT, 'shaft = "P1.sun"\n', "", 'machine "M1".shaft', "a member or shaft"),
    (SPLIT, 'name = "M2"', 'name = "M1"', "[[machine]] 2.name", "another machine is called the same"),
    (SPLIT, 'name = "M2"', 'name = "B"', "[[machine]] 2.name", "an element is called the same"),
    (SPLIT, 'name = "M2"', 'name = "output"', "[[machine]] 2.name", "an output is called the same"),
    (SPLIT, 'name = "M2"', 'name = "second machine"', "[[machine]] 2.name", "up to 12"),
    (SPLIT, '"60 N·m"', '"60"', 'machine "M1".highest_torque', '"160 N·m"'),
    (SPLIT, '"60 N·m"', '"60 kW"', 'machine "M1".highest_torque', "units: N·m"),
    (SPLIT, '"60 N·m"', "60", 'machine "M1".highest_torque', "a number and a unit as text"),
    (SPLIT, '"60 N·m"', '"0 N·m"', 'machine "M1".highest_torque', "above 0"),
    (SPLIT, 'efficiency = "0.9"\n', 'efficiency = "1.2"\n', 'machine "M1".efficiency', "at most 1"),
    (SPLIT, 'efficiency = "0.9"\n', 'efficency = "0.9"\n', 'machine "M1".efficency', "'efficiency' meant"),
    (AXLE, '["front", "rear"]', '["front", "front"]', "outputs", "each output once"),
    (AXLE, '["front", "rear"]', '["front", "housing"]', "outputs", "neither input, housing nor engine"),
    (AXLE, '["front", "rear"]', "[]", "outputs", "no entry for one output"),
    (AXLE, '["front", "rear"]', '"front"', "outputs", "a list of names"),
    (AXLE, '["front", "rear"]', '["front", "rear", "L"]', "outputs", "a set or an element is called the same"),
    (AXLE, '["C.ring", "rear"]', '["C.ring", "reer"]', "joins, entry 3", "'rear' meant"),
    (AXLE, '["C.ring", "rear"]', '["C.ring", "output"]', "joins, entry 3", "or input, front, rear, housing"),
    (AXLE, '["C.ring", "rear"]', '["C.ring", "rear", "housing"]', "joins", "rear free to turn"),
    (SPLIT, '["input", "housing"]', '["engine", "housing"]', 'element "E".between', "or input, output, housing"),
    (SPLIT, "ring = 76", "ring = 76\nplanet = 30", 'set "P1".planet', "near (ring - sun)/2 = 22"),
    (SPLIT, "sun = 32\nring = 76", 'ring_to_sun = "2.4"\nplanet = 23', 'set "P1".planet', "sun and ring beside it"),
    (AXLE, '"single"', '"double"\nplanet = 16', 'set "C".planet', "no entry for pinions = 'double'"),
    (CONVERTER, 'joins = [["input"', 'joins = [["engine", "input"', "joins", "a lock-up is a clutch"),
    (CONVERTER, 'speed_ratio = ["0"', 'speed_ratio = ["0.1"', "[converter].speed_ratio", "the table starts at stall"),
    (CONVERTER, '"0.95"]', '"0.85"]', "[converter].speed_ratio", "rising figures"),
    (CONVERTER, '"0.95"]', '"1.05"]', "[converter].speed_ratio", "no faster than the pump"),
    (CONVERTER, '"0.95"]', '"0.95", "0.99"]', "[converter].torque_ratio", "as many as speed_ratio has, 10"),
    (CONVERTER, '"1", "1", "1"]', '"1", "1.2", "1.2"]', "[converter].torque_ratio", "power out is no more than power in"),
    (CONVERTER, '"2.05"', '"1.5"', "[converter].torque_ratio", "most torque is gained at stall"),
    (CONVERTER, '"142"', "142", "[converter].capacity_factor", "numbers as texts"),
    (CONVERTER, "capacity_factor", "capacity_facter", "[converter].capacity_facter", "'capacity_factor' meant"),
    (CONVERTER, "[converter]", "[[converter]]", "[converter]", "one table [converter]"),
]  # fmt: skip


@pytest.mark.parametrize(("good", "old", "new", "key", "expected"), SLIPS)
def test_every_slip_is_named_with_its_key_its_line_and_what_was_expected(
    good: str, old: str, new: str, key: str, expected: str
) -> None:
    assert old in good
    with pytest.raises(LayoutError) as caught:
        catalogue.parse(good.replace(old, new, 1), "mine.toml")
    told = [fault for fault in caught.value.faults if fault.key == key]
    assert told, [str(fault) for fault in caught.value.faults]
    assert any(expected in fault.expected for fault in told), [str(fault) for fault in told]
    assert all(fault.line is not None and fault.file == "mine.toml" for fault in told)


def test_an_old_file_with_an_output_called_otherwise_is_still_a_fault() -> None:
    text = (datasets() / "layouts" / "Q36.toml").read_text("utf-8").replace('"output"', '"front"', 1)
    with pytest.raises(LayoutError, match="'front'"):
        catalogue.parse(text)


@pytest.mark.parametrize("words", [
    ["shifts"], ["faults"], ["road"],
    *(["draw", "--what", what, "-o", "new.svg"] for what in ("speeds", "chart", "ratios")),
])  # fmt: skip
def test_commands_that_cannot_treat_such_a_layout_say_so(
    words: list[str], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "split.toml").write_text(SPLIT, "utf-8")
    assert main([words[0], "split.toml", *words[1:]]) == 2
    said = capsys.readouterr()
    assert "the machines M1 and M2" in said.err
    assert "one input and one output only" in said.err
    assert said.out == ""
    assert list(tmp_path.iterdir()) == [tmp_path / "split.toml"]


def test_the_solver_for_one_input_and_one_output_refuses_every_other_layout() -> None:
    for text in (SPLIT, AXLE, CONVERTER):
        with pytest.raises(UsageError, match="one input and one output only"):
            assess(catalogue.parse(text), [])
