"""The answer of a check: one word, with everything that went into it."""

from collections.abc import Collection
from typing import Any, NamedTuple

from airwarrant.policy.access import Read, names_of
from airwarrant.rules.numbers import Number
from airwarrant.units import number


class Verdict(NamedTuple):
    """What a check said of one subject at one time.

    `considered` holds every limit that was there to choose from, `limit` the one that governed; `missing` names what was
    absent; `values` the policy values read, with the part of each, as often as they were asked for.
    """

    check: str
    subject: str
    time: str
    word: str
    reading: Number | None
    limit: Number | None
    considered: tuple[Number, ...]
    band: float
    margin: float | None
    probability: float | None
    missing: tuple[str, ...]
    values: tuple[Read, ...]

    @property
    def reads(self) -> tuple[str, ...]:
        """Names of the policy values read."""
        return names_of(self.values)

    @property
    def id(self) -> str:
        return f"{self.check}@{self.subject}/{self.time}"

    def rests_on(self, readings: Collection[tuple[str, str]]) -> bool:
        """Whether the verdict was made with any of these readings, by (key, field)."""
        numbers = (self.reading, *self.considered)
        return any(number_ is not None and number_.rests_on(readings) for number_ in numbers)

    def as_json(self) -> dict[str, Any]:
        """Return the verdict for the result file."""
        out: dict[str, Any] = {
            "id": self.id,
            "check": self.check,
            "subject": self.subject,
            "time": self.time,
            "word": self.word,
        }
        if self.reading is not None:
            out["reading"] = self.reading.as_json()
        if self.limit is not None and self.reading is not None:
            unit = self.reading.unit
            out["limit"] = self.limit.as_json()
            if len(self.considered) > 1:
                out["considered"] = [c.as_json() for c in self.considered]
            out["band"] = number(self.band, unit)
            out["margin"] = number(self.margin or 0.0, unit)
            out["probability"] = round(self.probability or 0.0, 3)
        if self.missing:
            out["missing"] = list(self.missing)
        out["policy"] = list(self.reads)
        return out
