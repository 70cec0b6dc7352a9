"""Commands that bring the lessons to others: a folder of static files, a server of it for a class, a school's own."""

from __future__ import annotations

from gearcalc.commands.console import AddCommand


def add_serving_commands(command: AddCommand) -> None:
    """Enter web, serve and hub."""
