"""What a learner gets back: marks, verdict, the named mistake, and words that help without giving the answer away."""

from __future__ import annotations

from fractions import Fraction

import pytest

from gearkit.answers import items
from gearkit.answers.draw_numbers import variants
from gearkit.answers.judge import marking
from gearkit.answers.judge.results import ItemResult
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.mistakes import catalogue, mistake
from gearkit.words.errors import UsageError
from tests.answers.before import drawn_before


def fixed(item_id: str, **wanted: int) -> variants.Variant:
    """Return a practice variant with the wanted numbers among its values."""
    item = items.find(item_id)
    for number in range(20_000):
        variant = variants.practice(item, str(number))
        if all(variant.values.get(name) == count for name, count in wanted.items()):
            return variant
    raise AssertionError(f"no variant of {item_id} with {wanted}")


RING_HELD = fixed("L03-02", S=36, R=78)  # 1 + 78/36 = 19/6
CARRIER = drawn_before(items.find("L02-01"))
SIX = fixed("L03-01", S=36, R=78)
SIX_RIGHT = {"S_R_C": "19/6", "C_R_S": "6/19", "R_S_C": "19/13", "C_S_R": "13/19", "S_C_R": "-13/6", "R_C_S": "-6/13"}


def mark(variant: variants.Variant, text: str) -> ItemResult:
    return marking.mark(variant, {"answer": text})


@pytest.mark.parametrize(
    "text", ["19/6", "1 + 78/36", "3.17", "3.1667", "3.167:1", "114/36", "i = 19/6", "1 + R/S", "\\frac{19}{6}"]
)
def test_a_right_ratio_is_right_in_many_forms(text: str) -> None:
    result = mark(RING_HELD, text)
    assert (result.verdict, result.score, result.comment, result.mistakes) == ("right", 2, "Right.", ())


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("13/6", "NOONE", "R/S belongs to a held carrier"),
        ("19/13", "SWAP", "sun and ring have changed places"),
        ("6/19", "RECIP", "upside down"),
        ("R/S", "NOONE", "R/S belongs to a held carrier"),
        ("25/6", "NOONE", "There is a one too many"),
    ],
)
def test_a_slip_is_named_and_told_in_words(text: str, code: str, words: str) -> None:
    result = mark(RING_HELD, text)
    assert (result.verdict, result.score) == ("wrong", 0)
    assert [each_mistake.code for each_mistake in result.mistakes] == [code]
    assert words in result.comment


def test_the_right_size_with_the_wrong_sign_earns_half_of_a_ratio() -> None:
    result = mark(RING_HELD, "-19/6")
    assert (result.verdict, result.score) == ("wrong", 1)
    assert [each_mistake.code for each_mistake in result.mistakes] == ["CARTEETH"]


def test_an_answer_without_a_name_is_sent_to_hint_1() -> None:
    result = mark(RING_HELD, "7.77")
    assert (result.verdict, result.score, result.mistakes) == ("wrong", 0, ())
    assert result.comment == "Not right, and not one of the usual mistakes: have a look at hint 1."


def test_two_figures_are_right_where_no_wrong_form_looks_the_same_and_say_so() -> None:
    result = mark(RING_HELD, "3.2")
    assert (result.verdict, result.score, result.mistakes) == ("right", 2, ())
    assert result.comment == "Right. Two figures are just enough to tell here; three are safer, and exact is best."


def test_too_few_digits_are_wrong_but_not_a_mistake() -> None:
    result = mark(RING_HELD, "3")
    assert (result.verdict, result.score, result.mistakes) == ("wrong", 0, ())
    assert "too few digits to tell" in result.comment


def test_what_cannot_be_read_costs_nothing_and_is_explained() -> None:
    result = mark(RING_HELD, "3 7/6")
    assert (result.verdict, result.score, result.mistakes) == ("unreadable", 0, ())
    assert result.comment == "3 7/6 could be a sum or a product. Write 3 + 7/6 or 25/6."


@pytest.mark.parametrize("given", [{}, {"answer": ""}, {"answer": "   "}])
def test_nothing_handed_in_gets_kind_words(given: dict[str, str]) -> None:
    result = marking.mark(RING_HELD, given)
    assert (result.verdict, result.score) == ("missing", 0)
    assert result.comment == "Nothing was handed in here. Try it: hint 1 is a good place to start."


