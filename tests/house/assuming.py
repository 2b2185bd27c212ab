"""The shipped values of room loads and temperatures, read straight from their files."""

import tomllib
from pathlib import Path

from airwarrant.house import room_comfort, room_targets
from airwarrant.house.assumptions import Assumptions
from airwarrant.units import UNITS, same_dimension

POLICIES = Path(__file__).resolve().parents[2] / "policies"
NEEDED = {**room_targets.NEEDED, **room_comfort.NEEDED}


def assumed(region: str = "", **others: tuple[float, str]) -> Assumptions:
    """Shipped values of the trade, of a region over them, and of a test over both, given with their units."""
    files = [POLICIES / "trade/2026-01-01/loads.toml"]
    if region:
        files.append(POLICIES / f"regions/{region}/2026-01-01/climate.toml")
    known: dict[str, tuple[float, str]] = {}
    for file in files:
        for name, block in tomllib.loads(file.read_text())["parameter"].items():
            if "value" in block:  # else a note that the value before holds here too
                known[name] = (float(block["value"]), block.get("unit") or known[name][1])
    known.update(others)
    for name, unit in NEEDED.items():
        assert same_dimension(known[name][1], unit), name
    return Assumptions({n: value * UNITS[u].factor + UNITS[u].offset for n, (value, u) in known.items()})
