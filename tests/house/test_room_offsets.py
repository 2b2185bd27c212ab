"""How far a room stands above the thermostat after its airflow changed: directions, bounds, energy."""

from datetime import date
from typing import Any

import numpy as np
import pytest
import tomli_w
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from airwarrant.air.room_temperature import load_behind, room_offset
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.room_comfort import NEEDED, RoomHeat, offset_after, room_heat
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from house.assuming import assumed
from job.whole_record import as_json, in_si

CFM = 0.3048**3 / 60
BTUH = 1055.05585262 / 3600
F = 5 / 9
few = settings(max_examples=80, deadline=None)

FLOW = st.floats(0.005, 0.3)
ROOMS = st.builds(
    RoomHeat,
    offset=st.floats(0.0, 8.0),
    carried=st.none(),
    flow=FLOW,
    below=st.tuples(st.floats(5.0, 8.0), st.floats(8.0, 14.0)),
    exchange=st.tuples(st.floats(5.0, 20.0), st.floats(20.0, 120.0)),
    heat=st.floats(900.0, 1220.0),
    assumed=st.just(()),
)


def job(si: bool = False, visit: dict[str, Any] | None = None, **room: float) -> JobRecord:
    """Sea level, a house of 1 400 ft2, a room of 130 ft2 found 5 °F warm at 72 cfm, with air of 58 °F in a house of 76 °F."""
    read = {"grille_temp": 76.0, "supply_temp": 58.0} if visit is None else visit
    data = {
        "format": "airwarrant/job/1",
        "id": "offsets",
        "market": "copper-basin",
        "units": "ip",
        "demo": True,
        "dates": {"survey": date(2026, 7, 14)},
        "house": {"floor_area": 1400, "altitude": 0},
        "old": {"form": "package-roof"},
        "new": {"form": "package-roof", "tons": 3.5},
        "room": [{"id": "a", "area": 130, **room}, {"id": "b", "load": 6000}],
        "visit": [
            {
                "kind": "test-in",
                "unit": "old",
                "date": date(2026, 7, 14),
                **read,
                "room": [
                    {"id": "a", "flow": 72, **({} if "load" in room else {"offset": 5})},
                    {"id": "b", "flow": 200},
                ],
            }
        ],
    }
    if si:
        return parse_job(as_json(in_si(data)), "job.json")
    return parse_job(tomli_w.dumps(data).encode(), "job.toml")


def test_a_hot_room_by_hand() -> None:
    # 72 cfm at 18 °F below: the room's air takes 1.08 x 72 x (18 + 5) = 1,788 Btu/h; it trades 0.2 or 0.8 Btu/(h ft2 °F) of 130 ft2,
    # that is 26 or 104 Btu/(h °F): load at the thermostat 1,788 + 130 or 520. At 100 cfm: (load - 108 x 18) / (26 or 104 + 108).
    # The same with air that warms by 5 °F on its way: 13 °F below. Worked by hand in Btu/h and °F.
    room = room_heat(job(), "a", assumed())
    assert room is not None
    by_hand = [
        (1.08 * 72 * (below + 5) + trade * 5 - 1.08 * 100 * below) / (trade + 1.08 * 100)
        for below in (18, 13)
        for trade in (26, 104)
    ]
    low, high = offset_after(room, 100 * CFM)
    assert (float(low) / F, float(high) / F) == (pytest.approx(min(by_hand)), pytest.approx(max(by_hand)))


@few
@given(ROOMS)
def test_flow_unchanged_leaves_the_offset(room: RoomHeat) -> None:
    low, high = offset_after(room, room.flow)
    assert low == pytest.approx(room.offset, abs=1e-9)
    assert high == pytest.approx(room.offset, abs=1e-9)


@few
@given(ROOMS, FLOW, st.floats(1.0, 3.0))
def test_more_air_never_warms_a_room_that_is_cooled(room: RoomHeat, flow: float, more: float) -> None:
    before, after = offset_after(room, flow), offset_after(room, flow * more)
    assert after[0] <= before[0] + 1e-9
    assert after[1] <= before[1] + 1e-9


# Rooms are cold or warm as drawn, and this is of the warm ones.
@settings(few, suppress_health_check=[HealthCheck.filter_too_much])
@given(ROOMS, st.floats(1.0, 2.0), st.floats(1.0, 2.0))
def test_a_warm_room_gains_though_the_unit_carries_off_no_more_heat(room: RoomHeat, system: float, more: float) -> None:
    # The room's airflow grows at least as the system's does: the least it can bring is as much cold as before.
    assert room.offset is not None
    low, high = offset_after(room, room.flow * system * more, system_ratio=system)
    assume(float(low) >= 0.0)
    assert high <= room.offset + 1e-9