@pytest.mark.parametrize(
    "text", ["(S*ns+R*nr)/(S+R)", "ns + (nr - ns)*R/(S+R)", "S/(S+R)*ns + R/(S+R)*nr", "(S n_s + R n_r)/(S + R)"]
)
def test_a_formula_is_right_in_whatever_form(text: str) -> None:
    assert mark(CARRIER, text).verdict == "right"


@pytest.mark.parametrize(
    ("text", "code"),
    [("(R*ns+S*nr)/(R+S)", "SWAP"), ("(ns+nr)/2", "HALF"), ("-(S*ns+R*nr)/(S+R)", "SIGN"), ("(S+R)/(S*ns+R*nr)", "RECIP")],
)
def test_slips_in_a_formula_have_names(text: str, code: str) -> None:
    assert [each_mistake.code for each_mistake in mark(CARRIER, text).mistakes] == [code]


def test_a_number_where_letters_are_asked_is_told_so() -> None:
    assert mark(CARRIER, "400").comment == "A formula in letters is asked for, and a number was given."


def test_a_table_earns_marks_cell_by_cell() -> None:
    result = marking.mark(SIX, {**SIX_RIGHT, "S_R_C": "7.77", "C_R_S": ""})
    assert (result.score, result.verdict) == (4, "wrong")
    assert result.comment == (
        "4 of 6 right. Still empty: carrier in, ring held, sun out. "
        "What is wrong is not one of the usual mistakes: have a look at hint 1."
    )
    assert [part.verdict for part in result.parts] == ["wrong", "missing", "right", "right", "right", "right"]


def test_a_misconception_behind_a_whole_table_is_told_once() -> None:
    turned = {name: str(1 / Fraction(text)) for name, text in SIX_RIGHT.items()}
    result = marking.mark(SIX, turned)
    assert [each_mistake.code for each_mistake in result.mistakes] == ["RECIP"]
    assert result.comment.count("upside down") == 1


def test_a_table_may_come_as_one_text() -> None:
    together = "; ".join(f"{name} = {text}" for name, text in SIX_RIGHT.items())
    assert mark(SIX, together).verdict == "right"
    assert mark(SIX, together.replace(" = ", ": ")).verdict == "right"
    assert mark(SIX, together.replace(";", ",")).verdict == "right"
    assert mark(SIX, together.replace(";", "")).verdict == "right"
    assert mark(SIX, "; ".join(SIX_RIGHT.values())).verdict == "right"
    assert mark(SIX, "\n".join(f"{name} = {text}" for name, text in SIX_RIGHT.items())).verdict == "right"


def test_entries_that_cannot_be_matched_to_parts_are_told_so() -> None:
    result = mark(SIX, "19/6; 6/19")
    assert (result.verdict, result.score) == ("unreadable", 0)
    assert result.comment == (
        "This question has 6 parts, and 2 entries were written. Name each one, with semicolons "
        "between: S_R_C = …; C_R_S = …; R_S_C = …."
    )


def together(**changed: str) -> str:
    return "; ".join(f"{name} = {text}" for name, text in {**SIX_RIGHT, **changed}.items())


def test_an_overlong_entry_of_one_text_costs_only_itself() -> None:
    result = mark(SIX, together(R_S_C="1+" * 2000 + "1"))
    assert (result.verdict, result.score) == ("wrong", 5)
    assert [part.verdict for part in result.parts].count("unreadable") == 1
    assert "The answer has 4001 characters; 400 are read" in result.comment


@pytest.mark.parametrize("entry", ["C_R_S 6/19", "6/19"])
def test_an_entry_without_a_sign_or_a_name_is_read_where_it_can_only_be_one_part(entry: str) -> None:
    text = together().replace(f"C_R_S = {SIX_RIGHT['C_R_S']}", entry)
    assert mark(SIX, text).verdict == "right"


