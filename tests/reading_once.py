"""The same policy files are read and composed by most tests: here each text is read once a process, and each policy composed once.

Reading and composing are functions of the bytes they are given, so a text that differs in one byte is read anew. Tests of just that,
that a second time comes to what the first came to, call `forget` in between.
"""

import pickle
from collections.abc import Mapping
from functools import lru_cache
from types import MappingProxyType
from typing import Any

from airwarrant.policy import compose
from airwarrant.policy.files import Sources
from airwarrant.policy.model import Policy
from airwarrant.source import document
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path

#: About the files of every shipped market, and those that tests write beside them.
_MOST_TEXTS = 400
_MOST_POLICIES = 24

_Places = Mapping[Path, Place]

_parse = document.parse_toml
_compose = compose.compose_sources


@lru_cache(maxsize=_MOST_TEXTS)
def _parsed(raw: bytes, file: str) -> tuple[bytes, _Places, _Places]:
    data, places, keys = _parse(raw, file)
    return pickle.dumps(data), MappingProxyType(places), MappingProxyType(keys)


def _read(raw: bytes, file: str) -> tuple[dict[str, Any], _Places, _Places]:
    # Who reads a file at fault takes out what is wrong and goes on: each gets data of its own.
    data, places, keys = _parsed(raw, file)
    return pickle.loads(data), places, keys


class _Held:
    """Sources that are equal where their files are: the digest is of the market, and of every file's layer, name and text."""

    def __init__(self, sources: Sources) -> None:
        self.sources = sources

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Held) and other.sources.digest == self.sources.digest

    def __hash__(self) -> int:
        return hash(self.sources.digest)


@lru_cache(maxsize=_MOST_POLICIES)
def _composed(held: _Held, digest: bool) -> Policy:
    return _compose(held.sources, None, digest=digest)


def _compose_sources(sources: Sources, read: dict[Any, Any] | None = None, *, digest: bool = True) -> Policy:
    # A caller that hands in what was read wants to be handed the rest: that is composed each time.
    return _composed(_Held(sources), digest) if read is None else _compose(sources, read, digest=digest)


def remember() -> None:
    """Read and compose through what is remembered; called before any module binds the names."""
    document.parse_toml = _read  # type: ignore[assignment]
    compose.compose_sources = _compose_sources


def forget() -> None:
    """Read and compose anew from here on."""
    _parsed.cache_clear()
    _composed.cache_clear()
