"""Short ways to ask a calculation, for tests."""

from typing import Any

from airwarrant.calculations.measures import System
from airwarrant.calculations.registry import calculate
from airwarrant.errors import CallError


def ask(name: str, system: System = "ip", **given: object) -> dict[str, Any]:
    """Outputs of a calculation."""
    return dict(calculate(name, given, system).outputs)


def valid(name: str, **given: object) -> bool:
    """Whether the answer stands within the valid range."""
    return calculate(name, given).valid


def faults(name: str, **given: object) -> list[tuple[str, str]]:
    """(code, field) of each fault the call is refused for."""
    try:
        calculate(name, given)
    except CallError as error:
        return [(fault.code, fault.field) for fault in error.faults]
    return []


HOT_DRY = {
    "season": "cooling",
    "capacity_btuh": 36000,
    "flow_cfm": 1200,
    "supply_leak_cfm": 120,
    "return_leak_cfm": 120,
    "supply_area_ft2": 432,
    "return_area_ft2": 112,
    "supply_r": 6,
    "return_r": 6,
    "indoor_f": 78,
    "indoor_w": 0.0071,
    "outdoor_f": 91,
    "outdoor_w": 0.0079,
    "zone_f": 104,
    "zone_w": 0.0079,
    "volume_ft3": 16000,
    "air_changes": 0.35,
    "regain_supply": 0.1,
    "regain_return": 0.1,
    "valve": "txv",
    "cycling": 0.05,
}
HUMID = HOT_DRY | {"indoor_w": 0.0104, "outdoor_f": 83, "outdoor_w": 0.016, "zone_f": 96, "zone_w": 0.016}

#: One ordinary call of every calculation, in the trade's units.
ORDINARY: dict[str, dict[str, object]] = {
    "air-state": {"altitude_ft": 5000},
    "velocity-pressure": {"velocity_fpm": 700},
    "sensible-heat": {"flow_cfm": 1200, "delta_f": 20, "altitude_ft": 1000},
    "temperature-rise": {"heat_btuh": 40000, "flow_cfm": 1000},
    "duct-friction": {"flow_cfm": 240, "diameter_in": 8, "material": "flex", "compression_pct": 4, "length_ft": 30},
    "duct-size": {"flow_cfm": 240, "friction_inwc_per_100ft": 0.1, "material": "galvanized"},
    "equivalent-diameter": {"shape": "rectangular", "width_in": 12, "height_in": 8},
    "flex-compression": {"diameter_in": 8, "compression_pct": 15},
    "fitting-loss": {"fitting": "elbow-smooth", "velocity_fpm": 900, "radius_ratio": 1.5, "angle_deg": 45},
    "fan-law": {"flow_cfm": 1400, "static_inwc": 0.5, "power_w": 630, "new_flow_cfm": 1200},
    "fan-power": {"flow_cfm": 1400, "power_w": 630, "static_inwc": 0.5},
    "blower-point": {"curve": "0.3:1455,0.5:1380,0.9:1050", "static_inwc": 0.82, "at_cfm": 1150},
    "grille-face": {"flow_cfm": 1200, "gross_in2": 600},
    "door-pressure": {"flow_cfm": 125, "free_area_in2": 16},
    "transfer-area": {"flow_cfm": 125, "limit_pa": 3, "door_width_in": 32, "undercut_in": 0.5},
    "leakage-at-pressure": {"cfm25": 120, "pressure_pa": 50},
    "leakage-class": {"class": 12, "pressure_inwc": 0.5},
    "return-leak": {"grille_temp_f": 78, "unit_temp_f": 82, "source_temp_f": 118, "flow_cfm": 1200},
    "distribution": HOT_DRY,
    "airflow-modifiers": {"flow_fraction": 0.8},
    "season-energy": {"capacity_btuh": 36000, "hours": 1000, "seer": 14},
    "balance": {
        "node_pressure_inwc": 0.25,
        "branch": [
            {"id": "den", "measured_cfm": 120, "design_cfm": 100},
            {"id": "hall", "measured_cfm": 60, "design_cfm": 80},
        ],
    },
    "network": {
        "node": [{"id": "house", "pressure": 0.0}],
        "link": [
            {"id": "return", "from": "house", "to": "inlet", "k": 2e-7},
            {"id": "supply", "from": "outlet", "to": "house", "k": 1.5e-7, "exponent": 2.0},
        ],
        "blower": {"from": "inlet", "to": "outlet", "table": [[0.3, 1240], [0.5, 1130], [0.7, 980]]},
    },
    "verdict": {"value": 2.0, "plus_minus": 1.0, "limit": 3.0, "must_be": "at-most"},
}
