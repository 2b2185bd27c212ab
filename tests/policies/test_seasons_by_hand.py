"""Air around the ducts over the season of each market, and what is taken where the record is silent, by hand.

A space's air is the rooms' air, so much of the way to the outdoors, and so much warmer: a sum of two lines in °F. The seasons are the
demo markets' own; their hours are checked against degree days in `test_season_readings`.
"""

from datetime import date

import pytest

from airwarrant.assumed import assumptions_of
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.season import season_readings
from airwarrant.house.surroundings import Places, in_season, regain
from airwarrant.policy.compose import compose
from house.seasons import HOUSE, NEW, air, record, shown, without
from jobs import POLICIES

#: market: rooms and outdoors °F, water of both in pounds a pound
SEASONS = {
    "copper-basin": (78, 91, 0.0071, 0.0079),
    "mosswater-bend": (78, 83, 0.0104, 0.0160),
    "clay-hollow": (78, 80, 0.0095, 0.0125),
    "larchmere-notch": (78, 77, 0.0095, 0.0115),
    "fog-harbor": (76, 74, 0.0085, 0.0090),
}
#: space: of the way from the rooms to the outdoors, °F warmer, of what is lost there comes back
SPACES = {
    "attic": (1.0, 13, 0.10), "garage": (1.0, 7, 0.10), "crawl": (0.5, 0, 0.60), "basement": (0.25, 0, 0.50), "roof": (1.0, 0, 0.0),
    "closet": (0.0, 0, 1.0),
}  # fmt: skip


def _assumed(market: str) -> Assumptions:
    return assumptions_of(compose(POLICIES, market, {"survey": date(2026, 7, 14)}))


@pytest.fixture(scope="module", params=SEASONS)
def season(request: pytest.FixtureRequest) -> tuple[Assumptions, tuple[float, ...]]:
    return _assumed(request.param), SEASONS[request.param]


def test_air_of_every_space_over_the_season(season: tuple[Assumptions, tuple[float, ...]]) -> None:
    assumed, (rooms, outdoors, inside, outside) = season
    for space, (of_the_way, warmer, back) in SPACES.items():
        found = in_season(Places(space, space), assumed)
        fahrenheit = [
            kelvin * 1.8 - 459.67 for kelvin in (found.indoor, found.outdoor, found.supply_zone, found.return_zone)
        ]
        zone = rooms + of_the_way * (outdoors - rooms) + warmer
        assert fahrenheit == pytest.approx([rooms, outdoors, zone, zone]), space
        assert found.return_zone_humidity == pytest.approx(inside + of_the_way * (outside - inside)), space
        assert (found.indoor_humidity, found.outdoor_humidity) == pytest.approx((inside, outside))
        assert regain(space, assumed) == pytest.approx(back), space


def test_what_the_record_does_not_say_of_its_ducts_is_the_usual(season: tuple[Assumptions, tuple[float, ...]]) -> None:
    """27 and 7 % of 2,000 ft2 are 540 and 140 ft2 of duct, insulated to R-6, under ceilings of 8 ft."""
    assumed, _ = season
    ducts = {
        "supply_duct_area": 540,
        "return_duct_area": 140,
        "supply_duct_r": 6,
        "return_duct_r": 6,
        "ceiling_height": 8,
    }
    silent = season_readings(record(without(HOUSE, *ducts)), assumed, air(1200, 90, 60))
    written = season_readings(record(HOUSE | ducts), assumed, air(1200, 90, 60))
    for name in ("system_efficiency", "delivered_capacity", "season_energy"):
        assert shown(silent, name) == pytest.approx(shown(written, name), rel=1e-9), name


@pytest.mark.parametrize(("market", "share"), [
    ("copper-basin", 88), ("mosswater-bend", 72), ("clay-hollow", 75), ("larchmere-notch", 75), ("fog-harbor", 80),
])  # fmt: skip
def test_of_what_reaches_the_rooms_so_much_cools_and_the_rest_dries(market: str, share: float) -> None:
    # Ducts in the rooms that neither leak nor lose: all of the capacity arrives, and the coil's share of it cools.
    inside = {"return_path_space": "inside", "supply_duct_area": 0, "return_duct_area": 0}
    found = season_readings(record(HOUSE | inside, NEW), _assumed(market), air(1200))
    cooled = shown(found, "delivered_sensible") / shown(found, "delivered_capacity")
    assert 100 * cooled == pytest.approx(share)


@pytest.mark.parametrize(("market", "hours"), [
    # Degree days base 65 °F over the design day's: worked out in test_season_readings, to 10 h.
    ("copper-basin", 2190), ("mosswater-bend", 2260), ("clay-hollow", 1450), ("larchmere-notch", 650), ("fog-harbor", 390),
])  # fmt: skip
def test_a_season_without_losses_takes_what_the_label_says(market: str, hours: float) -> None:
    # 36,000 Btu/h for so many hours at SEER 20 is 1.8 kWh an hour; the middle of 70 and 100 % of them stands for the season. Ducts that
    # lose nothing leave the 2 % of cycling.
    inside = {"return_path_space": "inside", "supply_duct_area": 0, "return_duct_area": 0}
    found = season_readings(record(HOUSE | inside, NEW), _assumed(market), air(1200))
    kept = shown(found, "system_efficiency") / 100
    assert kept == pytest.approx(0.98, abs=0.003)
    for name, of_hours in (("season_energy_low", 0.70), ("season_energy", 0.85), ("season_energy_high", 1.0)):
        assert shown(found, name) == pytest.approx(1.8 * hours * of_hours / kept, rel=0.01), name