def test_an_entry_that_belongs_to_no_part_costs_only_itself() -> None:
    entries = [entry for entry in together().split("; ") if not entry.startswith(("C_R_S", "R_S_C"))]
    result = mark(SIX, "; ".join([*entries, "6/19"]))
    assert (result.verdict, result.score) == ("wrong", 4)
    assert (
        "The entry “6/19” has no name that this question has, and is not marked. Write C_R_S = … if it was meant for that"
        in result.comment
    )
    assert [part.verdict for part in result.parts].count("unreadable") == 1
    assert mark(SIX, together() + "; and that is all").verdict == "right"


def test_a_part_that_is_given_twice_costs_only_itself() -> None:
    result = mark(SIX, together() + "; C_R_S = 1/2")
    assert (result.verdict, result.score) == ("wrong", 5)
    assert "C_R_S is given twice: 6/19 and 1/2. Give it once." in result.comment
    assert mark(SIX, together() + "; C_R_S = 6/19").verdict == "right"


def test_one_unreadable_cell_does_not_spoil_the_others() -> None:
    result = marking.mark(SIX, {**SIX_RIGHT, "R_C_S": "-6:13"})
    assert (result.score, result.verdict) == (5, "wrong")
    assert "ring in, carrier held, sun out: " in result.comment
    assert result.parts[5].verdict == "unreadable"


def test_half_marks_for_the_sign_count_in_a_table_too() -> None:
    assert marking.mark(SIX, {**SIX_RIGHT, "S_C_R": "13/6"}).score == Fraction(11, 2)


def test_a_total_that_follows_from_wrong_rows_earns_half() -> None:
    variant = variants.practice(items.find("L02-03"))
    right = marking.right_answer(variant)
    turn = variant.values["nc"]
    wrong_row = turn + 7
    given = {**right, "sun_still": str(wrong_row), "sun": str(turn + wrong_row)}
    result = marking.mark(variant, given)
    assert result.score == 3 + Fraction(1, 2)
    assert "follows from your own other entries" in result.comment


def test_two_slips_that_give_the_same_answer_are_both_named() -> None:
    for number in range(200):
        variant = variants.practice(items.find("L13-03"), str(number))
        contents = [form.contents["answer"] for form in variant.key.wrong_forms]
        if len(contents) == 2 and contents[0] == contents[1]:
            result = mark(variant, str(contents[0]))
            assert [each_mistake.code for each_mistake in result.mistakes] == ["UNIT", "TIP"]
            assert result.comment.startswith("Either: ")
            assert " Or: " in result.comment
            return
    raise AssertionError("no such variant")


def test_any_design_that_meets_the_demands_is_right() -> None:
    variant = fixed("L04-06")
    wanted = variant.values["i"]
    for sun in range(20, 40):
        for planet in range(14, 40):
            ring, ratio = sun + 2 * planet, 2 + Fraction(2 * planet, sun)
            if ring <= 100 and abs(ratio - wanted) <= wanted / 100 and (sun + ring) % 3 == 0:
                # Three planets always have room while the planet is not much larger than the sun.
                design = {"S": str(sun), "P": str(planet), "R": str(ring), "N": "3"}
                assert marking.mark(variant, design).verdict == "right", design


def test_every_demand_on_a_design_is_reported_by_itself() -> None:
    variant = fixed("L04-06")
    right = marking.right_answer(variant)
    result = marking.mark(variant, {**right, "N": "2"})
    assert result.verdict == "wrong"
    assert "Not met: equal spacing of 3 to 5 planets, ratio within 8 percent" in result.comment
    assert [part.label for part in result.parts] == [
        "sun, planet and ring are concentric, whole teeth within the limits",
        "equal spacing of 3 to 5 planets, ratio within 8 percent",
        "planets clear each other, ratio within 8 percent",
        "ratio within 1 percent",
    ]


def test_a_design_with_a_count_missing_earns_what_can_be_told() -> None:
    variant = fixed("L04-06")
    right = marking.right_answer(variant)
    result = marking.mark(variant, {**right, "N": ""})
    assert result.score == 3  # concentric (1) and ratio (2) need no N
    assert "Still empty: number of planets N" in result.comment


def test_planets_of_five_and_of_seven_teeth_earn_no_full_marks() -> None:
    for number in range(40):
        variant = variants.practice(items.find("L04-06"), str(number))
        wanted = variant.values["i"]
        for sun in range(20, 30):
            for planet in (5, 7):
                design = {"S": str(sun), "P": str(planet), "R": str(sun + 2 * planet), "N": "3"}
                assert marking.mark(variant, design).score < 5, (wanted, design)


