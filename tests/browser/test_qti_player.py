"""Packed items in somebody else's player: it shows them, and gives the marks and sentences that the kit's own marking gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from fractions import Fraction
from xml.etree import ElementTree as ET

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from gearkit.answers import items
from gearkit.answers.draw_numbers.variants import Variant, practice
from gearkit.answers.item import Item
from gearkit.answers.judge import marking
from gearkit.answers.judge.results import ItemResult
from gearkit.answers.kinds.letters import FormulaChecker
from gearkit.answers.kinds.numbers import NumberChecker
from gearkit.answers.kinds.words import ChoiceChecker, OrderChecker, SeveralChecker
from gearkit.text import mathml
from graders.packages.elements import page_part, text_of
from graders.packages.item import NotForOtherSystemsError, item_of
from graders.sheets import sheets
from tests.support import chromium, qti_player, qti_reader
from tests.support.amounts import SHORT, amount
from tests.support.qti_reader import QTI, Value

pytestmark = pytest.mark.browser
# A ratio with a sign, a decimal, a count, a value near 0, a choice, selections scored by ticks and as a whole, orders, a
# formula, tables of numbers, of thirds and of several kinds.
FEW = [
    "L03-02",
    "L01-07",
    "L12-08",
    "L02-07",
    "L01-06",
    "L04-02",
    "L07-06",
    "L01-09",
    "L10-04",
    "L04-10",
    "L08-01",
    "L03-01",
    "L06-02",
]
# The player keeps marks to three decimal places, part by part.
NEAR = 5e-3
FOLLOWS = "This follows from your own other entries"


@pytest.fixture(scope="module")
def chrome() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium.path(), args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def player(chrome: Browser) -> qti_player.Player:
    try:
        qti_player.script()
    except LookupError as reason:
        pytest.skip(str(reason))
    return qti_player.Player(chrome.new_page())


class Asked:
    """A variant packed, with the ways to write an answer here and there.

    Args:
        variant: the variant.
    """

    def __init__(self, variant: Variant) -> None:
        self.variant = variant
        self.xml = text_of(item_of(variant, variant.item.id, variant.item.id), "3.0")
        self.root = ET.fromstring(self.xml)
        self.right = qti_reader.right_answers(self.root)
        self.names = {part.name: f"RESPONSE{place}" for place, part in enumerate(variant.parts, start=1)}
        self._formulas = {name: self._choices(name) for name, c in self.checkers.items() if isinstance(c, FormulaChecker)}

    @property
    def checkers(self) -> Mapping[str, object]:
        """What marks each part."""
        return self.variant.key.checkers

    def _choices(self, name: str) -> dict[str, str]:
        """A formula's choices as shown -> the choice's identifier."""
        asked = next(
            each
            for each in self.root.iter(f"{QTI}qti-choice-interaction")
            if each.get("response-identifier") == self.names[name]
        )
        return {"".join(each.itertext()): each.attrib["identifier"] for each in asked.iter(f"{QTI}qti-simple-choice")}

    def there(self, name: str, content: object) -> Value:
        """How an answer is given in another system."""
        checker = self.checkers[name]
        if isinstance(checker, NumberChecker):
            assert isinstance(content, Fraction | int)
            return float(content)
        if isinstance(checker, FormulaChecker):
            return self._formulas[name].get(_shown(checker.wrong_text(content)))
        assert isinstance(checker, ChoiceChecker | SeveralChecker | OrderChecker)
        options = checker.choices.options
        if isinstance(checker, ChoiceChecker):
            return f"C{options.index(str(content)) + 1}"
        assert isinstance(content, frozenset | tuple | list)
        chosen = [option for option in options if option in content] if isinstance(checker, SeveralChecker) else content
        return tuple(f"C{options.index(option) + 1}" for option in chosen)

    def here(self, answers: Mapping[str, Value]) -> ItemResult:
        """What the kit's own marking gives for the same answers as text."""
        return marking.mark(self.variant, {part: self._typed(part, answers[name]) for part, name in self.names.items()})

    def _typed(self, name: str, answer: Value) -> str:
        checker = self.checkers[name]
        if answer is None:
            return ""
        if isinstance(checker, NumberChecker):
            return f"{answer:.12g}"
        if isinstance(checker, FormulaChecker):
            forms = [form.contents[name] for form in self.variant.key.wrong_forms if name in form.contents]
            right = checker.right_text()
            texts = [right, *map(checker.wrong_text, forms), f"1/({right})", f"-({right})"]
            return next(text for text in texts if self._formulas[name].get(_shown(text)) == answer)
        assert isinstance(checker, ChoiceChecker | SeveralChecker | OrderChecker)
        if not answer:
            return "none"
        given = (answer,) if isinstance(answer, str) else answer
        assert isinstance(given, tuple)
        return ", ".join(checker.choices.label(checker.choices.options[int(each[1:]) - 1]) for each in given)


def _shown(formula: str) -> str:
    return "".join("".join(each.itertext()) for each in page_part(mathml.from_expression(formula)))


