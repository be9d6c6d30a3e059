"""Answers in every notation that learners use, right ones and near misses: the corpus of the reader and of rounding.

What is right is worked out here from the target's exact value alone, with none of the reader's or the comparison's code.
``python -m tests.answers.notations`` prints the table by notation.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from decimal import ROUND_HALF_UP, Decimal, localcontext
from fractions import Fraction

from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import AnswerKind
from gearkit.answers.items import all_items
from gearkit.answers.judge import marking
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker, SeveralChecker

DRAWS = 3
HALF_PERCENT = Fraction(1, 200)
OFF = (Fraction(1012, 1000), Fraction(988, 1000), Fraction(1018, 1000), Fraction(982, 1000))
Writer = Callable[[Fraction, NumberChecker], str | None]


@dataclass(frozen=True)
class Case:
    """One answer: its notation, where it is given, and whether it is right; None where it has two meanings and is to be refused."""

    notation: str
    variant: Variant
    part: str
    text: str
    right: bool | None


def decimal(value: Fraction, figures: int) -> str:
    """The value correctly rounded to so many significant figures, whole digits kept."""
    with localcontext() as context:
        context.prec = 60
        exact = Decimal(value.numerator) / Decimal(value.denominator)
        places = max(0, figures - 1 - exact.adjusted()) if exact else 0
        return f"{exact.quantize(Decimal(1).scaleb(-places), ROUND_HALF_UP):f}"


def four(value: Fraction) -> str:
    return decimal(value, 4)


def _is_ratio(checker: NumberChecker) -> bool:
    return checker.kind is AnswerKind.EXACT_RATIO


def _whole(value: Fraction) -> bool:
    return value.denominator == 1


def _small(value: Fraction) -> bool:
    return value.denominator < 10**4


def _signed(checker: NumberChecker) -> bool:
    return _is_ratio(checker) or checker.unit in ("r/min", "N·m")


def _comma(value: Fraction, checker: NumberChecker) -> str | None:
    text = four(value)
    whole, _, digits = text.lstrip("-").partition(".")
    return text.replace(".", ",") if digits and (len(digits) != 3 or whole == "0") else None


def _exchanged(text: str) -> str:
    return text.translate(str.maketrans(",.", ".,"))


def _mixed(value: Fraction, checker: NumberChecker) -> str | None:
    if _whole(value) or not _small(value) or abs(value) < 1:
        return None
    size = abs(value)
    whole, rest = divmod(size.numerator, size.denominator)
    return f"{'-' if value < 0 else ''}{whole} {rest}/{size.denominator}"


def _vulgar(value: Fraction, checker: NumberChecker) -> str | None:
    sign = {
        Fraction(1, 2): "½",
        Fraction(1, 4): "¼",
        Fraction(3, 4): "¾",
        Fraction(1, 3): "⅓",
        Fraction(2, 3): "⅔",
        Fraction(1, 5): "⅕",
        Fraction(2, 5): "⅖",
        Fraction(3, 5): "⅗",
        Fraction(4, 5): "⅘",
        Fraction(1, 8): "⅛",
    }
    size = abs(value)
    whole = size.numerator // size.denominator
    mark = sign.get(size - whole)
    return f"{'-' if value < 0 else ''}{whole or ''}{mark}" if mark else None


def _turned(form: str) -> Writer:
    return lambda value, checker: form.format(four(abs(value))) if _signed(checker) and value < 0 else None


def _ahead(form: str) -> Writer:
    return lambda value, checker: form.format(four(value)) if _signed(checker) and value > 0 else None


def _ratio(form: str) -> Writer:
    return lambda value, checker: form.format(four(value)) if _is_ratio(checker) else None


def _any(form: str) -> Writer:
    return lambda value, checker: form.format(four(value))


def _unit(unit: str, spelling: str, factor: Fraction = Fraction(1)) -> Writer:
    return lambda value, checker: f"{four(value / factor)} {spelling}" if checker.unit == unit else None


def _with_unit(value: Fraction, checker: NumberChecker) -> str | None:
    return f"{four(value)} {checker.unit}" if checker.unit else None


def _fraction(value: Fraction, checker: NumberChecker) -> str | None:
    return f"{value.numerator}/{value.denominator}" if _small(value) else None


def _power_of_ten(value: Fraction, checker: NumberChecker) -> str | None:
    if not value:
        return None
    digits = four(abs(value)).replace(".", "").lstrip("0")
    exponent = Decimal(four(abs(value))).adjusted()
    return f"{'-' if value < 0 else ''}{digits[0]}.{digits[1:] or '0'}e{exponent}"


def _working(value: Fraction, checker: NumberChecker) -> str | None:
    return f"{value.numerator}/{value.denominator} = {four(value)}" if _small(value) and not _whole(value) else None


def _working_in_decimals(value: Fraction, checker: NumberChecker) -> str | None:
    return f"1 + {four(value - 1)} = {four(value)}" if value > 1 and not _whole(value) else None


NUMBERS: dict[str, Writer] = {
    "decimal": _any("{}"),
    "fraction": _fraction,
    "decimal comma": _comma,
    "with its unit": _with_unit,
    "mixed number": _mixed,
    "vulgar fraction": _vulgar,
    "to 1": _ratio("{} to 1"),
    ":1": _ratio("{}:1"),
    "x reverse": _turned("{} reverse"),
    "reverse x": _turned("reverse {}"),
    "x (reverse)": _turned("{} (reverse)"),
    "in reverse": _turned("{} in reverse"),
    "minus and reverse": _turned("-{} reverse"),
    "backwards": _turned("{}, backwards"),
    "forward": _ahead("{} forward"),
    "forwards": _ahead("forwards, {}"),
    "overdrive": lambda value, checker: f"{four(value)} overdrive" if _is_ratio(checker) and 0 < value < 1 else None,
    "(overdrive)": lambda value, checker: f"{four(value)} (overdrive)" if _is_ratio(checker) and 0 < value < 1 else None,
    "letter in front": _any("n = {}"),
    "word in front": _any("answer = {}"),
    "i =": _ratio("i = {}"),
    "T = x Nm": lambda value, checker: f"T = {four(value)} Nm" if checker.unit == "N·m" else None,
    "reverse with unit": lambda value, checker: (
        f"{four(-value)} rpm (reverse)" if checker.unit == "r/min" and value < 0 else None
    ),
    "revs per minute": _unit("r/min", "revs per minute"),
    "rev per min": _unit("r/min", "rev per min"),
    "rpm": _unit("r/min", "rpm"),
    "RPM": _unit("r/min", "RPM"),
    "revolutions per minute": _unit("r/min", "revolutions per minute"),
    "NM": _unit("N·m", "NM"),
    "newton metres": _unit("N·m", "newton metres"),
    "ft-lbs": _unit("N·m", "ft-lbs", Fraction("1.3558179483314004")),
    "km/hr": _unit("km/h", "km/hr"),
    "kilojoules": _unit("kJ", "kilojoules"),
    "millimetres": _unit("mm", "millimetres"),
    "power of ten": _power_of_ten,
    "x10^": lambda value, checker: (lambda text: text and text.replace("e", " x 10^"))(_power_of_ten(value, checker)),
    "letter x": lambda value, checker: f"2 x {decimal(value / 2, 6)}",
    "working": _working,
    "working in decimals": _working_in_decimals,
    "letters and working": lambda value, checker: (
        f"i = {text}" if _is_ratio(checker) and (text := _working(value, checker)) else None
    ),
    "sum": lambda value, checker: f"1+{decimal(value - 1, 5)}" if value > 1 else None,
    "over 1": _any("{}/1"),
    "in a sentence": _any("The answer is {}."),
    "named after it": _any("{} = i"),
    "to one": _ratio("{}-to-one"),
    "plus sign": _ahead("+{}"),
    "LaTeX": lambda value, checker: f"$\\frac{{{value.numerator}}}{{{value.denominator}}}$" if _small(value) else None,
    "three sides": lambda value, checker: (lambda text: text and f"{text} = {decimal(value, 6)}")(_working(value, checker)),
    "thousands and point": lambda value, checker: f"{float(value):,.2f}" if abs(value) >= 1000 and checker.unit else None,
    "thousands and comma": lambda value, checker: (
        _exchanged(f"{float(value):,.2f}") if abs(value) >= 1000 and checker.unit else None
    ),
    "comma and unit": lambda value, checker: (
        f"{text} {checker.unit}" if checker.unit and (text := _comma(value, checker)) else None
    ),
    "mixed and reverse": lambda value, checker: (
        f"{_mixed(-value, checker)} in reverse" if _signed(checker) and value < 0 and _mixed(-value, checker) else None
    ),
    "about": _any("≈ {}"),
    "approx": _any("approx. {}"),
    "about in words": _any("about {}"),
    "proper minus": lambda value, checker: f"−{four(-value)}" if value < 0 else None,
}
COUNTS: dict[str, Writer] = {
    "count": lambda value, checker: str(value),
    "count with a point": lambda value, checker: f"{value}.0",
    "count with a letter": lambda value, checker: f"N = {value}",
    "count worked out": lambda value, checker: f"{value - 1} + 1",
    "count with working": lambda value, checker: f"{2 * value}/2 = {value}",
}
FORMULAS = {
    "formula": "{}",
    "letter in front of a formula": "i = {}",
    "half in front": "1/2(2*({}))",
    "½ in front": "½(2*({}))",
    "letter x in a formula": "1 x ({})",
    "word in front of a formula": "ratio = {}",
    "both forms": "{0} = ({0})*1",
    "decimal comma in a formula": "0,5*(2*({}))",
    "arithmetic signs": "({}) × 2 ÷ 2",
    "dollars": "${}$",
}
CHOICES = {
    "as listed": "{}",
    "capitals": "{U}",
    "full stop": "{}.",
    "the": "the {}",
    "it is": "it is {}",
    "brackets": "({})",
    "quoted": "“{}”",
}
NAMES = {"element": "element {}", "clutch": "clutch {}", "Element": "Element {}", "the brake": "the brake {}"}
ORDINALS = {"1": "first", "2": "second", "3": "third", "4": "fourth", "5": "fifth", "6": "sixth", "R": "reverse"}
ENDINGS = {"1": "st", "2": "nd", "3": "rd"}
WORDS = {
    "reverse": "backwards",
    "forward": "forwards",
    "sun": "sun gear",
    "ring": "the ring gear",
    "carrier": "the planet carrier",
    "holds to the housing": "holds to housing",
    "joins to the input": "joins to input",
}
# Two meanings: to be refused, with how to write each.
TWO_MEANINGS: dict[str, Writer] = {
    "three digits after a comma": lambda value, checker: (
        text.replace(".", ",")
        if 1 <= abs(value) < 1000 and len((text := f"{float(value):.3f}").partition(".")[2]) == 3
        else None
    ),
    "ratio with a colon": lambda value, checker: (
        f"{value.numerator}:{value.denominator}" if value > 0 and not _whole(value) and _small(value) else None
    ),
    "minus and forward": lambda value, checker: f"{four(value)} forward" if _signed(checker) and value < 0 else None,
    "share of a letter": lambda value, checker: f"1/2{next(iter(checker.letters))}" if checker.letters else None,
}
BETWEEN = {
    "commas": ", ",
    "arrows": " -> ",
    "proper arrows": " → ",
    "thick arrows": " => ",
    "and": " and ",
    "semicolons": "; ",
    "then": " then ",
    "greater-than": " > ",
}


def cases() -> Iterator[Case]:
    """Every notation on every part that takes it, on three draws, right and wrong."""
    for item in all_items():
        if item.constraints:
            continue
        for number in range(DRAWS):
            variant = practice(item, f"notation {number}")
            for part in variant.parts:
                for notation, text, right in _of_target(variant.key.checkers[part.name]):
                    yield Case(notation, variant, part.name, text, right)


def _of_target(checker: object) -> Iterator[tuple[str, str, bool | None]]:
    if isinstance(checker, NumberChecker):
        yield from _numbers(checker) if checker.kind is not AnswerKind.INTEGER else _counts(checker)
    elif isinstance(checker, FormulaChecker):
        for notation, form in FORMULAS.items():
            yield notation, form.format(checker.formulas[0]), True
            yield notation, form.format(f"({checker.formulas[0]})*101/100"), False
    elif isinstance(checker, ChoiceChecker):
        yield from _choices(checker)
    elif isinstance(checker, SeveralChecker | OrderChecker):
        yield from _several(checker)


def _numbers(checker: NumberChecker) -> Iterator[tuple[str, str, bool | None]]:
    for notation, write in TWO_MEANINGS.items():
        text = write(checker.value, checker)
        if text is not None:
            yield notation, text, None
    room = max(checker.tolerance.absolute, abs(checker.value) * max(checker.tolerance.relative, HALF_PERCENT))
    for notation, write in NUMBERS.items():
        text = write(checker.value, checker)
        if text is not None and _letters_in_the_way(notation, text, checker):
            yield f"{notation} beside that letter", text, None
            continue
        if text is not None:
            yield notation, text, True
        for factor in OFF:
            wrong = checker.value * factor
            # What four written figures take off has to stay outside as well.
            text = write(wrong, checker) if abs(wrong - checker.value) > room * Fraction(11, 10) else None
            if text is not None:
                yield notation, text, False


def _letters_in_the_way(notation: str, text: str, checker: NumberChecker) -> bool:
    """Whether e or x is a letter of the question, so that the notation has two meanings there."""
    letters = {letter.lower() for letter in checker.letters or {}}
    return (notation == "power of ten" and "e" in letters) or (notation == "letter x" and "x" in letters and " -" in text)


def _counts(checker: NumberChecker) -> Iterator[tuple[str, str, bool]]:
    for notation, write in COUNTS.items():
        for off in (0, 1, -1):
            text = write(checker.value + off, checker)
            if text is not None and checker.value + off > 0:
                yield notation, text, off == 0


def _choices(checker: ChoiceChecker) -> Iterator[tuple[str, str, bool]]:
    for option in checker.choices.options:
        right = option == checker.right
        yield from ((name, form.format(option, U=option.upper()), right) for name, form in CHOICES.items())
        if option in WORDS:
            yield "other words", WORDS[option], right
        if option in ORDINALS and "R" in checker.choices.options:
            yield "ordinals", ORDINALS[option], right
        if option in ORDINALS and option != "R" and "R" in checker.choices.options:
            yield from (
                (name, form.format(option), right)
                for name, form in {
                    "gear 2": "gear {}",
                    "range 2": "the range {}",
                    "2nd": f"{{}}{ENDINGS.get(option, 'th')} gear",
                }.items()
            )
        if len(option) == 1 and option.isalpha() and option != "R":
            yield from ((name, form.format(option), right) for name, form in NAMES.items())


def _several(checker: SeveralChecker | OrderChecker) -> Iterator[tuple[str, str, bool]]:
    options, labels = checker.choices.options, checker.choices
    chosen = (
        [one for one in options if one in checker.accepted[0]] if isinstance(checker, SeveralChecker) else list(checker.order)
    )
    wrong = (
        list(options[:1] if chosen != [options[0]] else options[1:2]) if isinstance(checker, SeveralChecker) else chosen[::-1]
    )
    for name, between in BETWEEN.items():
        if isinstance(checker, SeveralChecker) and name in ("then", "greater-than", "arrows", "proper arrows", "thick arrows"):
            continue
        for picked, right in ((chosen, True), (wrong, False)):
            if picked and not (isinstance(checker, SeveralChecker) and not right and frozenset(picked) in checker.accepted):
                yield name, between.join(map(labels.label, picked)), right
                yield (
                    f"{name}, in words",
                    between.join(ORDINALS.get(one, one) if "R" in options else one for one in picked),
                    right,
                )


def answered(case: Case) -> str:
    """The verdict on the case's part, the others answered right."""
    texts = {**marking.right_answer(case.variant), case.part: case.text}
    result = marking.mark(case.variant, texts)
    found = next(part for part in result.parts if part.name == case.part)
    if found.verdict == "unreadable":
        return f"unreadable: {found.comment[:160]}"
    return "right" if found.score == found.max else "wrong"