def test_one_set_written_twice_earns_half_of_a_design_of_two_at_most() -> None:
    for number in range(20):
        variant = variants.practice(items.find("L13-02"), str(number))
        right = marking.right_answer(variant)
        for one in "12":
            twice = {name: right[name[0] + one] for name in right}
            assert marking.mark(variant, twice).score <= 5 or variant.values["i1"] - 1 < variant.values["r"] * Fraction(5, 4)


def test_a_gear_of_one_tooth_earns_a_quarter_at_most() -> None:
    for number in range(20):
        variant = variants.practice(items.find("L01-08"), str(number))
        both = int(2 * variant.values["a"] / variant.values["m"])
        assert marking.mark(variant, {"z1": "1", "z2": str(both - 1)}).score <= 1
        assert marking.mark(variant, {"z1": "1", "z2": str(round(variant.values["i"]))}).score <= 2


def test_a_design_of_zeros_is_wrong_and_not_an_accident() -> None:
    variant = fixed("L04-06")
    result = marking.mark(variant, dict.fromkeys("SPRN", "0"))
    assert result.verdict == "wrong"
    assert result.score <= 1


def test_a_suspect_that_fits_some_rows_only_is_told_to_try_them_all() -> None:
    variant = variants.practice(items.find("L12-07"))
    wrong = marking.wrong_answer(variant, "CMD")
    assert wrong is not None
    assert "Try your suspect against every row" in marking.mark(variant, wrong).comment


def test_there_is_no_wrong_answer_of_a_name_that_an_item_does_not_have() -> None:
    assert marking.wrong_answer(RING_HELD, "FD") is None
    assert marking.wrong_answer(RING_HELD, "NOONE") == {"answer": "13/6"}


def test_every_mistake_of_the_catalogue_has_a_sentence_and_is_named_somewhere() -> None:
    assert len({entry.code for entry in catalogue()}) == len(catalogue())
    assert all(entry.sentence.endswith((".", "?")) and entry.name for entry in catalogue())
    used = {each_mistake.code for item in items.all_items() for each_mistake in item.named_mistakes}
    of_layouts = {"OTHERRANGE", "SENSE", "PLANET", "MEMBERS", "ELEMENT", "OTHERSET", "TURNED"}
    assert used | of_layouts == {entry.code for entry in catalogue()}


def test_an_unknown_mistake_is_told_in_words() -> None:
    with pytest.raises(UsageError, match=r"No mistake has the code 'XYZ'\. Known codes: RECIP, SIGN"):
        mistake("XYZ")


@pytest.mark.parametrize(
    "text", ["9" * 500, "((((" * 50, "R^9^9^9", "1/0", "x" * 400, "\x00", "1;2;3;4;5;6;7", "=" * 100, "R" * 399, "\\frac" * 80]
)
def test_hostile_texts_are_marked_without_an_error(text: str) -> None:
    for item_id in ("L03-02", "L02-01", "L03-01", "L06-01", "L03-09", "L04-06", "L12-07", "L02-06"):
        result = mark(variants.practice(items.find(item_id)), text)
        assert result.verdict in ("wrong", "unreadable")
        assert result.score < result.max


def too_long_to_compare(checker: FormulaChecker) -> str:
    """A right formula, multiplied and divided by the same; multiplied out it has far too many terms."""
    power = f"(({'+'.join(f'{number}*{letter}' for number, letter in enumerate(checker.symbols, start=2))})^9)^4"
    return f"({checker.right_text()})*{power}/{power}"


TABLES = [
    (item.id, name)
    for item in items.all_items()
    for variant in [drawn_before(item)]
    for name, checker in variant.key.checkers.items()
    if len(variant.parts) > 1 and isinstance(checker, FormulaChecker) and len(checker.symbols) > 2
]