def answers_to(asked: Asked) -> Iterator[dict[str, Value]]:
    """Nothing, what is right, each named mistake, and around each part what is nearly right, half right and wrong."""
    yield dict.fromkeys(asked.right)
    yield dict(asked.right)
    for form in asked.variant.key.wrong_forms:
        yield {**asked.right, **{asked.names[name]: asked.there(name, each) for name, each in form.contents.items()}}
    for part, name in asked.names.items():
        for each in around(asked, part):
            yield {**asked.right, name: each}
        if len(asked.names) > 1:
            yield {**asked.right, name: None}


def around(asked: Asked, part: str) -> Iterator[Value]:
    """Answers to one part around the right one."""
    checker, right = asked.checkers[part], asked.right[asked.names[part]]
    if isinstance(checker, NumberChecker):
        yield from (float(checker.value * factor) for factor in (-1, Fraction(1002, 1000), Fraction(97, 100), 0))
    elif isinstance(checker, ChoiceChecker):
        yield from (f"C{place}" for place in range(1, len(checker.choices.options) + 1))
    elif isinstance(checker, FormulaChecker):
        count = len(list(asked.root.iter(f"{QTI}qti-simple-choice"))) // len(asked.names)
        yield from (f"C{place}" for place in range(1, min(count, 3) + 1))
    elif isinstance(checker, SeveralChecker):
        assert isinstance(right, tuple)
        options = [f"C{place}" for place in range(1, len(checker.choices.options) + 1)]
        yield tuple(options)
        yield ()
        for one in options:
            yield tuple(each for each in options if (each in right) != (each == one))
    elif isinstance(checker, OrderChecker):
        assert isinstance(right, tuple)
        for place in range(len(right) - 1):
            yield (*right[:place], right[place + 1], right[place], *right[place + 2 :])
        yield right[::-1]
        yield (*right[1:], right[0])


def all_asked() -> Iterator[Asked]:
    wanted: list[Item] = [items.find(name) for name in FEW] if SHORT else list(items.all_items())
    wanted += [entry.item for entry in sheets.compose(["Q36"], "layout").items][: amount(1000, 2)]
    for item in wanted:
        for draw in range(amount(2, 1)):
            variant = practice(item, f"player {draw}")
            try:
                yield Asked(variant)
            except NotForOtherSystemsError:
                assert item.id not in FEW


def test_the_player_gives_the_marks_and_says_the_sentences_of_the_kits_own_marking(player: qti_player.Player) -> None:
    """Only what follows from a wrong entry of one's own is not seen there, so it earns nothing."""
    seen = told = carried = 0
    missed: list[object] = []
    for asked in all_asked():
        player.show(asked.xml)
        given = list(answers_to(asked))
        for answers, there in zip(given, player.scores(given), strict=True):
            here = asked.here(answers)
            own = qti_reader.score(asked.root, answers)
            where = (asked.variant.item.id, answers, there, here.comment)
            assert there.score == pytest.approx(own.score, abs=NEAR), where
            if FOLLOWS in "".join(part.comment for part in here.parts):
                assert there.score < here.score, where
                carried += 1
            else:
                assert there.score == pytest.approx(float(here.score), abs=NEAR), where
            assert [_words(each) for each in there.said] == [_words(each) for each in own.said], where
            comment = _words(here.comment)
            assert all(_words(each) in comment or "$" in here.comment for each in there.said), where
            seen, told = seen + 1, told + len(there.said)
            missed += [where for each in sentences(asked, answers) if each in comment and each not in map(_words, there.said)]
    assert missed == []
    assert seen > amount(4000, 150)
    assert told > amount(900, 20)
    assert carried < seen / 20


def sentences(asked: Asked, answers: Mapping[str, Value]) -> Iterator[str]:
    """What the named mistakes say that were made exactly so."""
    for form in asked.variant.key.wrong_forms:
        made = {**asked.right, **{asked.names[name]: asked.there(name, each) for name, each in form.contents.items()}}
        if made == answers and form.sentence and not form.needs:
            yield _words(form.sentence)


def _words(text: str) -> str:
    return "".join(each for each in text if each.isalnum())


def test_a_learners_own_hand_types_and_chooses_there(player: qti_player.Player) -> None:
    ratio = Asked(practice(items.find("L03-02"), "by hand"))
    checker = ratio.checkers["answer"]
    assert isinstance(checker, NumberChecker)
    player.show(ratio.xml)
    box = player.page.get_by_role("textbox")
    expect(box).to_be_visible()

    def write(text: str) -> None:
        box.clear()
        box.press_sequentially(text)
        box.press("Tab")

    write(f"{float(checker.value):.4f}")
    assert player.hand_in() == qti_reader.Scored(qti_reader.most(ratio.root), ())
    write(f"{float(-checker.value):.4f}")
    wrong = player.hand_in()
    assert wrong.score == pytest.approx(qti_reader.most(ratio.root) / 2)
    assert len(wrong.said) == 1
    player.page.get_by_role("button", name="Close").click()
    write("")
    assert player.hand_in() == qti_reader.Scored(0, ())

    ticks = Asked(practice(items.find("L01-06"), "by hand"))
    player.show(ticks.xml)
    right = ticks.right["RESPONSE1"]
    assert isinstance(right, tuple)
    for each in right:
        player.page.locator(f"qti-simple-choice[identifier={each}]").click()
    assert player.hand_in() == qti_reader.Scored(qti_reader.most(ticks.root), ())
