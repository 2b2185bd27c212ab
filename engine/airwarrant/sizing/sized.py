"""What sizing a line came to."""

from dataclasses import dataclass
from math import sqrt
from typing import Any

from airwarrant.policy.model import Proof, Size
from airwarrant.rules.numbers import Number
from airwarrant.sizing.ask import Answered
from airwarrant.units import UNITS, fixed, number


@dataclass(frozen=True, slots=True)
class Proved:
    """A proof at the chosen size: `word` is ``pass``, ``fail``, ``unmeasured``, or empty where nothing is judged."""

    proof: Proof
    answered: Answered | None
    limit: Number | None
    word: str

    def as_json(self) -> dict[str, Any]:
        """Return the proof for the result file."""
        out: dict[str, Any] = {"title": self.proof.title, "word": self.word}
        if self.answered is not None:
            unit = self.proof.asked.unit
            out |= {"take": self.proof.asked.take, "value": number(self.answered.value, unit), "unit": unit}
            out["calculated"] = self.answered.as_json()
        if self.limit is not None:
            out |= {"must_be": self.proof.must_be, "limit": self.limit.as_json()}
        return out


@dataclass(frozen=True, slots=True)
class OneSize:
    """One size of a line.

    Attributes
    ----------
    size : Size
        What policy asked for.
    value : float or None
        In the unit of `size`; of `count` equal ones, that of each. None where it cannot be had.
    count : int
    said : Number or None
        What policy says.
    answered : Answered or None
        What the calculation says.
    governed : str
        What the value comes from: ``table`` or ``calculation``, ``proof`` where a failed proof moved it on, ``room`` where there
        is no room for more; empty without a value.
    proofs : tuple of Proved
    short : bool
        There is room for less than is needed.
    missing : tuple of str
        What was asked for and not there.
    """

    size: Size
    value: float | None
    count: int = 1
    said: Number | None = None
    answered: Answered | None = None
    governed: str = ""
    proofs: tuple[Proved, ...] = ()
    short: bool = False
    missing: tuple[str, ...] = ()

    @property
    def doubts(self) -> tuple[str, ...]:
        """Why the size is doubtful; empty if nothing says so."""
        runs = (self.answered, *(proved.answered for proved in self.proofs))
        outside = [warning for run in runs if run is not None and not run.done.valid for warning in run.done.warnings]
        short = ["there is room for less than is needed"] if self.short else []
        return tuple(dict.fromkeys([*short, *outside, *self.missing]))

    @property
    def text(self) -> str:
        """Number and unit of each; empty without a value."""
        if self.value is None:
            return ""
        text = fixed(self.value, self.size.unit)
        return f"{text.rstrip('0').rstrip('.') if '.' in text else text} {self.size.unit}"

    def as_json(self, text: str) -> dict[str, Any]:
        """Return the size for the result file; `text` is how it is said."""
        out: dict[str, Any] = {"title": self.size.title, "text": text, "count": self.count, "unit": self.size.unit}
        if self.value is not None:
            out["value"] = number(self.value, self.size.unit)
            out["governed"] = self.governed
        if self.said is not None:
            out["policy"] = self.said.as_json()
        if self.answered is not None:
            unit = self.answered.asked.unit
            out["calculated"] = self.answered.as_json()
            out["take"] = {
                "key": self.answered.asked.take,
                "value": number(self.answered.value, unit),
                "unit": unit,
            }
        out["proofs"] = [proved.as_json() for proved in self.proofs]
        out["doubtful"] = bool(self.doubts)
        out["doubts"] = list(self.doubts)
        return out


@dataclass(frozen=True, slots=True)
class Sized:
    """Every size of a line; `reads` names the policy values that were read."""

    sizes: tuple[OneSize, ...]
    reads: tuple[str, ...]

    @property
    def value(self) -> float | None:
        """The first size as one number, for the prediction: of several equal ducts the diameter of one of their whole area."""
        first = self.sizes[0]
        if first.value is None or first.count == 1:
            return first.value
        across = UNITS[first.size.unit].dimension == "length"
        return first.value * (sqrt(first.count) if across else first.count)

    @property
    def count(self) -> int:
        """How many of the first size."""
        return self.sizes[0].count
