"""What a calculation is: keys with units and bounds, a pure function in SI, source and valid range in its docstring."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from airwarrant.calculations.measures import MEASURES, Measure, System

#: What a number must be to mean anything; the valid range of a formula is another matter and only warns.
Bound = Literal["positive", "not-negative", "any"]
Form = Literal["number", "word", "structure"]
REQUIRED = None


class Impossible(Exception):
    """An input that cannot be; `key` is the key's id, `found` what is wrong, `allowed` what may stand there."""

    code = "impossible-input"

    def __init__(self, key: str, found: str, allowed: str = "") -> None:
        self.key, self.found, self.allowed = key, found, allowed
        super().__init__(f"{key}: {found}")


class Missing(Impossible):
    """A key that only some calls need, such as a fitting's angle, is not there."""

    code = "missing-key"


@dataclass(frozen=True, slots=True)
class Key:
    """A key of a calculation's inputs or outputs.

    Attributes
    ----------
    id : str
        Name of the function's parameter, without unit.
    stem : str
        Name before the suffix; empty where the suffix is the whole name (`cfm25`).
    measure : str
        One of `MEASURES`.
    bound : {"positive", "not-negative", "any"}
    default : float or str, optional
        In the trade's unit. None: the key is required, unless `optional`.
    optional : bool
        May be absent; the function's own default stands then.
    words : tuple of str
        Closed words of a word key.
    read, write : callable, optional
        For a structure: from what was given to SI, and back, in a system of units.
    """

    id: str
    stem: str
    measure: str = "number"
    form: Form = "number"
    bound: Bound = "any"
    default: float | str | None = REQUIRED
    optional: bool = False
    words: tuple[str, ...] = ()
    read: Callable[[Any, System], Any] | None = None
    write: Callable[[Any, System], Any] | None = None

    @property
    def scales(self) -> Measure:
        return MEASURES[self.measure]

    def name(self, system: System) -> str:
        """Return the key as it is written in a system of units."""
        return self._with(self.scales.of(system).suffix)

    def names(self) -> Mapping[str, Callable[[float], float]]:
        """Every name the key may be given by, each with its conversion to SI; the trade's reading wins where two are one."""
        return {self._with(scale.suffix): scale.to_si for scale in reversed(self.scales.all)}

    def _with(self, suffix: str) -> str:
        return "_".join(part for part in (self.stem, suffix) if part)


@dataclass(frozen=True, slots=True)
class Answer:
    """What a calculation's function gives: values in SI by output id, and a line for each valid range that was left."""

    values: Mapping[str, Any]
    warnings: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculation:
    """A named, pure function of `air/` with its keys.

    Attributes
    ----------
    function : callable
        Takes SI values by key id, gives an `Answer`, raises `Impossible`. Its docstring has equation, valid range, reference.
    source : str
        Where the formula comes from, in one line.
    adds_pct : float
        Uncertainty (coverage 2) the formula itself adds to its first output, percent: engineering judgement from the spread of
        published values, 0 for a definition or a law of mixing. Nothing decides by it.
    """

    name: str
    inputs: tuple[Key, ...]
    outputs: tuple[Key, ...]
    function: Callable[..., Answer]
    source: str
    adds_pct: float = 0.0

    @property
    def title(self) -> str:
        """First line of the docstring."""
        return (self.function.__doc__ or "").strip().split("\n")[0]


def positive(id: str, measure: str = "number", default: float | None = None, *, stem: str | None = None) -> Key:
    """Number above 0."""
    return Key(id, id if stem is None else stem, measure, bound="positive", default=default)


def not_negative(id: str, measure: str = "number", default: float | None = None, *, stem: str | None = None) -> Key:
    """Number of at least 0."""
    return Key(id, id if stem is None else stem, measure, bound="not-negative", default=default)


def number(id: str, measure: str = "number", default: float | None = None, *, stem: str | None = None) -> Key:
    """Any finite number; also every key of the outputs."""
    return Key(id, id if stem is None else stem, measure, default=default)


def word(id: str, *words: str, default: str | None = None) -> Key:
    """One of a closed list of words."""
    return Key(id, id, form="word", default=default, words=words)


def outside(value: float, low: float, high: float, text: str) -> tuple[str, ...]:
    """A warning if a value lies outside a formula's valid range; NaN cannot occur, inputs are finite."""
    slack = 1e-9 * max(abs(low), abs(high))
    return () if low - slack <= value <= high + slack else (text,)
