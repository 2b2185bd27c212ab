"""How two sides of a policy difference are named in a sentence: two markets, or one market at two dates."""

from dataclasses import dataclass
from datetime import date

from airwarrant.policy.history import effective_from
from airwarrant.policy.model import Named, Policy, Sourced
from airwarrant.policy.show_values import layer_text
from airwarrant.source.place import Place


@dataclass(frozen=True, slots=True)
class Side:
    """One side: the policy of a market, at a date or with all its dated folders."""

    market: str
    on: date | None
    policy: Policy

    @property
    def name(self) -> str:
        return self.market if self.on is None else f"{self.market}@{self.on}"

    @property
    def latest(self) -> str:
        """The day of its latest dated folder."""
        return max((effective for _, effective in self.policy.layers), default="")


@dataclass(frozen=True, slots=True)
class Source:
    """Which layer said something, from when on, and where."""

    layer: str
    effective: str
    place: Place


def source_of(held: Sourced | Named) -> Source:
    """Return the source of a value or of a block's first definition."""
    return Source(held.layer, effective_from(held.place), held.place)


def source_of_key(block: Named, *keys: str) -> Source:
    """Return the source of the first of these keys that a block has, else that of the block."""
    return next((source_of(block.keys[key]) for key in keys if key in block.keys), source_of(block))


class Voice:
    """Says facts of two sides; `a` is what is compared with, `b` what is told."""

    def __init__(self, a: Side, b: Side) -> None:
        self.a, self.b = a, b
        #: One market, and the second date is the later one: then things become, begin and end.
        self._in_time = a.market == b.market and a.on is not None and b.on is not None and a.on < b.on

    def within(self, side: Side) -> str:
        """Name a side as the beginning of a sentence does: ``in fog-harbor``."""
        if self.a.market == self.b.market:
            return f"on {side.on}" if side.on else f"in {side.market} with every dated folder"
        return f"in {side.market}" + (f" on {side.on}" if side.on else "")

    def differs(self, subject: str, a: str, b: str, a_from: Source, b_from: Source, verb: str = "is") -> str:
        """Say one thing that both sides have, differently."""
        if self._in_time and verb == "is" and self._begins(b_from):
            return (
                f"{_first(subject)} becomes {b} from {b_from.effective} on, by {layer_text(b_from.layer)}; before that it is {a}, "
                f"from {_layer(a_from)}."
            )
        here = f"{_first(self.within(self.b))}, {subject} {verb} {b}, from {_layer(b_from)}"
        return f"{here}; {self.within(self.a)} it {verb} {a}, from {_layer(a_from)}."

    def only(self, side: Side, said: str, source: Source | None = None) -> str:
        """Say one thing that only one side has."""
        said = said.removesuffix(".")
        if self._in_time and side is self.b and source is not None and self._begins(source):
            return f"New from {source.effective} on, by {layer_text(source.layer)}: {said}."
        origin = f", by {_layer(source)}" if source else ""
        if self._in_time and side is self.a:
            return f"No longer on {self.b.on}{origin}: {said}."
        return f"Only {self.within(side)}{origin}: {said}."

    def _begins(self, source: Source) -> bool:
        return self.a.on is not None and source.effective > self.a.on.isoformat()


def _layer(source: Source) -> str:
    # The day of its folder, which may be to come: whether it has come is not known here.
    return layer_text(source.layer) + (f" of {source.effective}" if source.effective else "")


def _first(text: str) -> str:
    return text[:1].upper() + text[1:]
