"""Short ways to ask a calculation, for tests."""

from typing import Any

from airwarrant.calculations.measures import System
from airwarrant.calculations.registry import CALCULATIONS, calculate
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
    "duct-run": {
        "flow_cfm": 240,
        "diameter_in": 8,
        "material": "flex",
        "compression_pct": 4,
        "length_ft": 25,
        "bends": 1,
    },
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

#: A call beside the ordinary one for every form of a fitting and every kind of link.
SMALL_HOUSE: dict[str, object] = {
    "node": [{"id": "house", "pressure": 0.0}, {"id": "attic", "pressure": 0.0}],
    "link": [
        {"id": "grille", "from": "house", "to": "box", "k": 4.1e-8},
        {
            "id": "return", "from": "box", "to": "inlet",
            "material": "flex", "diameter_in": 16, "length_ft": 25, "compression_pct": 4, "coefficient": 0.5,
        },
        {"id": "leak", "from": "attic", "to": "inlet", "cfm25": 80},
        {"id": "coil", "from": "outlet", "to": "plenum", "k": 1.5e-7},
        {"id": "bed", "from": "plenum", "to": "bed", "material": "flex", "diameter_in": 10, "length_ft": 30},
        {"id": "hall", "from": "plenum", "to": "house", "material": "galvanized", "diameter_in": 12, "length_ft": 40},
        {"id": "door", "from": "bed", "to": "house", "free_area_in2": 100},
    ],
    "blower": {"from": "inlet", "to": "outlet", "table": [[0.2, 1300], [0.4, 1240], [0.6, 1130], [0.8, 980]]},
}  # fmt: skip
FITTINGS: dict[str, dict[str, object]] = {
    "elbow-smooth": {"radius_ratio": 1.5, "angle_deg": 45},
    "elbow-gored": {"radius_ratio": 1.0, "pieces": 3},
    "elbow-die-stamped": {"diameter_in": 8},
    "elbow-pleated": {"diameter_in": 12},
    "elbow-mitred": {"angle_deg": 60, "reynolds": 5e4},
    "elbow-mitred-rectangular": {"height_ratio": 2.0, "angle_deg": 45, "reynolds": 5e4},
    "elbow-two-plane": {"height_ratio": 3.0, "interaction": 1.3, "reynolds": 1e5},
    "elbow-at-blower": {"radius_ratio": 1.0, "straight_ratio": 1.0, "vanes": "long"},
    "expansion": {"area_ratio": 0.5},
    "expansion-gradual": {"area_ratio": 0.5, "angle_deg": 20},
    "contraction": {"area_ratio": 0.5},
    "contraction-gradual": {"area_ratio": 0.5, "angle_deg": 20},
    "entrance": {},
    "entrance-rounded": {"radius_ratio": 0.1},
    "exit": {},
    "grille": {"free_ratio": 0.5},
    "damper-butterfly": {"angle_deg": 30},
}

#: Every call of the three tables, by a name to show.
CALLS: dict[str, tuple[str, dict[str, object]]] = {
    **{name: (name, call) for name, call in ORDINARY.items()},
    **{
        f"fitting-loss {one}": ("fitting-loss", {"fitting": one, "velocity_fpm": 900, **keys})
        for one, keys in FITTINGS.items()
    },
    "network of every kind of link": ("network", SMALL_HOUSE),
    "duct-friction sagging": ("duct-friction", ORDINARY["duct-friction"] | {"compression_pct": 20, "sag": 1.5}),
    "balance with the pressure before the header": (
        "balance",
        ORDINARY["balance"] | {"available_pressure_inwc": 0.4},
    ),
    "distribution in heating": (
        "distribution",
        HOT_DRY | {"season": "heating", "outdoor_f": 40, "indoor_f": 70, "zone_f": 50},
    ),
}


def changed(name: str, change: dict[str, object]) -> dict[str, object]:
    """The ordinary call of a calculation with other values; None takes a key away, another unit of a key takes its place."""
    owner = {written: key.id for key in CALCULATIONS[name].inputs for written in key.names()}
    replaced = {owner[key] for key in change}
    kept = {key: raw for key, raw in ORDINARY[name].items() if owner[key] not in replaced}
    return kept | {key: raw for key, raw in change.items() if raw is not None}
