"""Which program and engine a job was evaluated with."""

from collections.abc import Mapping
from functools import cache
from importlib.metadata import version
from types import MappingProxyType


@cache
def versions() -> Mapping[str, str]:
    """Program and rule engine, each with its version."""
    return MappingProxyType({name: version(name) for name in ("airwarrant", "durable-rules")})
