"""What does not drive: the neutral and locked ranges that a layout names, and what one element too many does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from gearkit.explain.step import Step, StoryPart
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.solve.one_way import Working, one_way_clutches
from gearkit.text.phrases import capital, listed
from gearkit.words.terms import Verdict
from graders.unit.facts import Facts, RangeFact
from graders.unit.words.cells import Cell, code, prose, several
from graders.unit.words.saying import escaped, verb

_MOST_STEPS = 3


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on neutral, park and tie-up, as far as the layout has them."""
    if not facts.others and facts.tie_up is None:
        return
    yield prose("no-drive", "by-hand", "## When it does not drive", _opening(facts))
    yield code("no-drive-panel", "predict", f'lesson.predict_about("freedoms", "{facts.file}")')
    neutrals = [other for other in facts.others if other[2].verdict is Verdict.NEUTRAL]
    held = [other for other in facts.others if not other[2].verdict.output_turns]
    odd = [other for other in facts.others if other[2].verdict is Verdict.INPUT_LOCKED]
    if neutrals:
        yield from _neutral(facts, *neutrals[0])
    if neutrals[1:]:
        rest = [f"range {escaped(name)} ({escaped(listed(engaged)) or 'nothing applied'})" for name, engaged, _ in neutrals[1:]]
        yield prose(
            "neutral-more",
            "by-hand",
            f"{capital(listed(rest))} {verb(len(rest), 'leave')} input and output independent too. Check "
            f"{'it' if len(rest) == 1 else 'them'} with the count above.",
        )
    if held:
        yield from _park(facts, *held[0])
    if odd:
        name, engaged, state = odd[0]
        yield prose(
            "input-held",
            "by-hand",
            f"### Range {escaped(name)}: the input is held",
            f"With {_acting(engaged, state)} the engine cannot turn, while the output can. No driver asks for that, so "
            "look at the chart again: is it written down as it was meant?",
        )
    if facts.tie_up is not None:
        yield from _tie_up(facts)


def _opening(facts: Facts) -> str:
    names = [f"range {escaped(name)}" for name, _, _ in facts.others]
    named = f"{capital(listed(names))} {'does' if len(names) == 1 else 'do'} not drive. " if names else ""
    if not names:
        named = "Every row of the chart drives; not every combination of elements does. "
    return (
        f"{named}First say what you expect: how many speeds stay free, and which of input and output can turn? Tick the elements, "
        "predict, reveal. Do it for a range that drives as well, to compare."
    )


def _acting(listed_names: Sequence[str], state: Working) -> str:
    """What is applied, and what the one-way clutches that the chart lists beside it do: nobody applies those."""
    loose = [name for name in listed_names if name not in state.engaged]
    holding = f" and {escaped(listed(state.holding))} holding" if state.holding else ""
    going = f", while {escaped(listed(loose))} {verb(len(loose), 'let')} go," if loose else ""
    return f"{escaped(listed(state.applied)) or 'nothing'} applied{holding}{going}"


def _neutral(facts: Facts, name: str, engaged: Sequence[str], state: Working) -> Iterator[Cell]:
    story = tell(facts.layout, name)
    applied = f"With {_acting(engaged, state)}".rstrip(",")
    free = [step.words for step in _part(story, StoryPart.FREE)]
    yield from several(
        "neutral",
        "by-hand",
        [f"### Neutral: range {escaped(name)}", f"{applied}:", "\n".join(f"- {escaped(words)}" for words in free)],
    )
    moves = [step for step in _part(story, StoryPart.STANDING) if step.formulas]
    turning = [step for step in moves if any(value for value in step.gives.values())]
    if turning:
        yield from several(
            "neutral-turns",
            "by-hand",
            [
                "Neutral is not at rest. Let the input make one turn while the vehicle stands.",
                *_as_told(moves[:_MOST_STEPS], facts.by_effort[0]),
            ],
        )
    yield code(
        "neutral-numbers",
        "worked",
        "# Working: what is free in neutral",
        f"neutral = in_range(train, {_quoted(name)}).mobility",
        'lesson.results(("State", str(neutral.verdict)), ("Free speeds", neutral.freedom))',
    )


def _as_told(moves: Sequence[Step], first: RangeFact) -> Iterator[str]:
    """The moves in words; those that the first range has told word for word are named only."""
    before = {step.words for step in first.story.steps}
    again = list(dict.fromkeys(name for step in moves if step.words in before for name in step.sets))
    if again:
        yield f"{escaped(listed(again))} {'turns' if len(again) == 1 else 'turn'} as in range {escaped(first.name)}."
    yield from (escaped(step.words) for step in moves if step.words not in before)


def _park(facts: Facts, name: str, engaged: Sequence[str], state: Working) -> Iterator[Cell]:
    story = tell(facts.layout, name)
    why = _part(story, StoryPart.CONFLICT)[-2:]
    whole = "neither end can turn" if state.verdict is Verdict.TIE_UP else "the output is held while the input may turn"
    yield from several(
        "park",
        "by-hand",
        [
            f"### {'Locked' if state.verdict is Verdict.TIE_UP else 'The output held'}: range {escaped(name)}",
            f"With {_acting(engaged, state)} {whole}.",
            *(escaped(step.words) for step in why),
        ],
    )
    yield prose(
        "park-caution",
        "caution",
        "**Park is not a chock.** It holds one shaft in the transmission; with an open differential one raised "
        "wheel lets the other turn. Chocks, parking brake and stands are used as well.",
    )


def _tie_up(facts: Facts) -> Iterator[Cell]:
    assert facts.tie_up is not None
    fact, element, state = facts.tie_up
    story = tell(facts.layout, engaged=(*fact.engaged, element))
    why = [step for step in _part(story, StoryPart.CONFLICT) if not step.formulas][-2:]
    yield from several(
        "tie-up",
        "by-hand",
        [
            f"### One element too many: range {escaped(fact.name)} and {escaped(element)}",
            f"Range {escaped(fact.name)} needs {escaped(fact.applied)}. Let {escaped(element)} take hold as well. Predict it above before you read on.",
            *(escaped(step.words) for step in why),
        ],
    )
    engaged = ", ".join(_quoted(name) for name in (*fact.engaged, element))
    yield code(
        "tie-up-numbers",
        "worked",
        "# Working: one element too many",
        "from gearkit.solve.one_way import working",
        "",
        f'lesson.results(("Together", str(working(train, [{engaged}]).verdict)), ("That is", "{state.verdict.means}"))',
    )
    # Nobody can apply a one-way clutch to try it.
    by_itself = one_way_clutches(facts.layout)
    more = [other.name for other in facts.layout.elements if other.name not in (*fact.engaged, element, *by_itself)]
    if more:
        yield prose(
            "tie-up-more",
            "by-hand",
            f"Which of {escaped(listed(more))} beside range {escaped(fact.name)} would bind too, and which would change nothing? "
            f"Try {'both' if len(more) == 2 else 'each'} in the panel."
            if len(more) > 1
            else f"And {escaped(more[0])} beside range {escaped(fact.name)}: does it bind as well? Try it in the panel.",
        )


def _part(story: Story, part: StoryPart) -> list[Step]:
    return [step for step in story.steps if step.part is part]


def _quoted(name: str) -> str:
    return '"' + name.replace("\\", "\\\\").replace('"', '\\"') + '"'
