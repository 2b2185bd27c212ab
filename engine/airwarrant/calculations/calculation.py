"""What a calculation is: keys with units and bounds, a pure function in SI, source and valid range in its docstring."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Literal

from airwarrant.calculations.measures import MEASURES, Measure, Scale, System

#: What a number must be to mean anything; the valid range of a formula is another matter and only warns.
Bound = Literal["positive", "not-negative", "any"]
Form = Literal["number", "word", "structure"]
REQUIRED = None


@dataclass(frozen=True, slots=True)
class Line:
    """A line for the reader whose numbers stay SI until the units asked for are known.

    Attributes
    ----------
    text : str
        ``{0}`` stands for the first number with its unit, ``{0:n}`` for the number alone.
    numbers : tuple of (float, str)
        SI value and measure of each.
    """

    text: str
    numbers: tuple[tuple[float, str], ...] = ()

    def written(self, system: System) -> str:
        """Return the line in a system of units."""
        return self.text.format(*(_Number(MEASURES[measure].of(system), value) for value, measure in self.numbers))

    def about(self, what: str) -> "Line":
        """Return the line with what it speaks of before it."""
        return Line(f"{what.replace('{', '{{').replace('}', '}}')}: {self.text}", self.numbers)


@dataclass(frozen=True, slots=True)
class _Number:
    scale: Scale
    value: float

    def __format__(self, spec: str) -> str:
        number = self.scale.said(self.value)
        return number if spec == "n" or not self.scale.unit else f"{number} {self.scale.unit}"


class Impossible(Exception):
    """An input that cannot be; `key` is the key's id, `found` what is wrong, `allowed` what may stand there."""

    code = "impossible-input"

    def __init__(self, key: str, found: str | Line, allowed: str | Line = "") -> None:
        self.key, self.found, self.allowed = key, found, allowed
        super().__init__(f"{key}: {written(found, 'ip')}")


class Missing(Impossible):
    """A key that only some calls need, such as a fitting's angle, is not there."""

    code = "missing-key"


def written(text: str | Line, system: System) -> str:
    """Return a text as it is, a line in a system of units."""
    return text if isinstance(text, str) else text.written(system)


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
    """What a calculation's function gives.

    Attributes
    ----------
    values : mapping
        SI, by output id.
    warnings : tuple of Line
        One for each valid range that was left; any makes the answer not valid.
    cautions : tuple of Line
        What a reader must know although the answer stands within its range, such as a factor that is judgement.
    """

    values: Mapping[str, Any]
    warnings: tuple[Line, ...] = ()
    cautions: tuple[Line, ...] = ()


@dataclass(frozen=True, slots=True)
class Calculation:
    """A named, pure function of `air/` with its keys.

    Attributes
    ----------
    function : callable
        Takes SI values by key id, gives an `Answer`, raises `Impossible`. Its docstring has equation, valid range,
        reference.
    source : str
        Where the formula comes from, in one line.
    adds_pct : float
        Uncertainty (coverage 2) the formula itself adds to its first output, percent: engineering judgement from the
        spread of published values, 0 for a definition or a law of mixing. Nothing decides by it.
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


def outside(value: float, low: float, high: float, text: str, measure: str = "number") -> tuple[Line, ...]:
    """A line if a value lies outside a formula's valid range; NaN cannot occur, inputs are finite.

    `text` may name the ends: ``{0}`` is `low` and ``{1}`` is `high`, of `measure`.
    """
    within = low - 1e-9 * abs(low) <= value <= high + 1e-9 * abs(high)
    return () if within else (Line(text, ((low, measure), (high, measure))),)
