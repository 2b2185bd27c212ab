"""A call that the command line cannot take, told as every other fault is: what was typed, what may be typed, what to do."""

import re
from typing import Any

from airwarrant.errors import CallError, Fault, nearest

_QUOTED = re.compile(r"'([^']*)'")
_NO_COMMAND = re.compile(r"No such command '(.*?)'")
_EXTRA = re.compile(r"unexpected extra arguments? \((.*)\)|unexpected extra argument\(s\) \((.*)\)")
#: A word of the parser's own message -> what it asks for. Its messages themselves reach no user.
_ASKED = (
    ("match the format", "a day such as 2027-01-31"),
    ("integer", "a whole number"),
    ("number", "a number"),
    ("float", "a number"),
)


def is_help(error: Exception) -> bool:
    """Whether a group was called without a command: its help is the answer."""
    return "NoArgsIsHelpError" in _kinds(error)


def wrong_call(error: Exception) -> CallError | None:
    """The fault of a call that the parser refused; None where `error` is of another kind.

    The parser's classes stand in another package from one version to the next, so they go by their names.
    """
    kinds = _kinds(error)
    if "UsageError" not in kinds:
        return None
    context: Any = getattr(error, "ctx", None)
    path = context.command_path if context is not None else "airwarrant"
    return CallError([_fault(error, kinds, context, f"`{path} --help` explains it.")])


def _kinds(error: Exception) -> set[str]:
    return {one.__name__ for one in type(error).__mro__}


def _fault(error: Any, kinds: set[str], context: Any, explained: str) -> Fault:
    message = str(getattr(error, "message", ""))
    if "NoSuchOption" in kinds:
        known = _options(context)
        advice = nearest(error.option_name, known) or explained
        return Fault("unknown-option", f"there is no option `{error.option_name}`", ", ".join(known), advice=advice)
    if "MissingParameter" in kinds:
        return Fault("missing-argument", f"`{_name(error)}` is missing", _help(error), advice=explained)
    if "BadOptionUsage" in kinds and "does not take a value" in message:
        found = f"`{error.option_name}` takes no value"
        return Fault("extra-argument", found, f"`{error.option_name}` alone", advice=explained)
    if "BadOptionUsage" in kinds:
        return Fault(
            "missing-argument", f"`{error.option_name}` is given no value", "a value after it", advice=explained
        )
    if "BadParameter" in kinds:
        given = _QUOTED.search(message)
        allowed = next((asked for word, asked in _ASKED if word in message), "")
        typed = given[1] if given else _typed(error)
        found = f"`{typed}` for {_name(error)}" if typed else f"the value of {_name(error)}"
        return Fault("wrong-value", found, allowed, advice=explained)
    if (named := _NO_COMMAND.search(message)) is not None:
        known = context.command.list_commands(context) if context is not None else []
        advice = nearest(named[1], known) or explained
        return Fault("unknown-command", f"there is no command `{named[1]}`", ", ".join(known), advice=advice)
    extra = _EXTRA.search(message)
    found = f"`{extra[1] or extra[2]}` is too much" if extra else "the call cannot be read"
    return Fault("extra-argument", found, "text with spaces in quotes", advice=explained)


def _typed(error: Any) -> str:
    """What was typed, where only what lies behind the parser's error tells."""
    behind: Any = getattr(getattr(error, "__cause__", None), "errors", list)()
    return next((str(one["input"]) for one in behind if "input" in one), "")


def _options(context: Any) -> list[str]:
    found = [name for one in context.command.params for name in one.opts if name.startswith("--")] if context else []
    return [name for name in found if name != "--help"]


def _name(error: Any) -> str:
    """How an argument or option is typed."""
    param = getattr(error, "param", None)
    if param is None:
        return "a value"
    if param.param_type_name == "option":
        return str(max(param.opts, key=len))
    return str(param.metavar or param.name).upper()


def _help(error: Any) -> str:
    """What the help says of the argument that is missing, without its full stop."""
    said = str(getattr(getattr(error, "param", None), "help", "") or "")
    return said[:1].lower() + said[1:].rstrip(".") if said else ""
