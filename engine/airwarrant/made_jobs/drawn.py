"""A house that was drawn: what is there, not what anybody reads of it. SI throughout."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.causes import Planted
from airwarrant.units import UNITS

CFM, INCHES, TON = UNITS["cfm"].factor, UNITS["in. w.c."].factor, UNITS["ton"].factor
INCH, FOOT = UNITS["in"].factor, UNITS["ft"].factor
IN2, FT2, BTUH = UNITS["in2"].factor, UNITS["ft2"].factor, UNITS["Btu/h"].factor
FAHRENHEIT = UNITS["F diff"].factor

RETURN, SUPPLY = "return", "supply"
OPEN_ROOMS = frozenset(("living", "kitchen", "dining", "hall", "bath"))


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of the path: ``drop = k q^exponent`` [Pa, m3/s]."""

    id: str
    k: float
    exponent: float


@dataclass(frozen=True, slots=True)
class Leak:
    """A leaky place: its flow at 25 Pa [m3/s], and `at_work`, by what its flow in use differs from the power law."""

    id: str
    side: str
    at: str
    space: str
    zone: str
    at_25: float
    at_work: float


@dataclass(frozen=True, slots=True)
class Door:
    """A door while shut: width, gap, cracks around it and a transfer path beside it [m, m2]."""

    width: float
    undercut: float
    cracks: float
    transfer: float

    @property
    def area(self) -> float:
        """Free area [m2]."""
        return self.width * self.undercut + self.cracks + self.transfer


@dataclass(frozen=True, slots=True)
class Room:
    """A room and its branch.

    Attributes
    ----------
    area, load : float
        [m2], [W].
    k : float
        Of the branch from the plenum to the room [Pa/(m3/s)^2].
    door : Door or None
        None where the room stands open.
    fault : str
        Cause that was planted on its branch or door; empty if none.
    condition : str
        Word of the record for its branch where that is the fault.
    offset : float
        How far the room stands above the thermostat [K].
    """

    key: str
    use: str
    area: float
    load: float
    k: float
    door: Door | None
    fault: str = ""
    condition: str = ""
    offset: float = 0.0


@dataclass(frozen=True, slots=True)
class Blower:
    """A blower: the maker's table in in. w.c. and cfm as the record has it, and by what factor the real one differs.

    `power` is the maker's [W], empty where the table has none; `efficiency` is air power over electric power.
    """

    setting: str
    kind: str
    table: tuple[tuple[float, int], ...]
    power: tuple[int, ...]
    apart: float
    efficiency: float


@dataclass(frozen=True, slots=True)
class ReturnDuct:
    """Diameter in inches as stocked, length in feet, quarter turns, material."""

    diameter: int
    length: int
    bends: int
    material: str
    compression: float
    crushed: float = 1.0


@dataclass(frozen=True, slots=True)
class Zone:
    """Where fuel burns, or the rooms where nothing does.

    Attributes
    ----------
    open_draft : bool
    vents : str
        Word of the record; empty where nothing vents.
    pull : float
        Pressure that fans and wind make there [Pa], 0 or below.
    make_up : float
        Free area to the rooms [m2].
    appliances : tuple of str
        ``water-heater``, ``furnace``, ``range``.
    """

    key: str
    open_draft: bool
    vents: str
    pull: float
    make_up: float
    appliances: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Furnace:
    """Heating section of the unit to come: output [W], and its nameplate's rise from and to [K]."""

    output: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Weather:
    """Air during the visit, in °F as the instruments have it."""

    outdoor: float
    attic: float
    crawl: float
    grille: float
    wet_bulb_under: float


@dataclass(frozen=True, slots=True)
class House:
    """One drawn house with its old unit, and the unit to come."""

    climate: str
    market: str
    form: str
    planted: Planted
    day: date
    tons: float
    floor_area: float
    altitude: float
    ceiling: float
    year_built: int
    return_space: str
    supply_space: str
    pieces: Mapping[str, tuple[Piece, ...]]
    leaks: tuple[Leak, ...]
    rooms: tuple[Room, ...]
    zone: Zone
    grille_area: float
    duct: ReturnDuct | None
    old: Blower
    new: tuple[Blower, ...]
    furnace: Furnace | None
    weather: Weather

    @property
    def nominal(self) -> float:
        """Nominal airflow [m3/s]."""
        return figures.number("blower/nominal") * self.tons * CFM
