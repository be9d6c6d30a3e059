"""Commands of the family "service"."""

from __future__ import annotations

from gearkit.cli.command import Command

COMMANDS: list[Command] = []