@dataclass
class Row:
    """What became of the answers in one notation."""

    right: int = 0
    refused: int = 0
    wrong: int = 0
    accepted: int = 0
    two_meanings: int = 0
    guessed: int = 0
    reasons: Counter[str] = field(default_factory=Counter)


def table(played: Iterable[Case]) -> dict[str, Row]:
    """By notation: right answers and those of them that were lost, with the reason; wrong ones and those that were accepted;
    answers with two meanings, and those that were not handed back with how to write each."""
    rows: dict[str, Row] = {}
    for case in played:
        row, verdict = rows.setdefault(case.notation, Row()), answered(case)
        if case.right is None:
            row.two_meanings += 1
            handed_back = verdict.startswith("unreadable") and " or " in verdict and "Write " in verdict
            row.guessed += not handed_back
            row.reasons.update(() if handed_back else (f"{case.text}: {verdict}",))
        elif case.right:
            row.right += 1
            row.refused += verdict != "right"
            row.reasons.update(() if verdict == "right" else (f"{case.text}: {verdict}",))
        else:
            row.wrong += 1
            row.accepted += verdict == "right"
            row.reasons.update((f"{case.text}: accepted",) if verdict == "right" else ())
    return rows


def in_columns(rows: Mapping[str, Row]) -> str:
    """The table as text."""
    lines = [f"{'notation':34}{'right':>7}{'lost':>6}{'wrong':>7}{'accepted':>10}{'two meanings':>14}{'guessed':>9}"]
    for name, row in sorted(rows.items()):
        lines.append(f"{name:34}{row.right:7}{row.refused:6}{row.wrong:7}{row.accepted:10}{row.two_meanings:14}{row.guessed:9}")
        lines += [f"    {count} x {reason}" for reason, count in row.reasons.most_common(3)]
    whole = [
        sum(getattr(row, name) for row in rows.values())
        for name in ("right", "refused", "wrong", "accepted", "two_meanings", "guessed")
    ]
    lines.append(f"{'all':34}{whole[0]:7}{whole[1]:6}{whole[2]:7}{whole[3]:10}{whole[4]:14}{whole[5]:9}")
    return "\n".join(lines)


if __name__ == "__main__":
    print(in_columns(table(cases())))
