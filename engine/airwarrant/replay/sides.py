"""The two policies of a replay: how each is named, the files it is composed from, and which policy a job is evaluated under."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path

from airwarrant.desks.policy_diff import read_side
from airwarrant.errors import CallError, Fault
from airwarrant.policy.compose import compose_sources
from airwarrant.policy.files import (
    SourceFile,
    Sources,
    layer_files,
    layer_names,
    market_names,
    read_bytes,
    sources_of_texts,
)
from airwarrant.policy.model import Policy
from airwarrant.source.document import Document

#: Stands for each job's own market, under the files of a side.
OWN = "own"


@dataclass(frozen=True, slots=True)
class Address:
    """Which policy of a folder a job is evaluated under.

    ``MARKET`` or ``MARKET@DAY`` is one policy for every job; ``own`` each job's own market on its own dates, ``own@DAY`` its own
    market on one day.
    """

    text: str
    market: str
    on: date | None

    @property
    def fixed(self) -> bool:
        """Whether every job has the same policy."""
        return self.market != ""

    def of(self, market: str, dates: Mapping[str, date | None]) -> tuple[str, dict[str, date | None]]:
        """The market and the dates that a job is evaluated under."""
        own = not self.market and self.on is None
        return self.market or market, dict(dates) if own else {"survey": self.on}


def address(text: str) -> Address:
    """Read an address; raises `CallError` as `read_side` does."""
    market, on = read_side(text)
    return Address(text, "" if market == OWN else market, on)


@dataclass(frozen=True, slots=True)
class Side:
    """An address with the text of every policy file that may take part, by name: it composes anywhere, and again as it was.

    `name` is what people are told.
    """

    address: Address
    texts: Mapping[str, str]
    name: str = ""

    @property
    def digest(self) -> str:
        """Of the address and the texts."""
        parts = [self.address.text, *(f"{name}\0{text}" for name, text in sorted(self.texts.items()))]
        return sha256("\0\0".join(parts).encode(errors="surrogateescape")).hexdigest()


def side(roots: Sequence[Path], text: str, name: str = "") -> Side:
    """Read the files of a side; of several folders a market or layer is taken from the first that holds it."""
    where = address(text)
    texts: dict[str, str] = {}
    for market in market_names(*roots):
        root = next(root for root in roots if (root / f"markets/{market}.toml").exists())
        texts[f"markets/{market}.toml"] = read_bytes(root, root / f"markets/{market}.toml").decode(
            errors="surrogateescape"
        )
    held = {root: layer_names((root,)) for root in roots}
    for layer in sorted({layer for layers in held.values() for layer in layers}):
        root = next(root for root in roots if layer in held[root])
        texts |= {file.file: file.text.decode(errors="surrogateescape") for file in layer_files(root, layer)}
    return Side(where, texts, name or text)


class Policies:
    """Composes the policies of a side from its texts, each once; nothing of it stands on a disk.

    Parameters
    ----------
    side : Side
    read : dict of SourceFile to Document, optional
        Files read so far: two sides that share it read those that they have in common once.
    """

    def __init__(self, side: Side, read: dict[SourceFile, Document] | None = None) -> None:
        self._side = side
        self._read: dict[SourceFile, Document] = {} if read is None else read
        self._composed: dict[str, Policy] = {}
        self._known: dict[tuple[str, tuple[tuple[str, date | None], ...]], Policy] = {}

    def policy(self, market: str = "", dates: Mapping[str, date | None] | None = None) -> Policy:
        """Return the policy of a job of a market and dates; raises as `compose` does."""
        name, on = self._side.address.of(market, dates or {})
        if not name:
            raise CallError(
                [Fault("no-market", "the record names no market", advice="Name a market instead of `own`.")]
            )
        asked = (name, tuple(sorted(on.items())))
        if asked not in self._known:
            self._known[asked] = self._policy(sources_of_texts(self._side.texts, name, on))
        return self._known[asked]

    def _policy(self, sources: Sources) -> Policy:
        if sources.digest not in self._composed:
            self._composed[sources.digest] = compose_sources(sources, self._read)
        return self._composed[sources.digest]

    def close(self) -> None:
        """Let go of what was read and composed."""
        self._read.clear()
        self._composed.clear()
        self._known.clear()


def policies(a: Side, b: Side) -> tuple[Policies, Policies]:
    """The policies of both sides; files that they have in common are read once."""
    read: dict[SourceFile, Document] = {}
    return Policies(a, read), Policies(b, read)
