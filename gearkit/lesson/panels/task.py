"""The panel of a prediction task: settings, what is asked, and a result that stays shut until it was predicted.

The browser shows controls and sends what was set or said; the kernel answers with what may be shown. Nothing of a
result that is still shut is sent.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from fractions import Fraction
from html import escape
from typing import Any

import traitlets

from gearkit.draw.core.embed import as_image
from gearkit.lesson.answering import LONGEST_TEXT
from gearkit.lesson.panels.base import Panel
from gearkit.lesson.panels.bundle import script
from gearkit.lesson.predictions import Predictions
from gearkit.lesson.tasks.task import Ask, Choice, Number, PredictionTask, Scene, Setting, Setup, Table, Ticks, Value
from gearkit.text.phrases import localized, shown_word
from gearkit.words.errors import GearkitError, UsageError
from gearkit.words.say import in_english, later, say

SIGNS = {later("agrees"): "✓", later("near"): "≈", later("differs"): "○", later("too high"): "▲", later("too low"): "▼"}


class TaskPanel(Panel):
    """A prediction task; whatever it does can be done in Python as well.

    Args:
        task: the task.
        keeper: where predictions are kept; None keeps none.
        traits: its title.
    """

    for_one_learner = True
    _esm = script("task_panel")
    controls = traitlets.List().tag(sync=True)
    values = traitlets.Dict().tag(sync=True)
    questions = traitlets.List().tag(sync=True)
    invitation = traitlets.Unicode("").tag(sync=True)
    action = traitlets.Unicode("").tag(sync=True)
    steps_left = traitlets.Int(0).tag(sync=True)
    is_open = traitlets.Bool(False).tag(sync=True)
    status = traitlets.Unicode("").tag(sync=True)
    given_html = traitlets.Unicode("").tag(sync=True)
    found_html = traitlets.Unicode("").tag(sync=True)
    compared_html = traitlets.Unicode("").tag(sync=True)
    afterword = traitlets.Unicode("").tag(sync=True)
    trouble = traitlets.Unicode("").tag(sync=True)
    history = traitlets.List(traitlets.Unicode()).tag(sync=True)

    def __init__(self, task: PredictionTask, keeper: Predictions | None = None, **traits: Any) -> None:
        self.task = task
        self._keeper = keeper
        self._setup = task.start()
        self._steps: dict[str, list[Mapping[str, Value]]] = {}
        self._said: dict[str, dict[str, str]] = {}
        super().__init__(**traits)
        self.controls = [_control(setting) for setting in task.settings]
        self.invitation = task.invitation
        self.action = say(task.action)
        if keeper is not None:
            self.history = keeper.history()
        self._show()
        self.on_msg(self._on_message)

    @property
    def setup(self) -> Setup:
        """The settings as they stand, with the steps that were tried for this case."""
        case = self.task.case(self._setup)
        return Setup(self._setup.values, tuple(self._steps.get(case, ())), tuple(self._said))

    @property
    def case(self) -> str:
        """The case at hand, in words."""
        return self.task.case(self._setup)

    @property
    def _key(self) -> str:
        """The case at hand as a record names it, in English."""
        with in_english():
            return self.task.case(self._setup)

    def choose(self, name: str, value: object) -> None:
        """Change a setting.

        Args:
            name: of the setting.
            value: a word, a number, or names for tick boxes.

        Raises:
            UsageError: no such setting or value.
        """
        taken = self.task.setting(name).taken(value)
        self._setup = Setup({**self._setup.values, name: taken})
        self._show()

    def try_it(self) -> None:
        """Do one step, such as trying a range and reading the speeds.

        Raises:
            UsageError: the task has no steps, or none is left.
        """
        if not self.task.budget:
            raise UsageError("There is nothing to try here; change the settings instead.")
        if self._left() <= 0:
            raise UsageError(f"All {self.task.budget} tries are used; predict now.")
        self._steps.setdefault(self.case, []).append(dict(self._setup.values))
        self._show()

    def predict(self, said: Mapping[str, str]) -> None:
        """Keep a prediction for the case at hand and open it.

        Args:
            said: name of an ask -> what is predicted, as text.

        Raises:
            UsageError: something is missing or cannot be read.
        """
        setup = self.setup
        asks = self.task.asks(setup)
        for name in said:
            if name not in {ask.name for ask in asks}:
                raise UsageError(f"{name!r} is not asked; asked are: {', '.join(ask.name for ask in asks)}.")
        taken = {ask.name: ask.taken(str(said.get(ask.name, ""))[:LONGEST_TEXT]) for ask in asks}
        self._said[self.case] = taken
        if self._keeper is not None:
            truth = self.task.truth(setup)
            facts = {name: _plain(value) for name, value in setup.values.items()}
            self._keeper.keep(self._key, facts, {"kind": _line(asks, taken), **taken}, self.case)
            self._keeper.reveal(self._key, {"kind": _line(asks, {a.name: self.task.shown(a, truth[a.name]) for a in asks})})
            self.history = self._keeper.history()
        self._show()

    def again(self) -> None:
        """Shut the case at hand, so that it can be predicted once more."""
        self._said.pop(self.case, None)
        self._steps.pop(self.case, None)
        self._show()

    def explain(self, text: str) -> None:
        """Keep what the learner says about the prediction after the reveal."""
        if self._keeper is not None:
            self._keeper.explain(self._key, text)

    def truth(self) -> dict[str, Fraction | str]:
        """Return what is found for each ask.

        Raises:
            UsageError: the result is still shut; predict first.
        """
        if not self.is_open:
            example = ", ".join(f'"{ask.name}": "…"' for ask in self.task.asks(self.setup))
            raise UsageError(f"The result stays shut until you predict: panel.predict({{{example}}}).")
        return self.task.truth(self.setup)

    def words(self) -> str:
        """Return in a sentence what the panel shows now."""
        return str(self.status)

    def pictures(self) -> tuple[str, ...]:
        """Return the drawings of the scene that is shown."""
        scene = self.task.found(self.setup) if self.is_open else self.task.given(self.setup)
        return scene.pictures

    def static_html(self) -> str:
        """Return the present state as HTML without script."""
        title = escape(self.title, quote=True)
        scene = self.task.found(self.setup) if self.is_open else self.task.given(self.setup)
        return (
            f'<section aria-label="{title}"><p><strong>{title}</strong></p><p>{escape(self.status)}</p>'
            f"{self.compared_html}{self.afterword}{scene_html(scene, as_image)}</section>"
        )

    def _left(self) -> int:
        return self.task.budget - len(self._steps.get(self.case, ()))

    def _show(self) -> None:
        setup = self.setup
        asks = self.task.asks(setup)
        said = self._said.get(self.case)
        scene = self.task.found(setup) if said else self.task.given(setup)
        compared = _compared(self.task, asks, said, self.task.truth(setup)) if said else ""
        with self.hold_sync():
            self.values = {name: _plain(value) for name, value in setup.values.items()}
            self.questions = [_question(ask) for ask in asks]
            self.steps_left = self._left()
            self.is_open = said is not None
            self.status = scene.words
            self.given_html = "" if said else scene_html(scene)
            self.found_html = scene_html(scene) if said else ""
            self.compared_html = compared
            self.afterword = self._keeper.afterword(self._key) if said and self._keeper is not None else ""
            self.trouble = ""

    def _on_message(self, _widget: object, content: Any, _buffers: object) -> None:
        if not isinstance(content, dict):
            return
        try:
            match content.get("do"):
                case "set":
                    self.choose(str(content.get("name")), content.get("value"))
                case "try":
                    self.try_it()
                case "predict":
                    said = content.get("said")
                    self.predict({str(name): str(text) for name, text in said.items()} if isinstance(said, dict) else {})
                case "again":
                    self.again()
                case "explain":
                    self.explain(str(content.get("text", "")))
        except GearkitError as fault:
            self.trouble = str(fault)


def scene_html(scene: Scene, drawn: Callable[[str], str] = str) -> str:
    """Return tables and drawings of a scene as HTML; its words are shown apart.

    Args:
        scene: the scene.
        drawn: turns a drawing into HTML; as it is when left out.
    """
    drawings = "".join(f'<figure class="gk-drawing">{drawn(svg)}</figure>' for svg in scene.pictures)
    return f"{drawings}{''.join(table_html(table) for table in scene.tables)}"


def table_html(table: Table) -> str:
    """Return a table as HTML; rows that stand out are told in words too."""
    head = "".join(f'<th scope="col">{escape(word)}</th>' for word in table.head)
    rows = []
    for number, row in enumerate(table.rows):
        now = number in table.marked
        name = f"<b>▶</b> {escape(row[0])}" if now else escape(row[0])
        cells = "".join(f"<td>{escape(text)}</td>" for text in row[1:])
        look = ' class="gk-now"' if now else ""
        rows.append(f'<tr{look}><th scope="row">{name}</th>{cells}</tr>')
    return (
        f'<div class="gk-scroll"><table class="gk-table gk-task-table"><caption>{escape(table.caption)}</caption>'
        f"<thead><tr>{head}</tr></thead><tbody>{''.join(rows)}</tbody></table></div>"
    )


def _compared(task: PredictionTask, asks: tuple[Ask, ...], said: Mapping[str, str], truth: Mapping[str, Fraction | str]) -> str:
    rows = []
    for ask in asks:
        # A setting moved after the reveal may bring another question than the one that was answered.
        if ask.name not in said:
            continue
        right = truth[ask.name]
        word = ask.agrees(said[ask.name], right)
        own = f"{shown_word(said[ask.name])} {say(ask.unit)}".strip()
        rows.append((ask.label, own, task.shown(ask, right), f"{SIGNS[word]} {say(word)}"))
    return table_html(
        Table(
            say("Your prediction beside what was found"),
            (say("Asked"), say("You said"), say("Found"), say("How near")),
            tuple(rows),
        )
    )


def _line(asks: tuple[Ask, ...], said: Mapping[str, str]) -> str:
    return "; ".join(f"{ask.label} {shown_word(said[ask.name])}" for ask in asks)


def _plain(value: Value) -> Any:
    if isinstance(value, Fraction):
        return int(value) if value.denominator == 1 else float(value)
    return list(value) if isinstance(value, tuple) else value


def _control(setting: Setting) -> dict[str, Any]:
    spec: dict[str, Any] = {"name": setting.name, "label": setting.label}
    match setting:
        case Choice():
            return {**spec, "form": "choice", "options": list(setting.options), "labels": _labels(setting.options)}
        case Ticks():
            return {**spec, "form": "ticks", "options": [[name, words] for name, words in setting.options.items()]}
        case Number():
            numbers = {name: _plain(getattr(setting, name)) for name in ("low", "high", "step")}
            return {**spec, "form": "number", "unit": say(setting.unit), **numbers}


def _labels(options: tuple[str, ...]) -> dict[str, str]:
    """What the reader reads for an option where that is another word."""
    return {option: label for option in options if (label := shown_word(option)) != option}


def _question(ask: Ask) -> dict[str, Any]:
    return {
        "name": ask.name, "label": ask.label, "options": list(ask.options), "labels": _labels(ask.options), "several": ask.several, "unit": say(ask.unit),
        "example": localized(ask.example),
    }  # fmt: skip
