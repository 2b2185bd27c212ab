"""The digest of a policy's meaning: comments, layout, file names and layers do not change it."""

import hashlib
import json
from collections.abc import Mapping
from dataclasses import fields, is_dataclass, replace
from datetime import date
from decimal import Decimal
from functools import cache
from typing import Any

from airwarrant.policy.model import Policy, Sourced

#: Where a value came from, and what it stood in place of, is no part of what it says.
ORIGIN = frozenset({"place", "layer", "keys", "layers", "digest", "clause_places", "row_places"})


def digested(policy: Policy) -> Policy:
    """Return the policy with its digest filled in."""
    text = json.dumps(_meaning(policy), sort_keys=True, separators=(",", ":"), ensure_ascii=True)
    return replace(policy, digest=hashlib.sha256(text.encode("ascii")).hexdigest())


def same_meaning(one: object, other: object) -> bool:
    """Whether two parts of policies say the same, wherever they are written."""
    return one is other or bool(_meaning(one) == _meaning(other))


def _meaning(value: Any) -> Any:
    kind = type(value)
    if kind in _PLAIN:
        return value
    if isinstance(value, Sourced):
        return _meaning(value.value)
    names = _said_by(kind)  # type: ignore[arg-type]  # mypy takes a class for unhashable
    if names is not None:
        # Without the class two clauses with the same keys would be one.
        return {"": kind.__name__, **{name: _meaning(getattr(value, name)) for name in names}}
    if isinstance(value, Mapping):
        return {str(key): _meaning(held) for key, held in value.items()}
    if isinstance(value, list | tuple):
        return [_meaning(held) for held in value]
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return format(value.normalize(), "f")
    if isinstance(value, int) and not isinstance(value, bool):
        return float(value)
    return value


_PLAIN = (str, float, bool, type(None))


@cache
def _said_by(kind: type) -> tuple[str, ...] | None:
    """Names of the fields that say something, of a class that has fields."""
    return tuple(f.name for f in fields(kind) if f.name not in ORIGIN) if is_dataclass(kind) else None
