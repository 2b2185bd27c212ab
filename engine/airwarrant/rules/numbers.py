"""A number with its unit, ±, state and where it came from: what checks judge and traces show."""

from collections.abc import Collection, Iterator
from typing import Any, NamedTuple

from airwarrant.job.readings import Reading
from airwarrant.units import fixed, number

#: Worst first: a figure is as good as its worst part. ``record`` is a plain number, such as a size or a nameplate value.
STATES = ("doubtful", "assumed", "predicted", "stated", "table", "measured", "record", "policy")
_RANK = {state: rank for rank, state in enumerate(STATES)}


class Number(NamedTuple):
    """A value with what it was made from.

    `form` is ``reading``, ``figure``, ``parameter``, ``table``, ``quantity`` or ``limit``; `parts` are the numbers it was
    made from; `reading` the record's own where it is one; `row` the row of a table; `doubt_from` the policy value that gave the
    ± where the record gives none, or the word ``rule`` where a rule widened it.
    """

    form: str
    name: str
    value: float
    unit: str
    plus_minus: float = 0.0
    state: str = "policy"
    subject: str = ""
    step: str = ""
    parts: tuple["Number", ...] = ()
    reading: Reading | None = None
    row: int | None = None
    doubt_from: str = ""

    def rests_on(self, readings: Collection[tuple[str, str]]) -> bool:
        """Whether the number is, or was made from, any of these readings, by (key, field)."""
        return (self.subject, self.name) in readings or any(part.rests_on(readings) for part in self.parts)

    def leaves(self) -> Iterator["Number"]:
        """Every number that this one was made from, down to readings and policy values; itself where it was made from none."""
        if not self.parts:
            yield self
        for part in self.parts:
            yield from part.leaves()

    def as_json(self) -> dict[str, Any]:
        """Return the number for the result file, every figure at its unit's fixed decimals."""
        out: dict[str, Any] = {
            "form": self.form,
            "name": self.name,
            "value": number(self.value, self.unit),
            "unit": self.unit,
        }
        if self.form in ("reading", "figure"):
            out |= {"subject": self.subject, "state": self.state}
            if self.plus_minus:
                out["plus_minus"] = number(self.plus_minus, self.unit)
            if self.doubt_from:
                out["plus_minus_from"] = self.doubt_from
        if self.reading is not None and self.reading.path:
            out["path"] = self.reading.path
        if self.reading is not None and self.reading.instrument:
            out["instrument"] = self.reading.instrument
        if self.row is not None:
            out["row"] = self.row
        if self.step:
            out["step"] = self.step
        if self.parts:
            out["parts"] = [part.as_json() for part in self.parts]
        return out

    def text(self) -> str:
        return f"{fixed(self.value, self.unit)} {self.unit}"


def worst(parts: tuple[Number, ...]) -> str:
    """State of a figure: that of its worst part that is not policy."""
    return STATES[min([_RANK[part.state] for part in parts], default=_RANK["policy"])]
