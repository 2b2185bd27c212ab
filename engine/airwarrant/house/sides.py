"""One side of the unit as a row of drops from the rooms to the unit: measured ones by their ports, the rest by what the static leaves."""

from dataclasses import dataclass

import numpy as np

from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.inputs import Floats, Inputs, Sets
from airwarrant.house.pieces import Piece
from airwarrant.job.readings import Reading

#: No random error makes a drop less than this share of the side's static, or than half of the drop itself if that is less.
_LEAST_SHARE = 0.02


@dataclass(frozen=True, slots=True)
class Side:
    """The pieces of a side in order from the rooms to the unit.

    Attributes
    ----------
    name : {"return", "supply"}
    pieces : tuple of Piece
    static : Reading
        At the unit; its sign is not used.
    nominal : float
        Blower flow [m3/s] at which usual drops are compared.
    """

    name: str
    pieces: tuple[Piece, ...]
    static: Reading
    nominal: float

    @property
    def static_name(self) -> str:
        return f"house.{self.name}_static"

    def gather(self, inputs: Inputs, assumptions: Assumptions) -> None:
        """Tell what is uncertain: the port at the unit, one port a measured drop, the share of each drop nobody measured."""
        field = f"{self.name}_static"
        inputs.add(self.static_name, abs(si(self.static)), assumptions.doubt(self.static, field) / 2.0)
        for piece in self.pieces[:-1]:
            if piece.reading is not None:
                inputs.add(piece.name, 0.0, assumptions.doubt(piece.reading, piece.name.partition(".")[2]) / 2.0)
        for piece in self.pieces:
            if piece.reading is None:
                inputs.add(f"{self.name}.{piece.id}", 1.0, assumptions["predict_split_doubt"] / 2.0)

    def static_pa(self, sets: Sets) -> Floats:
        """Static pressure at the unit without its sign [Pa], (sets,)."""
        return sets.positive(self.static_name)

    def drops(self, sets: Sets, apart: float) -> tuple[list[Floats], tuple[str, ...]]:
        """Drop of every piece [Pa], (sets,) each; they add up to the static in every set. Also what had to give way.

        A drop is the difference of two ports, so that a port read high raises one drop and lowers the next.
        """
        static = self.static_pa(sets)
        nothing = np.zeros(sets.count)
        own = abs(si(self.static))
        errors = [
            sets[piece.name] if piece.reading is not None and piece is not self.pieces[-1] else nothing
            for piece in self.pieces
        ]
        errors[-1] = static - own
        known, unknown = {}, []
        for i, piece in enumerate(self.pieces):
            if piece.reading is None:
                unknown.append(i)
            else:
                before = errors[i - 1] if i else nothing
                known[i] = abs(si(piece.reading)) + errors[i] - before
        read = sum((known[i] for i in known), start=nothing)
        notes: tuple[str, ...] = ()
        left = static - read
        if unknown:
            if left[0] <= 0.0:
                notes = (f"the drops read on the {self.name} side add up to more than its static pressure",)
            left = _at_least(left, static)
            weights = {
                i: max(self.pieces[i].clean(self.nominal), 1e-3) * sets.positive(f"{self.name}.{self.pieces[i].id}")
                for i in unknown
            }
            whole = sum(weights.values(), start=nothing)
            known |= {i: left * weight / whole for i, weight in weights.items()}
        else:
            if abs(float(left[0])) > apart * sets.inputs.known[self.static_name].sd:
                notes = (f"the drops read on the {self.name} side do not add up to its static pressure",)
            known = {i: drop + left / len(known) for i, drop in known.items()}
        floored = [_at_least(known[i], static) for i in range(len(self.pieces))]
        together = sum(floored, start=nothing)
        return [drop * static / together for drop in floored], notes


def _at_least(drop: Floats, static: Floats) -> Floats:
    """A drop that stays above 0 in every set, and as it is at the point if it is above 0 there."""
    share = float(drop[0] / static[0])
    least = min(_LEAST_SHARE, max(0.5 * share, 1e-3)) if share > 0.0 else _LEAST_SHARE
    return np.asarray(np.maximum(drop, least * static))
