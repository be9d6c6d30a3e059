"""Ideas behind several answers, in words: kindly for the learner, with what to do next for the instructor."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from html import escape

from gearkit.answers.beliefs.belief import Belief
from gearkit.answers.draw_numbers.variants import Variant
from gearkit.lesson.syllabus import LESSONS
from gearkit.text.markdown import inline, to_html
from gearkit.text.phrases import capital, listed
from gearkit.words.say import say, say_n
from graders.course.roster import by_name
from graders.report.figures.class_data import ReportData
from graders.report.figures.ideas import LearnerIdea, LearnerIdeas, SharedIdea
from graders.report.pages.page import counted, linked

# More do not fit round a small table.
_TABLE = 6


def for_learner(ideas: LearnerIdeas, places: Mapping[str, int], lessons: Mapping[str, str]) -> str:
    """Return the section of a learner's page, or nothing where nothing is to be said.

    Args:
        ideas: what was found.
        places: the number of each item on the page.
        lessons: address of each lesson that is to be linked, by its folder.
    """
    if ideas.ideas:
        pieces = "".join(_idea(idea, places, ideas.learner, lessons) for idea in ideas.ideas)
        title = say("An idea that may be behind several of your answers")
        guess = say("This is a guess from your answers alone, and it changes no marks.")
        return f'<section aria-labelledby="idea"><h2 id="idea">{title}</h2>{pieces}<p>{guess}</p></section>'
    if not ideas.more:
        return ""
    exercises = "".join(_exercise(exercise, ideas.learner) for exercise in ideas.more)
    many = len(ideas.more)
    title = say_n("One more exercise, if you like", "Two more exercises, if you like", many)
    why = say_n(
        "Some of your answers may have something in common. This would show it. They change no marks.",
        "Some of your answers may have something in common. These would show it. They change no marks.",
        many,
    )
    return f'<section aria-labelledby="idea"><h2 id="idea">{title}</h2><p>{why}</p>{exercises}</section>'


def _idea(idea: LearnerIdea, places: Mapping[str, int], learner: str, lessons: Mapping[str, str]) -> str:
    numbers = [f'<a href="#i{places[item]}">{places[item]}</a>' for item in idea.items if item in places]
    first = idea.beliefs[0]
    reasons = say(", or when ").join(inline(say(belief.told)) for belief in idea.beliefs)
    lesson = LESSONS[f"{first.lesson:02d}"]
    title = say("lesson {number}, {title}", number=first.lesson, title=escape(say(lesson.title)))
    told = say_n(
        "Your answer to item {numbers} is what one gets when {reasons}. If you thought so, {lesson}, helps (<code>gearkit lessons</code> opens the lessons; folder <code>{folder}</code>). If it was only a careless mistake, ignore this.",
        "Your answers to items {numbers} are what one gets when {reasons}. If you thought so, {lesson}, helps (<code>gearkit lessons</code> opens the lessons; folder <code>{folder}</code>). If it was only a careless mistake, ignore this.",
        len(numbers),
        numbers=listed(numbers),
        reasons=reasons,
        lesson=linked(title, lessons.get(lesson.folder, "")),
        folder=escape(lesson.folder),
    )
    lead = say("One thing to practise.")
    told = f"<p>{told}</p><p><strong>{lead}</strong> {inline(say(first.practise))}</p>"
    if idea.exercise is None:
        return told
    why = say("It tells the two apart.") if len(idea.beliefs) > 1 else ""
    return f"{told}{_exercise(idea.exercise, learner, why)}"


def _exercise(variant: Variant, learner: str, why: str = "") -> str:
    item = variant.item.id
    blanks = "; ".join(f"{part.name} = ..." for part in variant.parts) if len(variant.parts) > 1 else "..."
    how = say(
        "To check your answer: {command}, or take it with other numbers in a lesson: {call}",
        command=f"<code>gearkit exercise {item} --for {escape(learner)} --answer &quot;{escape(blanks)}&quot;</code>",
        call=f"<code>lesson.exercise(&quot;{item}&quot;)</code>",
    )
    label, title = say("New exercise {item}", item=item), say("A new exercise: {item}", item=item)
    return (
        f'<article class="item" aria-label="{label}"><header><h3>{title}</h3></header>'
        f'{f"<p>{why}</p>" if why else ""}{to_html(variant.prompt)}<p class="small">{how}</p></article>'
    )


def for_class(data: ReportData) -> str:
    """Return the section of the class report, or nothing where nothing was found."""
    ideas = data.ideas
    if not ideas.shared and not ideas.suspected:
        return ""
    entries = "".join(_shared(data, idea) for idea in ideas.shared)
    none = "" if ideas.shared else "<p>No idea is certain enough to be named.</p>"
    return (
        '<h2 id="ideas">Ideas that learners may share</h2><p>Where one misconception explains several answers of a learner, and '
        "careless mistakes do not, it is named here. It is a guess from answers alone: ask before you teach. It changes no marks and stands "
        "in no export; <code>ideas = false</code> in <code>course.toml</code> turns it off, on feedback pages too. A line such as "
        "<code>lessons = &quot;https://school.example/lessons/&lt;lesson&gt;.html&quot;</code> there, above <code>[rules]</code>, makes "
        "the lessons named on feedback pages links.</p>"
        f"{none}{entries}{_suspected(data, ideas.suspected)}"
    )


def _shared(data: ReportData, shared_idea: SharedIdea) -> str:
    belief = shared_idea.belief
    people = _people(data, shared_idea.learners)
    many = len(people) > 1
    seen = listed([f"{escape(item)} ({count})" if many else escape(item) for item, count in shared_idea.items])
    table = ""
    if many:
        rest = f" ({len(people) - _TABLE} more after them)" if len(people) > _TABLE else ""
        table = f"<p><strong>A group for a small table:</strong> {listed(people[:_TABLE])}{rest}.</p>"
    ask = f" Ask them {escape(shared_idea.ask)} next." if shared_idea.ask else ""
    apart = ""
    if shared_idea.instead:
        apart = f"<p>Some of these answers also fit “{escape(shared_idea.instead[0].name)}”."
        apart += f" {escape(shared_idea.separates)} separates the two.</p>" if shared_idea.separates else "</p>"
    begin = "Seen in" if many else f"{people[0]}, in"
    return (
        f'<section class="taught"><div><h3>{escape(capital(belief.name))}: {counted(len(people), "learner")}</h3>'
        f"<p>{begin} {seen}. Taught in lesson {belief.lesson}.{ask}</p>{table}{apart}"
        f'<p class="small">To practise: {inline(belief.practise)}</p></div></section>'
    )


def _suspected(data: ReportData, suspected: Mapping[Belief, tuple[Sequence[str], Sequence[str]]]) -> str:
    if not suspected:
        return ""
    rows = "".join(
        f'<tr><th scope="row">{escape(capital(belief.name))}</th><td>{listed(_people(data, learners))}</td>'
        f"<td>{listed([escape(item) for item in items])}</td></tr>"
        for belief, (learners, items) in suspected.items()
    )
    example = next((items for _, items in suspected.values() if items), ())
    how = (
        (
            f'<p class="small">As a sheet: <code>graders compose "{",".join(map(escape, example))}" --practice -o more.toml'
            "</code>. Once it is marked, this page and the feedback pages count its answers too.</p>"
        )
        if example
        else ""
    )
    return (
        f"<h3>Not certain yet</h3><p>Two more exercises would tell. Learners find them on their feedback pages, without "
        f'the guess.</p><table class="plain"><thead><tr><th scope="col">May be behind it</th><th scope="col">Learners</th>'
        f'<th scope="col">Ask</th></tr></thead><tbody>{rows}</tbody></table>{how}'
    )


def _people(data: ReportData, learners: Sequence[str]) -> list[str]:
    return [escape(name) for name in sorted(map(data.name_of, learners), key=by_name)]
