"""A plain house, its air and the shipped values of the season, for tests of what reaches the rooms and of seasons."""

import tomllib
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

import numpy as np
import tomli_w

from airwarrant.house.air_side import AirSide, Derived
from airwarrant.house.assumptions import Assumptions
from airwarrant.house.season import NEEDED
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.policy.steering import ASSUMED
from airwarrant.units import UNITS, convert

POLICIES = Path(__file__).resolve().parents[2] / "policies"
REGIONS = tuple(sorted(p.name for p in (POLICIES / "regions").iterdir()))
CFM, PA = UNITS["cfm"].factor, UNITS["in. w.c."].factor

# 36,000 Btu/h, 2,000 ft2 by 8 ft, ducts in the attic with what a season of published check cases has.
HOUSE = {
    "floor_area": 2000,
    "ceiling_height": 8,
    "altitude": 0,
    "return_path_space": "attic",
    "supply_duct_area": 432,
    "return_duct_area": 112,
    "supply_duct_r": 6,
    "return_duct_r": 6,
    "electric_rate": 0.2,
}
NEW = {"form": "split-attic", "fuel": "gas", "tons": 3, "capacity": 36000, "seer": 20, "valve": "txv"}


def assumed(region: str = "", **others: tuple[float, str]) -> Assumptions:
    """Shipped values of the trade, a region's over them, and a test's over both, given with their units."""
    files = [POLICIES / "trade/2026-01-01/season.toml"]
    files += [POLICIES / f"regions/{region}/2026-01-01/season.toml"] if region else []
    known: dict[str, tuple[float, str]] = {}
    for file in files:
        for name, block in tomllib.loads(file.read_text())["parameter"].items():
            if "value" in block:  # else a note that the value before holds here too
                known[name] = (float(block["value"]), block.get("unit") or known[name][1])
    known |= others
    assert all(name.startswith(ASSUMED) for name in known)
    for name, unit in NEEDED.items():
        convert(*known[name], unit)  # refuses another dimension
    return Assumptions({n: value * UNITS[u].factor + UNITS[u].offset for n, (value, u) in known.items()})


def data(
    house: Mapping[str, Any] = HOUSE,
    new: Mapping[str, Any] = NEW,
    readings: Mapping[str, Any] | None = None,
    **items: list[dict[str, Any]],
) -> dict[str, Any]:
    """A record of a house, its new unit, what was read on the old one, and other blocks, as plain data."""
    return {
        "format": "airwarrant/job/1",
        "id": "season",
        "market": "copper-basin",
        "units": "ip",
        "demo": True,
        "dates": {"survey": date(2026, 7, 14)},
        "house": dict(house),
        "old": {"form": "split-attic", "tons": 3},
        "new": dict(new),
        "visit": [{"kind": "test-in", "unit": "old", "date": date(2026, 7, 14), **(readings or {})}],
        **items,
    }


def record(*pieces: Mapping[str, Any], **others: Any) -> JobRecord:
    """The same as a record."""
    return parse_job(tomli_w.dumps(data(*pieces, **others)).encode(), "job.toml")


def without(block: Mapping[str, Any], *names: str) -> dict[str, Any]:
    """A block of the record without some keys."""
    return {k: v for k, v in block.items() if k not in names}


def air(flow: Any, supply_leak: Any = 0.0, return_leak: Any = 0.0, power: Any = None, static: float = 0.5) -> AirSide:
    """Air of a house from cfm, in. w.c. and W; numbers become sets of one."""
    q, s, r = (np.atleast_1d(np.asarray(x, float)) * CFM for x in np.broadcast_arrays(flow, supply_leak, return_leak))
    watts = None if power is None else np.broadcast_to(np.asarray(power, float), q.shape).copy()
    return AirSide(q, q - s, q - r, s, r, np.full(q.shape, static * PA), watts)


def shown(derived: Derived, field: str, at: int = 0) -> float:
    """A field of the house in the unit it is shown in."""
    values, unit = derived.values["house", field]
    return float((values[at] - UNITS[unit].offset) / UNITS[unit].factor)
