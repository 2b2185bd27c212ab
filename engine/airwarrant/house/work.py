"""What is asked of the house's air network: lines of work as it sees them."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Work:
    """A line as the predictor sees it: what it changes, where, its size (in the unit of the policy's table), and the gross area of
    the filter grille that it brings [in2].
    """

    change: str
    place: str
    size: float | None = None
    grille: float | None = None
