"""One number of a record with all that is known of it."""

from collections.abc import Mapping
from typing import Literal, NamedTuple

from airwarrant.source.place import Place

State = Literal["measured", "table", "stated", "assumed"]
STATES: tuple[State, ...] = ("measured", "table", "stated", "assumed")


class Reading(NamedTuple):
    """A reading of a visit, or a plain number of the record (then its state is ``stated`` and its ± 0).

    Attributes
    ----------
    value : float
        In `unit`.
    unit : str
        The field's canonical unit; for a predicted value the same.
    state : str
        One of `STATES`, or ``predicted`` or ``doubtful`` for what the program works out.
    plus_minus : float or None
        What the record says, in `unit` (for a temperature: in F diff); None if it says nothing.
    path : str
        Dotted path in the record, such as ``visit[0].room[bed-2].flow``.
    place : Place or None
        Where the number stands.
    visit : int or None
        Position of the visit in the file, from 0.
    instrument : str
        Id of the instrument.
    conditions : Mapping
        ``filter``, ``doors`` and ``fan_setting`` it was taken at, as far as written: its own, else its visit's.
    by, time, photo : str
        Who read it, at what time of day, and the reference of a photograph; empty if not written.
    """

    value: float
    unit: str
    state: str
    plus_minus: float | None
    path: str
    place: Place | None
    visit: int | None
    instrument: str
    conditions: Mapping[str, str]
    by: str = ""
    time: str = ""
    photo: str = ""
