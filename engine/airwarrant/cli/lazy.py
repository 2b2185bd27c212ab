"""Commands that are imported when they are called: no command pays for what another one needs."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from importlib import import_module
from typing import Any

import typer
from typer.core import TyperGroup


@dataclass(frozen=True, slots=True)
class Command:
    """Where a command or a group is: ``module:name``; `settings` are click's context settings of a command."""

    at: str
    settings: Mapping[str, Any] = field(default_factory=dict)


def lazy_group(commands: Mapping[str, Command]) -> type[TyperGroup]:
    """Return a class for `typer.Typer(cls=…)` whose `commands` are listed last and imported when they are asked for."""

    class Lazy(TyperGroup):
        def __init__(self, **attrs: Any) -> None:
            super().__init__(**attrs)
            # Listed, so that help and suggestions know the name; `get_command` gives the command itself.
            names: Any = dict.fromkeys(commands)
            self.commands = {**self.commands, **names}

        def get_command(self, ctx: Any, cmd_name: str) -> Any:
            return _made(cmd_name, commands[cmd_name]) if cmd_name in commands else super().get_command(ctx, cmd_name)

    return Lazy


def _made(name: str, command: Command) -> Any:
    module, _, attribute = command.at.partition(":")
    held = getattr(import_module(module), attribute)
    if not isinstance(held, typer.Typer):
        one = typer.Typer(add_completion=False, pretty_exceptions_enable=False)
        one.command(name, context_settings=dict(command.settings))(held)
        held = one
    made: Any = typer.main.get_command(held)
    made.name = name
    return made
