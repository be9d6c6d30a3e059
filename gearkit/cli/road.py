"""Commands of the family "road"."""

from __future__ import annotations

from gearkit.cli.command import Command

COMMANDS: list[Command] = []
