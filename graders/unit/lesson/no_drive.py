"""What does not drive: the neutral and locked ranges that a layout names, and what one element too many does."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence

from gearkit.explain.step import Step, StoryPart
from gearkit.explain.story import tell
from gearkit.explain.whole_story import Story
from gearkit.solve.one_way import Working, one_way_clutches
from gearkit.text.phrases import capital, listed
from gearkit.words.say import say, say_n
from gearkit.words.terms import Verdict
from graders.unit.facts import Facts, RangeFact
from graders.unit.words.cells import Cell, code, prose, quoted, several, working_title
from graders.unit.words.saying import escaped

_MOST_STEPS = 3
_MOST_OF_A_TIE_UP = 5


def cells(facts: Facts) -> Iterator[Cell]:
    """Yield the cells on neutral, park and tie-up, as far as the layout has them."""
    if not facts.others and facts.tie_up is None:
        return
    yield prose("no-drive", "by-hand", say("## When it does not drive"), _opening(facts))
    yield code("no-drive-panel", "predict", f'lesson.predict_about("freedoms", "{facts.file}")')
    neutrals = [other for other in facts.others if other[2].verdict is Verdict.NEUTRAL]
    held = [other for other in facts.others if not other[2].verdict.output_turns]
    odd = [other for other in facts.others if other[2].verdict is Verdict.INPUT_LOCKED]
    if neutrals:
        yield from _neutral(facts, *neutrals[0])
    if neutrals[1:]:
        rest = [
            say("range {range} ({elements})", range=escaped(name), elements=escaped(listed(engaged)))
            if engaged
            else say("range {range} (nothing applied)", range=escaped(name))
            for name, engaged, _ in neutrals[1:]
        ]
        told = say_n(
            "{ranges} leaves input and output independent too. Check it with the count above.",
            "{ranges} leave input and output independent too. Check them with the count above.",
            len(rest),
            ranges=capital(listed(rest)),
        )
        yield prose("neutral-more", "by-hand", told)
    if held:
        yield from _park(facts, *held[0])
    if odd:
        name, engaged, state = odd[0]
        yield prose(
            "input-held",
            "by-hand",
            say("### Range {range}: the input is held", range=escaped(name)),
            say(
                "With {acting} the engine cannot turn, while the output can. No driver asks for that, so look at the chart again: is it "
                "written down as it was meant?",
                acting=_acting(engaged, state),
            ),
        )
    if facts.tie_up is not None:
        yield from _tie_up(facts)


def _opening(facts: Facts) -> str:
    names = [say("range {range}", range=escaped(name)) for name, _, _ in facts.others]
    named = say("Every row of the chart drives; not every combination of elements does.")
    if names:
        ranges = capital(listed(names))
        named = say_n("{ranges} does not drive.", "{ranges} do not drive.", len(names), ranges=ranges)
    asked = say(
        "First say what you expect: how many speeds stay free, and which of input and output can turn? Tick the elements, predict, "
        "reveal. Do it for a range that drives as well, to compare."
    )
    return f"{named} {asked}"


def _acting(listed_names: Sequence[str], state: Working) -> str:
    """What is applied, and what the one-way clutches that the chart lists beside it do: nobody applies those."""
    loose = [name for name in listed_names if name not in state.engaged]
    applied = escaped(listed(state.applied)) or say("nothing")
    told = (
        say("{applied} applied and {holding} holding", applied=applied, holding=escaped(listed(state.holding)))
        if state.holding
        else say("{applied} applied", applied=applied)
    )
    if not loose:
        return told
    return say_n(
        "{acting}, while {elements} lets go,",
        "{acting}, while {elements} let go,",
        len(loose),
        acting=told,
        elements=escaped(listed(loose)),
    )


def _neutral(facts: Facts, name: str, engaged: Sequence[str], state: Working) -> Iterator[Cell]:
    story = tell(facts.layout, name)
    heading = say("### Neutral: range {range}", range=escaped(name))
    applied = say("With {acting}:", acting=_acting(engaged, state).rstrip(","))
    free = [step.words for step in _part(story, StoryPart.FREE)]
    yield from several(
        "neutral",
        "by-hand",
        [heading, applied, "\n".join(f"- {escaped(words)}" for words in free)],
    )
    moves = [step for step in _part(story, StoryPart.STANDING) if step.formulas]
    turning = [step for step in moves if any(value for value in step.gives.values())]
    # Sets solved together would need their letter and its equation: that is more than an aside on neutral carries.
    if turning and all(len(step.sets) < 2 for step in moves[:_MOST_STEPS]):
        yield from several(
            "neutral-turns",
            "by-hand",
            [
                say("Neutral is not at rest. Let the input make one turn while the vehicle stands."),
                *_as_told(moves[:_MOST_STEPS], facts.by_effort[0]),
            ],
        )
    labels = quoted(say("State")), quoted(say("Free speeds"))
    yield code(
        "neutral-numbers",
        "worked",
        working_title(say("what is free in neutral")),
        f"neutral = in_range(train, {quoted(name)}).mobility",
        f"lesson.results(({labels[0]}, str(neutral.verdict)), ({labels[1]}, neutral.freedom))",
    )


def _as_told(moves: Sequence[Step], first: RangeFact) -> Iterator[str]:
    """The moves in words; those that the first range has told word for word are named only."""
    before = {step.words for step in first.story.steps}
    again = list(dict.fromkeys(name for step in moves if step.words in before for name in step.sets))
    if again:
        yield say_n(
            "{sets} turns as in range {range}.",
            "{sets} turn as in range {range}.",
            len(again),
            sets=escaped(listed(again)),
            range=escaped(first.name),
        )
    yield from (escaped(step.words) for step in moves if step.words not in before)


def _park(facts: Facts, name: str, engaged: Sequence[str], state: Working) -> Iterator[Cell]:
    story = tell(facts.layout, name)
    why = _part(story, StoryPart.CONFLICT)[-2:]
    acting = _acting(engaged, state)
    if state.verdict is Verdict.TIE_UP:
        heading = say("### Locked: range {range}", range=escaped(name))
        told = say("With {acting} neither end can turn.", acting=acting)
    else:
        heading = say("### The output held: range {range}", range=escaped(name))
        told = say("With {acting} the output is held while the input may turn.", acting=acting)
    yield from several("park", "by-hand", [heading, told, *(escaped(step.words) for step in why)])
    yield prose(
        "park-caution",
        "caution",
        say(
            "**Park is not a chock.** It holds one shaft in the transmission; with an open differential one raised wheel lets the other "
            "turn. Chocks, parking brake and stands are used as well."
        ),
    )


def _tie_up(facts: Facts) -> Iterator[Cell]:
    assert facts.tie_up is not None
    fact, element, state = facts.tie_up
    story = tell(facts.layout, engaged=(*fact.engaged, element))
    yield from several(
        "tie-up",
        "by-hand",
        [
            say("### One element too many: range {range} and {element}", range=escaped(fact.name), element=escaped(element)),
            say(
                "Range {range} needs {elements}. Let {element} take hold as well. Predict it above before you read on.",
                range=escaped(fact.name),
                elements=escaped(fact.applied),
                element=escaped(element),
            ),
            *(escaped(words) for words in _as_new(facts, _contradiction(story))),
        ],
    )
    engaged = ", ".join(quoted(name) for name in (*fact.engaged, element))
    labels = quoted(say("Together")), quoted(say("That is"))
    yield code(
        "tie-up-numbers",
        "worked",
        working_title(say("one element too many")),
        "from gearkit.solve.one_way import working",
        "",
        f"lesson.results(({labels[0]}, str(working(train, [{engaged}]).verdict)), ({labels[1]}, {quoted(say(state.verdict.means))}))",
    )
    # Nobody can apply a one-way clutch to try it.
    by_itself = one_way_clutches(facts.layout)
    more = [other.name for other in facts.layout.elements if other.name not in (*fact.engaged, element, *by_itself)]
    if more:
        told = say_n(
            "And {elements} together with range {range}: is that a tie-up as well? Try it in the panel.",
            "Which of {elements} make a tie-up together with range {range} as well, if any?",
            len(more),
            elements=escaped(listed(more)),
            range=escaped(fact.name),
        )
        each = say("Try both in the panel.") if len(more) == 2 else say("Try each in the panel.") if len(more) > 2 else ""
        yield prose("tie-up-more", "by-hand", " ".join(filter(None, (told, each))))


def _contradiction(story: Story) -> list[Step]:
    """The steps from what is applied to the two speeds that do not agree; a working with letters is left out."""
    steps = _part(story, StoryPart.CONFLICT)
    begins = next((place for place, step in enumerate(steps) if step.engaged), len(steps) - 2)
    between = steps[begins:-2]
    short = len(between) <= _MOST_OF_A_TIE_UP and all(len(step.sets) < 2 for step in between)
    # Where too much lies between, what is applied and what is put in are said, and the rest stands in the derivation of the range.
    told = between if short else [step for step in between if step.engaged]
    return [*told, *steps[-2:]]


def _as_new(facts: Facts, steps: Sequence[Step]) -> Iterator[str]:
    """The words of steps without what the worked ranges have said: of what turns at the start once, of a set twice."""
    worked = [facts.by_effort[0], *[fact for fact in facts.by_effort[1:] if fact.ratio != 1][:1]]
    said = Counter(words for fact in worked for step in fact.story.steps for words in _sentences(step.words))
    for step in steps:
        most = 1 if step.engaged else 2
        kept = [words for words in _sentences(step.words) if said[words] < most]
        if kept:
            yield " ".join(kept)


def _sentences(words: str) -> list[str]:
    return re.split(r"(?<=\.) ", words)


def _part(story: Story, part: StoryPart) -> list[Step]:
    return [step for step in story.steps if step.part is part]