@few
@given(ROOMS, FLOW)
def test_a_room_is_never_colder_than_its_supply_air(room: RoomHeat, flow: float) -> None:
    # Its load at the thermostat is one of heat, so no airflow brings it down to the supply air.
    low, high = offset_after(room, flow)
    assert -room.below[1] <= low <= high


@few
@given(ROOMS, FLOW, FLOW)
def test_the_range_holds_every_point_of_its_span(room: RoomHeat, flow: float, seed: float) -> None:
    at = (seed - 0.005) / 0.295
    below = room.below[0] + at * (room.below[1] - room.below[0])
    assert room.offset is not None
    low, high = offset_after(room, flow)
    for share in (0.0, 0.3, 1.0):
        ua = room.exchange[0] + share * (room.exchange[1] - room.exchange[0])
        load = load_behind(room.offset, room.flow, ua, below, room.heat)
        assert low - 1e-9 <= room_offset(load, flow, ua, below, room.heat) <= high + 1e-9


@few
@given(st.floats(0.0, 3000.0), FLOW, st.floats(5.0, 120.0), st.floats(3.0, 14.0), st.floats(900.0, 1220.0))
def test_heat_in_is_heat_out(load: float, flow: float, ua: float, below: float, heat: float) -> None:
    # First law, steady: what comes in at the room's own temperature is what its air takes up.
    warm = room_offset(load, flow, ua, below, heat)
    assert load - ua * warm == pytest.approx(heat * flow * (warm + below), rel=1e-9, abs=1e-9)
    assert load_behind(warm, flow, ua, below, heat) == pytest.approx(load, rel=1e-9, abs=1e-9)


@few
@given(ROOMS, st.lists(st.tuples(FLOW, FLOW, st.floats(0.0, 8.0), st.floats(0.7, 1.5)), min_size=1, max_size=6))
def test_draws_as_arrays_are_draws_one_by_one(room: RoomHeat, draws: list[tuple[float, float, float, float]]) -> None:
    new, old, offset, system = (np.array(column) for column in zip(*draws, strict=True))
    low, high = offset_after(room, new, system_ratio=system, offset=offset, flow=old)
    assert low.shape == high.shape == (len(draws),)
    for i, (q1, q0, t0, ratio) in enumerate(draws):
        assert (low[i], high[i]) == offset_after(room, q1, system_ratio=ratio, offset=t0, flow=q0)


def test_without_an_offset_the_rooms_loads_tell_it() -> None:
    # 272 cfm for 8,000 Btu/h: a room of 2,000 needs 68 cfm to stand at the thermostat, whatever the range.
    room = room_heat(job(load=2000), "a", assumed())
    assert room is not None
    assert room.offset is None
    low, high = offset_after(room, 68 * CFM)
    assert (float(low), float(high)) == (pytest.approx(0.0, abs=1e-9), pytest.approx(0.0, abs=1e-9))
    assert offset_after(room, 60 * CFM)[0] > 0.0 > offset_after(room, 80 * CFM)[1]


def test_without_temperatures_the_policys_difference_stands_and_is_named() -> None:
    read, not_read = room_heat(job(), "a", assumed()), room_heat(job(visit={}), "a", assumed())
    assert read is not None
    assert not_read is not None
    assert set(not_read.assumed) - set(read.assumed) == {"load_supply_below"}
    # The shipped difference is 18 °F, as in the record.
    assert not_read.below == pytest.approx(read.below)


def test_what_is_not_known_or_makes_no_sense_gives_none() -> None:
    assert room_heat(job(), "b", assumed()) is None  # neither offset nor everyone's load
    warm_supply = job(visit={"grille_temp": 76.0, "supply_temp": 79.0})
    assert room_heat(warm_supply, "a", assumed()) is None


@pytest.mark.parametrize(("new", "ratio"), [(0.0, 1.0), (-0.1, 1.0), (0.05, 0.0)])
def test_no_air_is_refused(new: float, ratio: float) -> None:
    room = room_heat(job(), "a", assumed())
    assert room is not None
    with pytest.raises(ValueError, match="above 0"):
        offset_after(room, new, system_ratio=ratio)


def test_a_record_in_si_is_the_same_room() -> None:
    here, there = room_heat(job(), "a", assumed()), room_heat(job(si=True), "a", assumed())
    assert here is not None
    assert there is not None
    for one, other in zip(offset_after(here, 0.05), offset_after(there, 0.05), strict=True):
        assert one == pytest.approx(other, rel=1e-9)


def test_every_needed_value_is_read() -> None:
    values = assumed().values
    for name in NEEDED:
        without = Assumptions({k: v for k, v in values.items() if k != name})
        with pytest.raises(KeyError, match=name):
            room_heat(job(visit={}), "a", without)