@pytest.mark.parametrize(("item_id", "long"), TABLES)
def test_a_part_too_long_to_be_compared_costs_the_other_parts_nothing(item_id: str, long: str) -> None:
    variant = drawn_before(items.find(item_id))
    checker = variant.key.checkers[long]
    assert isinstance(checker, FormulaChecker)
    texts = marking.right_answer(variant)
    result = marking.mark(variant, {**texts, long: too_long_to_compare(checker)})
    worth = {part.name: part.marks for part in variant.parts}
    assert {part.name: part.score for part in result.parts} == {**worth, long: 0}
    assert [part.name for part in result.parts if part.verdict == "unreadable"] == [long]
    assert (result.verdict, result.score) == ("wrong", result.max - worth[long])
    assert "The formula is too long to be compared exactly. Simplify it, then hand it in again." in result.comment
    assert marking.mark(variant, {name: too_long_to_compare(checker) for name in texts}).score == 0


def test_tables_of_letters_are_among_the_items() -> None:
    assert ("L08-01", "ring") in TABLES
    assert ("L08-01", "carrier") in TABLES


@pytest.mark.parametrize(
    "item", [item for item in items.all_items() if item.kind is not items.AnswerKind.DESIGN], ids=lambda item: item.id
)
def test_whatever_stands_in_one_part_the_others_keep_their_marks(item: items.Item) -> None:
    variant = variants.practice(item)
    texts = marking.right_answer(variant)
    worth = {part.name: part.marks for part in variant.parts}
    for name in texts:
        for text in ("1/0", "9" * 399, "(((9^9)^9)^9)", "x" * 401, "\x00", "0", "-1", "1e999", "a;b;c", "\\frac{1}{"):
            result = marking.mark(variant, {**texts, name: text})
            assert {part.name: part.score for part in result.parts if part.name != name} == {
                other: marks for other, marks in worth.items() if other != name
            }


def test_two_rows_right_and_two_wrong_are_not_called_all_rows_the_other_way_round() -> None:
    for number in range(20):
        variant = drawn_before(items.find("L01-06"), str(number))
        right = marking.right_answer(variant)
        turned = {name: {"forward": "reverse", "reverse": "forward"}[way] for name, way in right.items()}
        half = {name: (turned if name in ("row_1", "row_2") else right)[name] for name in right}
        assert "All rows" not in marking.mark(variant, half).comment
        assert "All rows are the other way round" in marking.mark(variant, turned).comment


def test_the_pair_with_the_held_carrier_is_called_right_only_where_it_is() -> None:
    wrong = {"S_R_C": "13/6", "R_S_C": "6/13"}
    assert "The pair with the held carrier is right" in marking.mark(SIX, {**SIX_RIGHT, **wrong}).comment
    assert "held carrier is right" not in marking.mark(SIX, {**SIX_RIGHT, **wrong, "S_C_R": "", "R_C_S": ""}).comment
    assert "held carrier is right" not in marking.mark(SIX, {**SIX_RIGHT, **wrong, "S_C_R": "7"}).comment


def test_nothing_is_called_wrong_where_nothing_entered_is_wrong() -> None:
    result = marking.mark(SIX, {"S_R_C": "19/6"})
    assert result.comment.startswith("1 of 6 right. Still empty: carrier in, ring held, sun out, ring in, sun held")
    assert "usual mistakes" not in result.comment
    assert "usual mistakes" not in marking.mark(SIX, {"S_R_C": "19/6", "C_R_S": "3 ?? 4"}).comment


@pytest.mark.parametrize("item_id", ["L02-02", "L08-08", "L09-05", "L11-07", "L10-05", "L01-07"])
def test_zero_is_no_matter_of_units(item_id: str) -> None:
    for number in range(10):
        result = mark(variants.practice(items.find(item_id), str(number)), "0")
        assert "UNIT" not in {each_mistake.code for each_mistake in result.mistakes}
        assert "working is right" not in result.comment


def test_a_wrong_choice_or_element_has_a_name_only_where_a_mistake_predicts_it() -> None:
    for item_id, part in (("L02-07", "answer"), ("L12-07", "element")):
        for number in range(20):
            variant = variants.practice(items.find(item_id), str(number))
            predicted = {form.contents[part] for form in variant.key.wrong_forms if part in form.contents}
            for option in variant.key.checkers[part].choices.options:
                text = variant.key.checkers[part].wrong_text(option)
                named = marking.mark(variant, {**marking.right_answer(variant), part: text}).mistakes
                assert not named or option in predicted


