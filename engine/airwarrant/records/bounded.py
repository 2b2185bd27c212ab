"""JSON from elsewhere: read only if it is not nested deeper than what is expected there."""

import json
import re
from typing import Any

_STRING_OR_BRACKET = re.compile(r'"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[\[{\]}]', re.DOTALL)


def bounded_json(text: str, deepest: int) -> Any:
    """Return the value of a text.

    Raises
    ------
    ValueError
        If it is no JSON, or nested deeper than `deepest`.
    """
    if not nested_at_most(text, deepest):
        raise ValueError(f"nested deeper than {deepest}")
    try:
        return json.loads(text, parse_constant=_refuse)
    except json.JSONDecodeError as error:
        raise ValueError("it is no JSON") from error
    except RecursionError as error:
        raise ValueError("nested too deeply") from error


def nested_at_most(text: str, deepest: int) -> bool:
    """Whether brackets outside strings are nothing deeper in each other than `deepest`."""
    depth = 0
    for token in _STRING_OR_BRACKET.finditer(text):
        one = text[token.start()]
        if one in "[{":
            depth += 1
            if depth > deepest:
                return False
        elif one in "]}":
            depth -= 1
    return True


def _refuse(name: str) -> Any:
    raise ValueError(f"{name} is no number of JSON")
