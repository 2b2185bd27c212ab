"""What the air model reads of a record, kind by kind: the survey asks for it whatever the rules of a market read.

The test beside it watches the model at work and fails where it reads what is not written here.
"""

from collections.abc import Mapping
from types import MappingProxyType

#: Kind -> fields that `airwarrant.house` reads, besides the blower tables, the fan setting and the filter.
MODEL: Mapping[str, tuple[str, ...]] = MappingProxyType(
    {
        "house": (
            *("form", "old_form", "fuel", "table_includes", "blower_kind", "new_blower_kind", "valve"),
            *("return_path_space", "supply_path_space", "floor_area", "year_built", "altitude", "ceiling_height"),
            *("sensible_load", "supply_duct_area", "return_duct_area", "supply_duct_r", "return_duct_r"),
            *("electric_rate", "tons", "capacity", "seer", "heat_min_flow", "heat_output", "rise_low", "rise_high"),
            *("strip_heat", "return_static", "supply_static", "filter_drop", "return_duct_drop", "collar_drop"),
            *("plenum_drop", "branch_drop", "coil_drop", "airflow", "register_flow", "grille_flow", "power"),
            *("leakage_25", "leakage_return_25", "leakage_supply_25", "return_leak", "supply_leak"),
            *("house_pressure", "grille_wet_bulb", "grille_temp", "unit_temp", "supply_temp", "attic_temp"),
            *("outdoor_temp", "temperature_rise"),
        ),
        "elbow": (
            "style",
            "return_area",
            "supply_area",
            "return_opening",
            "supply_opening",
            "return_leg",
            "supply_leg",
        ),
        "plenum": ("side", "drop"),
        "platform": ("zone",),
        "grille": ("gross",),
        "return": ("diameter", "length", "bends", "material"),
        "route": ("lands", "length", "diameter"),
        "leak": ("side", "at", "space", "zone", "leak_25"),
        "run": ("damper", "room"),
        "room": (
            *("use", "target", "load", "area", "wall_area", "glass_area", "glass_faces", "ceiling_below", "people"),
            *("door_width", "undercut", "flow", "door_pressure", "offset"),
        ),
        "zone": ("draft",),
    }
)
