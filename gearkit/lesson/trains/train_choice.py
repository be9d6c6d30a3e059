"""The choice of another train in a panel: the kit's layouts and the files beside the notebook, without a line of code.

What was chosen is kept in the learner's record, so a lesson that is opened again shows the same train.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import traitlets

from gearkit.lesson.record import Record
from gearkit.train import catalogue
from gearkit.train.layout import Layout
from gearkit.words.errors import GearkitError, UsageError

# Of the files beside a notebook so many are offered.
MOST_FILES = 40
KIND = "train"


class TrainChoice(traitlets.HasTraits):  # type: ignore[misc]  # traitlets are seen without types
    """Part of a panel that shows one train: names to choose from in, the panel's whole state for the chosen one out."""

    trains = traitlets.List(traitlets.List(traitlets.Unicode())).tag(sync=True)
    train_name = traitlets.Unicode("").tag(sync=True)

    def begin(self, layout: Layout) -> dict[str, Any]:
        """Take a layout and return the state in which its panel begins.

        Args:
            layout: any plain layout.

        Raises:
            UsageError: the panel has nothing to show of it; then nothing has changed.
        """
        raise NotImplementedError

    def has_room_for(self, layout: Layout) -> bool:
        """Return whether the panel has something to show of a layout.

        Args:
            layout: any plain layout.
        """
        return layout.plain

    def offer_trains(self, name: str, titled: Callable[[Layout], str], record: Record | None, place: str) -> None:
        """Let somebody choose another train; the one that was chosen last is shown again.

        Args:
            name: the layout that the panel shows, by name or file.
            titled: returns the panel's title for a layout.
            record: where the choice is kept, if anywhere.
            place: what tells this panel from others of the record, such as "06 explore Q36".
        """
        self._titled, self._place, self._record, self._first = titled, place, record, name
        self.train_name = name
        panel: Any = self
        panel.on_msg(self._on_train)
        kept = [event for event in record.of_kind(KIND) if event.get("place") == place] if record else []
        if kept and kept[-1].get("name") != name:
            try:
                self._show(str(kept[-1].get("name", "")))
            except GearkitError:
                # The file is gone, or is no layout any more: the lesson's own train stands there.
                self._show(name)

    def choose_train(self, name: str) -> None:
        """Show another train and keep the choice.

        Args:
            name: a layout's name or file.

        Raises:
            UsageError: there is no such layout, or the panel has nothing to show of it.
        """
        self._show(name)
        if self._record is not None:
            self._record.add(KIND, {"place": self._place, "name": name})

    def _show(self, name: str) -> None:
        layout = catalogue.find(name)
        if not layout.plain:
            raise UsageError(f"{layout.name} has machines or several outputs, which this panel does not show.")
        panel: Any = self
        with panel.hold_sync(), self.hold_trait_notifications():
            for trait, value in self.begin(layout).items():
                setattr(self, trait, value)
            self.train_name, panel.title = name, self._titled(layout)

    def _on_train(self, _widget: object, content: Any, _buffers: object) -> None:
        """Say which trains there are once the panel stands, and show the one that is chosen."""
        if not isinstance(content, dict):
            return
        if content.get("do") == "trains":
            self.trains = list(self._offered())
        if content.get("do") == "train" and content.get("name") in [name for name, _ in self.trains]:
            try:
                self.choose_train(content["name"])
            except GearkitError as fault:
                panel: Any = self
                panel.send({"train_trouble": str(fault)})

    def _offered(self) -> Iterator[list[str]]:
        names = [entry.name for entry in catalogue.entries() if self.has_room_for(entry.layout)]
        if self._first not in names:
            yield [self._first, catalogue.find(self._first).said_name]
        yield from ([entry.name, entry.layout.said_name] for entry in catalogue.entries() if entry.name in names)
        for file in sorted(Path.cwd().glob("*.toml"))[:MOST_FILES]:
            try:
                layout = catalogue.read(file)
                if file.name != self._first and self.has_room_for(layout):
                    yield [file.name, f"{file.name}: {layout.said_name}"]
            except (GearkitError, OSError):
                continue