def test_slips_of_different_parts_are_told_part_by_part_and_not_as_a_choice() -> None:
    result = marking.mark(SIX, {**SIX_RIGHT, "S_R_C": "19/13", "S_C_R": "13/6"})
    assert "Either" not in result.comment
    assert "sun in, ring held, carrier out: The tooth counts of sun and ring have changed places" in result.comment
    assert "sun in, carrier held, ring out: With the carrier held the output turns the other way." in result.comment


SIGNED = [
    (item.id, name)
    for item in items.all_items()
    for variant in [variants.practice(item)]
    for name, checker in variant.key.checkers.items()
    if not item.constraints
    and (
        (isinstance(checker, FormulaChecker) and not item.also)
        or (
            isinstance(checker, NumberChecker)
            and checker.value
            and not checker.size_only
            and checker.kind is not items.AnswerKind.INTEGER
        )
    )
]


@pytest.mark.parametrize(("item_id", "name"), SIGNED)
def test_a_wrong_sign_costs_half_in_ratios_speeds_torques_and_formulas_alike(item_id: str, name: str) -> None:
    variant = variants.practice(items.find(item_id))
    right = marking.right_answer(variant)
    number = right[name] if isinstance(variant.key.checkers[name], FormulaChecker) else right[name].split()[0]
    turned = f"-({number})" if isinstance(variant.key.checkers[name], FormulaChecker) else number.removeprefix("-")
    turned = turned if turned != number else f"-{number}"
    result = marking.mark(variant, {**right, name: turned})
    (part,) = [one for one in result.parts if one.name == name]
    assert part.score == part.max / 2


def test_follow_on_parts_are_marked_from_what_was_carried_forward() -> None:
    table = variants.practice(items.find("L13-04"))
    module = table.values["m"]
    given = {**marking.right_answer(table), "dR": str(1000 * module), "tipR": str(998 * module)}
    assert marking.mark(table, given).score == 4 + Fraction(1, 2)
    letters = drawn_before(items.find("L08-01"))
    assert marking.mark(letters, {"ring": "T*S/R", "carrier": "-T*(S + R)/R"}).score == Fraction(3, 4)
    case = marking.mark(SIX, {**SIX_RIGHT, "S_R_C": "7", "C_R_S": "1/7"})
    assert case.score == 4 + Fraction(1, 2)
    for number in range(20):
        steps = drawn_before(items.find("L10-04"), str(number))
        right = marking.right_answer(steps)
        if right["falling"] == "no":
            assert marking.mark(steps, {"order": "1-2, 2-3, 3-4, 4-5, 5-6", "falling": "yes"}).parts[1].score == Fraction(1, 2)
    for number in range(20):
        fault = variants.practice(items.find("L12-03"), str(number))
        chart = fault.prompt
        right = marking.right_answer(fault)
        for other in "12345":
            given = {**right, "actual": other}
            assert marking.mark(fault, given).score >= 3 - 3 * (other == right["actual"]), chart


@pytest.mark.parametrize("item_id", ["L02-03", "L03-01", "L13-04"])
@pytest.mark.parametrize("text", ["0", "1", "-1", "2"])
def test_one_number_in_every_part_earns_nothing(item_id: str, text: str) -> None:
    for number in range(10):
        variant = variants.practice(items.find(item_id), str(number))
        assert marking.mark(variant, {part.name: text for part in variant.parts}).score == 0


def test_an_entry_left_empty_among_others_costs_only_itself() -> None:
    texts = list(SIX_RIGHT.values())
    result = mark(SIX, "; ".join([*texts[:2], "", *texts[3:]]))
    assert (result.score, [part.verdict for part in result.parts].count("missing")) == (5, 1)


def test_two_members_are_called_changed_over_only_where_both_are() -> None:
    variant = variants.practice(items.find("L03-04"), "changed over")
    right = marking.right_answer(variant)
    turned = {"drive": right["driven"], "driven": right["drive"]}
    assert [one.code for one in marking.mark(variant, {**right, **turned}).mistakes] == ["RECIP"]
    for name, member in turned.items():
        other = next(one for one in ("sun", "carrier", "ring") if one not in (right[name], member))
        rest = next(part for part in turned if part != name)
        assert not marking.mark(variant, {**right, name: member, rest: other}).mistakes
