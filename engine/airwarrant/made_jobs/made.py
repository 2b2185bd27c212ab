"""One made job: a seed and a number in, a record and what was planted in it out."""

from collections.abc import Mapping
from dataclasses import dataclass, replace

from airwarrant.house.clean import area_of
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.made_jobs import figures
from airwarrant.made_jobs.air_path import air_of
from airwarrant.made_jobs.causes import Planted
from airwarrant.made_jobs.decisions import decisions
from airwarrant.made_jobs.draw import draw_house, duct_piece
from airwarrant.made_jobs.drawn import INCH, RETURN, House
from airwarrant.made_jobs.record import record_data
from airwarrant.made_jobs.stream import Stream
from airwarrant.made_jobs.toml_lines import toml_text
from airwarrant.made_jobs.visits import test_out_data, visits_of
from airwarrant.units import UNITS

_MARKET, _HOUSE, _CAUSES, _RECORD, _READINGS, _TEST_OUT, _DECISIONS = range(7)


@dataclass(frozen=True, slots=True)
class MadeJob:
    """A made job.

    Attributes
    ----------
    id : str
        ``made-<seed>-<k>``.
    market : str
    text : str
        The record as TOML.
    test_out : str
        The test-out file as TOML; empty where the job was not built.
    planted : Planted
    places : mapping of cause to place
        Key of the room where a cause of a room lies, else ``house``.
    """

    id: str
    market: str
    text: str
    test_out: str
    planted: Planted
    places: Mapping[str, str]

    @property
    def file(self) -> str:
        """Name of the record's file."""
        return f"job-{self.id}.toml"

    @property
    def test_out_file(self) -> str:
        """Name of the test-out's file."""
        return f"test-out-{self.id}.toml"

    def record(self) -> JobRecord:
        """The record, read from its text as any other."""
        return parse_job(self.text.encode(), self.file)


def made(seed: int, k: int, market: str = "", climates: Mapping[str, str] | None = None) -> MadeJob:
    """Make job `k` of a seed: the same for the same seed, number, markets and version of the figures.

    Parameters
    ----------
    seed, k : int
        The seed, at least 0, and the job's number, from 1; a job does not depend on how many others are made.
    market : str
        One of `climates`; empty for any of them.
    climates : mapping of market to climate, optional
        `airwarrant.made_jobs.markets.climates_of` of a policy folder; else those of the shipped policies.

    Raises
    ------
    KeyError
        If the market is not one of `climates`.
    """
    if climates is None:
        from airwarrant.made_jobs.markets import shipped_climates

        climates = shipped_climates()
    market = market or Stream(seed, k, _MARKET).one_of(sorted(climates))
    stream, chance = Stream(seed, k, _HOUSE), Stream(seed, k, _CAUSES)
    house = _believable(draw_house(stream, chance, climates[market], market))
    id = f"made-{seed}-{k}"
    data = record_data(Stream(seed, k, _RECORD), house, id, _note(house))
    data |= decisions(Stream(seed, k, _DECISIONS), house)
    data["visit"] = list(visits_of(Stream(seed, k, _READINGS), house))
    rooms = {room.fault: room.key for room in house.rooms if room.fault}
    places = {cause: rooms.get(cause, "house") for cause in house.planted.causes}
    test_out = toml_text(test_out_data(Stream(seed, k, _TEST_OUT), house, id)) if "test-out" in house.planted else ""
    return MadeJob(id, market, toml_text(data), test_out, house.planted, places)


def _note(house: House) -> str:
    planted = ", ".join(house.planted.causes) or ("nothing: healthy" if house.planted.healthy else "nothing")
    return f"Made, not surveyed. Planted: {planted}."


def _believable(house: House) -> House:
    """The house with a return duct in which the air is not faster than anybody would believe."""
    most = figures.number("return/velocity_most") * UNITS["fpm"].factor
    stock = [int(one) for one in figures.numbers("return/stock")]
    while house.duct is not None:
        air = air_of(house, house.old, doors=False)
        area = area_of(house.duct.diameter * INCH)
        if (air.flow - air.leak(RETURN, house)) / area <= most or house.duct.diameter == stock[-1]:
            break
        wider = replace(house.duct, diameter=stock[stock.index(house.duct.diameter) + 1])
        back = tuple(
            duct_piece(wider, house.nominal) if piece.id == "return-duct" else piece for piece in house.pieces[RETURN]
        )
        house = replace(house, duct=wider, pieces={**house.pieces, RETURN: back})
    return house
