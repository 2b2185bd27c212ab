"""What the air model takes from policy: its assumptions by name, and the plus or minus of readings that state none."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from airwarrant.job.readings import Reading
from airwarrant.units import UNITS, to_si


@dataclass(frozen=True, slots=True)
class Assumptions:
    """Policy values that the air model reads, in SI.

    Attributes
    ----------
    values : mapping of str to float
        Parameters by name; a share is 0..1.
    plus_minus : mapping of str to (float, bool)
        By reading: what policy gives as its ± (coverage 2), and whether that is a share of the reading instead of SI.
    """

    values: Mapping[str, float]
    plus_minus: Mapping[str, tuple[float, bool]] = field(default_factory=lambda: MappingProxyType({}))

    def __getitem__(self, name: str) -> float:
        return self.values[name]

    def doubt(self, reading: Reading, name: str) -> float:
        """± (coverage 2) of a reading, SI: its own, else what policy gives a reading of that name."""
        factor = UNITS[reading.unit].factor
        if reading.plus_minus is not None:
            return reading.plus_minus * factor
        width, is_share = self.plus_minus.get(name, (0.0, False))
        return abs(reading.value) * factor * width if is_share else width


def si(reading: Reading) -> float:
    """Value of a reading in SI."""
    return to_si(reading.value, reading.unit)
