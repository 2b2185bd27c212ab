"""Every policy value that the air model reads, with a unit it must convert to: a policy without one cannot evaluate."""

from collections.abc import Mapping
from types import MappingProxyType

from airwarrant.house import heat, room_comfort, room_targets, season

PREDICTION: Mapping[str, str] = MappingProxyType(
    {
        "predict_elbow_narrow": "1",
        "predict_elbow_wide": "1",
        "predict_elbow_doubt": "%",
        "predict_elbow_opening": "%",
        "predict_plenum_keeps": "%",
        "predict_repair_keeps": "%",
        "predict_damper_keeps": "%",
        "predict_seal_keeps": "%",
        "predict_work_doubt": "%",
        "predict_duct_length": "ft",
        "predict_compression": "%",
        "predict_new_duct_doubt": "%",
        "predict_filter_grille_drop": "in. w.c.",
        "predict_filter_grille_load": "cfm/in2",
        "predict_filter_exponent": "1",
        "predict_new_table_doubt": "%",
        "predict_efficiency_doubt": "%",
        "predict_transfer_load": "cfm/in2",
        "predict_conflict": "1",
        "predict_conflict_chance": "%",
        "predict_place_beyond": "%",
        "predict_room_scaling": "%",
        "predict_new_return_share": "%",
        "predict_undercut_share": "%",
        "predict_undercut": "in",
        "predict_door_width": "in",
        "predict_discharge": "%",
        "predict_nominal_flow": "cfm/ton",
        "predict_usual_filter_grille": "in. w.c.",
        "predict_usual_return_duct": "in. w.c.",
        "predict_usual_platform": "in. w.c.",
        "predict_usual_elbow": "in. w.c.",
        "predict_usual_collar": "in. w.c.",
        "predict_usual_coil": "in. w.c.",
        "predict_usual_plenum": "in. w.c.",
        "predict_usual_branches": "in. w.c.",
        "predict_split_doubt": "%",
        "predict_table_doubt": "%",
        "predict_table_doubt_unknown": "%",
        "predict_leak_doubt": "%",
        "predict_unread_leak": "%",
        "predict_draws": "1",
        "predict_range": "%",
        "predict_gain_times": "1",
    }
)
NEEDED: Mapping[str, str] = MappingProxyType(
    {**PREDICTION, **season.NEEDED, **heat.NEEDED, **room_targets.NEEDED, **room_comfort.NEEDED}
)
