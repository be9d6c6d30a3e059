"""Every fault of a layout file is named with file, line, key, the value found and what was expected."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from gearkit.text.places import datasets
from gearkit.train import catalogue
from gearkit.words.errors import LayoutError

GOOD = (datasets() / "layouts" / "Q24.toml").read_text("utf-8")
SOURCE = '[source]\nkind = "own"\ncitation = "invented for Fernhallow Technical College\'s Q-series"\n'


@dataclass(frozen=True)
class Mistyped:
    """One change that spoils the good file, and what its fault must say."""

    what: str
    old: str
    new: str
    key: str
    found: str
    expected: str
    line_of: str = ""  # the line that the fault must name: the first one that holds these words


MISTYPED = [
    Mistyped("an unknown key at the top", "format = 1", "format = 1\nformt = 2", "formt", "formt = 2", "'format' meant", "formt = 2"),
    Mistyped("an unknown key in a set", "sun = 30", "sun = 30\nsuns = 31", 'set "P1".suns', "suns = 31", "'sun' meant", "suns"),
    Mistyped("an unknown key in an element", 'kind = "clutch"', 'kind = "clutch"\ncolour = "red"', 'element "A".colour', "'red'", "free_direction", "colour"),
    Mistyped("an unknown key in a range", 'engaged = ["E", "D"]', 'engaged = ["E", "D"]\nnote = "low"', 'range "1L".note', "'low'", "engaged", "note ="),
    Mistyped("an unknown key in the source", 'kind = "own"', 'kind = "own"\nauthor = "us"', "[source].author", "'us'", "citation", "author"),
    Mistyped("an unknown member in an element", '"P1.sun"]', '"P1.son"]', 'element "A".between', "'P1.son'", "'P1.sun' meant", "P1.son"),
    Mistyped("an unknown set in an element", '"P2.sun"]', '"P7.sun"]', 'element "E".between', "'P7.sun'", "SET one of P1, P2", "P7.sun"),
    Mistyped("an unknown member in a join", '"P2.ring"]', '"P2.rign"]', "joins, entry 1", "'P2.rign'", "'P2.ring' meant", "joins ="),
    Mistyped("a set called like another", 'name = "P2"', 'name = "P1"', "[[set]] 2.name", "'P1'", "set 1 is called the same", ""),
    Mistyped("an element called like another", 'name = "B"', 'name = "A"', "[[element]] 2.name", "'A'", "element 1 is called the same", ""),
    Mistyped("a range called like another", 'name = "1L"', 'name = "1"', "[[range]] 2.name", "'1'", "range 1 is called the same", ""),
    Mistyped("an element between a shaft and itself", '["input", "P1.sun"]', '["P1.sun", "P1.sun"]', 'element "A".between', "'P1.sun' and 'P1.sun'", "two different shafts", '"P1.sun", "P1.sun"'),
    Mistyped("an element between joined shafts", '["input", "P1.sun"]', '["P1.ring", "P2.carrier"]', 'element "A".between', "'P1.ring' and 'P2.carrier'", "by the joins", 'between = ["P1.ring"'),
    Mistyped("an unknown element in a range", '["E", "F"]', '["E", "Z"]', 'range "1".engaged', "'Z'", "A, B, C, D, E, F", '"Z"'),
    Mistyped("an element twice in a range", '["E", "F"]', '["E", "E"]', 'range "1".engaged', "['E', 'E']", "each element once", '"E", "E"'),
    Mistyped("a tooth count in quotation marks", "sun = 30", 'sun = "30"', 'set "P1".sun', "'30'", "without quotation marks", "sun ="),
    Mistyped("a tooth count with decimals", "sun = 30", "sun = 30.5", 'set "P1".sun', "30.5", "a whole tooth count", "sun ="),
    Mistyped("a tooth count that is a truth value", "sun = 30", "sun = true", 'set "P1".sun', "true", "a whole tooth count", "sun ="),
    Mistyped("a tooth count of zero", "sun = 30", "sun = 0", 'set "P1".sun', "0", "from 1 to 10000", "sun ="),
    Mistyped("a tooth count that is a date", "sun = 30", "sun = 2024-01-01", 'set "P1".sun', "2024-01-01", "a whole tooth count", "sun ="),
    Mistyped("sun and ring changed over", "sun = 30", "sun = 90", 'set "P1".ring', "84", "are the two counts swapped?", "ring = 84"),
    Mistyped("a set without a sun", "sun = 30\n", "", 'set "P1".sun', "nothing", "ring_to_sun instead", "[[set]]"),
    Mistyped("teeth and quotient together", "sun = 30", 'sun = 30\nring_to_sun = "2.8"', 'set "P1".ring_to_sun', "14/5", "not both", "ring_to_sun"),
    Mistyped("a quotient upside down", "sun = 30\nring = 84", 'ring_to_sun = "5/14"', 'set "P1".ring_to_sun', "5/14", "upside down", "ring_to_sun"),
    Mistyped("a quotient with a decimal comma", "sun = 30\nring = 84", 'ring_to_sun = "2,8"', 'set "P1".ring_to_sun', "'2,8'", '"2.2"', "ring_to_sun"),
    Mistyped("a quotient over zero", "sun = 30\nring = 84", 'ring_to_sun = "1/0"', 'set "P1".ring_to_sun', "'1/0'", '"11/5"', "ring_to_sun"),
    Mistyped("a quotient that is no number", "sun = 30\nring = 84", "ring_to_sun = nan", 'set "P1".ring_to_sun', "nan", '"11/5"', "ring_to_sun"),
    Mistyped("an unknown kind of pinions", 'pinions = "single"', 'pinions = "triple"', 'set "P1".pinions', "'triple'", '"stepped"', "triple"),
    Mistyped("stepped pinions without their teeth", 'pinions = "single"', 'pinions = "stepped"', 'set "P1".sun_pinion', "nothing", "that pinion of the stepped planet", "[[set]]"),
    Mistyped("pinion teeth in a single set", "ring = 84", "ring = 84\nsun_pinion = 27", 'set "P1".sun_pinion', "27", "stepped or double", "sun_pinion"),
    Mistyped("unequal side gears", 'pinions = "single"', 'pinions = "bevel"', 'set "P1".ring', "84", "side gears of a bevel set are equal", "ring = 84"),
    Mistyped("an efficiency above one", "ring = 84", 'ring = 84\nbasic_efficiency = "1.02"', 'set "P1".basic_efficiency', "51/50", "at most 1", "basic_efficiency"),
    Mistyped("no planets at all", "planets = 3", "planets = 0", 'set "P1".planets', "0", "from 1 to 24", "planets ="),
    Mistyped("an unknown kind of element", 'kind = "brake"', 'kind = "band"', 'element "B".kind', "'band'", '"one-way clutch"', '"band"'),
    Mistyped("a kind that is a list", 'kind = "brake"', 'kind = ["brake"]', 'element "B".kind', "['brake']", '"brake"', '["brake"]'),
    Mistyped("a brake that holds to no housing", '["P1.sun", "housing"]', '["P1.sun", "P2.sun"]', 'element "B".between', "'P1.sun' and 'P2.sun'", "is this a clutch?", '["P1.sun", "P2.sun"]'),
    Mistyped("a clutch to the housing", '["input", "P1.sun"]', '["housing", "P1.sun"]', 'element "A".between', "'housing' and 'P1.sun'", "is a brake", '["housing", "P1.sun"]'),
    Mistyped("an element between three shafts", '["input", "P1.sun"]', '["input", "P1.sun", "P2.sun"]', 'element "A".between', "'P2.sun'", "exactly two shafts", '"P1.sun", "P2.sun"'),
    Mistyped("an element between numbers", '["input", "P1.sun"]', "[1, 2]", 'element "A".between', "[1, 2]", "two shafts", "[1, 2]"),
    Mistyped("a free direction on a clutch", 'kind = "clutch"', 'kind = "clutch"\nfree_direction = "reverse"', 'element "A".free_direction', "'reverse'", "only a one-way clutch", "free_direction"),
    Mistyped("an unknown free direction", 'free_direction = "forward"', 'free_direction = "left"', 'element "F".free_direction', "'left'", '"forward", "reverse"', '"left"'),
    Mistyped("a set without a name", 'name = "P1"\n', "", "[[set]] 1.name", "nothing", "a name", "[[set]]"),
    Mistyped("a set named by a number", 'name = "P1"', "name = 1", "[[set]] 1.name", "1", "a name", "name = 1"),
    Mistyped("a set named like a shaft", 'name = "P1"', 'name = "input"', 'set "input".name', "'input'", "a letter followed by", ""),
    Mistyped("an element without a name", 'name = "A"\n', "", "[[element]] 1.name", "nothing", "a name", "[[element]]"),
    Mistyped("a range named by a sentence", 'name = "1L"', 'name = "first, low"', "[[range]] 2.name", "'first, low'", "up to 12 letters", "first, low"),
    Mistyped("a published ratio that is a number", 'engaged = ["E", "F"]', 'engaged = ["E", "F"]\npublished_ratio = 2.72', 'range "1".published_ratio', "2.72", "text with the digits", "published_ratio"),
    Mistyped("a published ratio with a comma", 'engaged = ["E", "F"]', 'engaged = ["E", "F"]\npublished_ratio = "2,72"', 'range "1".published_ratio', "'2,72'", "with the digits of its source", "published_ratio"),
    Mistyped("a join of one", '["P1.carrier", "P2.ring"]', '["P1.carrier"]', "joins, entry 1", "['P1.carrier']", "two or more members", "joins ="),
    Mistyped("a join that is no list", '["P1.carrier", "P2.ring"]', '"P1.carrier"', "joins", "'P1.carrier'", "a list of", "joins ="),
    Mistyped("the output held for good", '["output", "P2.carrier"]', '["output", "housing"]', "joins", "output joined to housing", "hold a shaft with a brake", "joins ="),
    Mistyped("another format", "format = 1", "format = 2", "format", "2", "1, the only format", "format = 2"),
    Mistyped("a format in quotation marks", "format = 1", 'format = "1"', "format", "'1'", "1, the only format", "format ="),
    Mistyped("no format", "format = 1\n", "", "format", "nothing", "1, the only format", "name = "),
    Mistyped("no name", 'name = "Quillbrook Q24: two sets, four ranges and reverse"\n', "", "name", "nothing", "a title in words", "format = 1"),
    Mistyped("no source", SOURCE, "", "[source]", "nothing", "kind and citation", "format = 1"),
    Mistyped("an unknown kind of source", 'kind = "own"', 'kind = "book"', "[source].kind", "'book'", '"common practice"', '"book"'),
    Mistyped("an empty citation", 'citation = "invented for Fernhallow Technical College\'s Q-series"', 'citation = " "', "[source].citation", "' '", "the source in words", "citation"),
    Mistyped("a value left out", "sun = 30", "sun = ", "TOML", "'sun ='", "valid TOML", "sun ="),
    Mistyped("a bracket left open", "[[element]]", "[[element", "TOML", "'[[element'", "valid TOML", "[[element"),
    Mistyped("a key twice", "sun = 30", "sun = 30\nsun = 31", "TOML", "'sun = 31'", "valid TOML", "sun = 31"),
    Mistyped("a single table for an element", "[[element]]", "[element]", "TOML", "'[[element]]'", "valid TOML", "[[element]]"),
]  # fmt: skip


@pytest.mark.parametrize("mistyped", MISTYPED, ids=lambda mistyped: mistyped.what)
def test_a_mistyped_entry_is_named_with_file_line_key_value_and_expectation(mistyped: Mistyped) -> None:
    assert mistyped.old in GOOD
    text = GOOD.replace(mistyped.old, mistyped.new, 1)
    with pytest.raises(LayoutError, match=r"gearbox\.toml, line \d+: ") as caught:
        catalogue.parse(text, file="gearbox.toml")
    fault = next(fault for fault in caught.value.faults if fault.key == mistyped.key)
    assert fault.file == "gearbox.toml"
    assert mistyped.found in fault.found
    assert mistyped.expected in fault.expected
    if mistyped.line_of:
        lines = text.splitlines()
        assert fault.line == next(n for n, line in enumerate(lines, start=1) if mistyped.line_of in line)
    assert str(fault) in str(caught.value)


@pytest.mark.parametrize(("what", "second"), [("set", 'name = "P2"'), ("element", 'name = "B"'), ("range", 'name = "1L"')])
def test_a_double_name_is_reported_at_its_second_place(what: str, second: str) -> None:
    first = {"set": "P1", "element": "A", "range": "1"}[what]
    text = GOOD.replace(second, f'name = "{first}"')
    with pytest.raises(LayoutError, match="is called the same") as caught:
        catalogue.parse(text, "gearbox.toml")
    fault = next(fault for fault in caught.value.faults if "called the same" in fault.expected)
    assert fault.line == GOOD[: GOOD.index(second)].count("\n") + 1


def test_one_slip_makes_one_fault() -> None:
    """Only a name used twice is really missed elsewhere: whatever referred to the other part."""
    several = {mistyped.what for mistyped in MISTYPED if len(_faults(mistyped)) > 1}
    assert several == {
        "a set called like another",
        "an element called like another",
        "stepped pinions without their teeth",
    }


def _faults(mistyped: Mistyped) -> tuple[object, ...]:
    with pytest.raises(LayoutError, match="found") as caught:
        catalogue.parse(GOOD.replace(mistyped.old, mistyped.new, 1), "gearbox.toml")
    return caught.value.faults


def test_faults_of_every_part_are_reported_together_in_the_order_of_the_file() -> None:
    text = GOOD
    for old, new in {
        'kind = "own"': 'kind = "hearsay"',
        "sun = 30": 'sun = "thirty"',
        'name = "B"': 'name = "A"',
        '"P2.sun"]': '"P9.sun"]',
        '["B", "C"]': '["C", "Q"]',
        "planets = 4": "planet = 4",
    }.items():
        text = text.replace(old, new, 1)
    with pytest.raises(LayoutError, match="hearsay") as caught:
        catalogue.parse(text, "gearbox.toml")
    faults = caught.value.faults
    keys = [fault.key for fault in faults]
    assert keys == [
        "[source].kind",
        'set "P1".sun',
        'set "P2".planet',
        "[[element]] 2.name",
        'element "E".between',
        'range "2".engaged',
        'range "4".engaged',
    ]
    assert [fault.line for fault in faults] == sorted(fault.line or 0 for fault in faults)
    assert str(caught.value).count("\n") == len(faults) - 1


def test_parts_that_refer_to_a_nameless_part_are_not_blamed() -> None:
    text = GOOD.replace('name = "P1"\n', "").replace('name = "A"\n', "")
    with pytest.raises(LayoutError, match="a name") as caught:
        catalogue.parse(text)
    assert [fault.key for fault in caught.value.faults] == ["[[set]] 1.name", "[[element]] 1.name"]


def test_a_nameless_part_does_not_hide_other_unknown_names() -> None:
    text = GOOD.replace('name = "P1"\n', "").replace('"P2.sun"]', '"P9.sun"]')
    with pytest.raises(LayoutError, match=r"'P9\.sun'"):
        catalogue.parse(text)


def test_an_empty_file_is_told_everything_that_a_layout_needs() -> None:
    with pytest.raises(LayoutError, match="the only format") as caught:
        catalogue.parse("", "empty.toml")
    assert [fault.key for fault in caught.value.faults] == ["format", "name", "[source]", "[[set]]"]


def test_brackets_nested_without_end_are_refused_calmly() -> None:
    with pytest.raises(LayoutError, match="brackets nested very deep"):
        catalogue.parse("joins = " + "[" * 100_000)


def test_a_number_of_thousands_of_digits_is_told_as_a_fault() -> None:
    with pytest.raises(LayoutError, match="a number of thousands of digits; expected tooth counts up to 10000"):
        catalogue.parse("format = " + "9" * 5000)
