"""Edges of valid ranges, shared by the tests of warnings."""


def _fitting(kind: str, keys: dict[str, object]) -> dict[str, object]:
    return {"fitting": kind, "radius_ratio": None, "angle_deg": None} | keys


#: (calculation, its key, value at the edge and still within, value just beyond, change of the ordinary call that makes the key decide).
EDGES: list[tuple[str, str, float, float, dict[str, object]]] = [
    ("air-state", "altitude_m", -1524, -1525, {}),
    ("air-state", "altitude_m", 11000, 11001, {}),
    ("air-state", "temp_c", -100, -100.1, {"altitude_ft": 0}),
    ("air-state", "temp_c", 100, 100.1, {"altitude_ft": 0}),
    ("sensible-heat", "altitude_m", -1524, -1525, {}),
    ("sensible-heat", "altitude_m", 11000, 11001, {}),
    ("temperature-rise", "altitude_m", -1524, -1525, {}),
    ("temperature-rise", "altitude_m", 11000, 11001, {}),
    ("velocity-pressure", "velocity_fpm", 20000, 20001, {}),
    ("velocity-pressure", "velocity_fpm", -20000, -20001, {}),
    ("duct-friction", "compression_pct", 30, 30.1, {}),
    ("duct-friction", "diameter_in", 6, 5.99, {"flow_cfm": 100}),
    ("duct-friction", "diameter_in", 16, 16.01, {"flow_cfm": 1000}),
    # Re = 4 rho Q / (pi D mu) = 4000 in 8 in. at 20.55 cfm.
    ("duct-friction", "flow_cfm", 20.6, 20.4, {}),
    # Relative roughness 0.003 ft / D = 0.05 at 0.06 ft = 0.72 in.
    ("duct-friction", "diameter_in", 0.721, 0.719, {"compression_pct": 0, "flow_cfm": 10}),
    ("duct-friction", "compression_pct", 14.9, 15, {"diameter_in": 12, "flow_cfm": 500}),
    ("duct-friction", "diameter_in", 11.99, 12, {"compression_pct": 15, "flow_cfm": 500}),
    ("duct-friction", "compression_pct", 15, 14.9, {"sag": 1.1}),
    ("duct-friction", "diameter_in", 10, 10.01, {"sag": 1.1, "compression_pct": 15}),
    ("duct-friction", "diameter_in", 6, 5.99, {"sag": 1.1, "compression_pct": 15, "flow_cfm": 100}),
    # 10 / 4.1755, the compression factor of 8 in. at 15 %.
    ("duct-friction", "sag", 2.394, 2.396, {"compression_pct": 15}),
    ("duct-size", "friction_inwc_per_100ft", 0.1, 1e-5, {"flow_cfm": 30}),
    ("duct-size", "compression_pct", 30, 30.1, {"material": "flex"}),
    ("equivalent-diameter", "height_in", 1.5, 1.49, {}),
    ("equivalent-diameter", "height_in", 96, 96.1, {}),
    ("equivalent-diameter", "height_in", 1.5, 1.49, {"shape": "oval"}),
    ("equivalent-diameter", "height_in", 96, 96.1, {"shape": "oval"}),
    ("flex-compression", "diameter_in", 6, 5.99, {}),
    ("flex-compression", "diameter_in", 16, 16.01, {"compression_pct": 4}),
    ("flex-compression", "compression_pct", 30, 30.1, {}),
    ("flex-compression", "compression_pct", 14.9, 15, {"diameter_in": 12}),
    ("fan-law", "new_flow_cfm", 700, 699, {}),
    ("fan-law", "new_flow_cfm", 2800, 2801, {}),
    # 0.7 of 1400 cfm x 0.5 in. w.c. x 0.117556 W: 117.56 W.
    ("fan-power", "power_w", 117.6, 117.5, {}),
    ("blower-point", "exponent", 1, 0.99, {}),
    ("blower-point", "exponent", 2, 2.01, {}),
    # The table ends at 0.9 in. w.c. and 1050 cfm: a system through that point, and one just beyond it.
    ("blower-point", "static_inwc", 0.8999, 0.91, {"at_cfm": 1050}),
    ("blower-point", "static_inwc", 0.301, 0.29, {"at_cfm": 1455}),
    ("grille-face", "free_ratio", 0.2, 0.199, {}),
    ("door-pressure", "discharge", 0.6, 0.599, {}),
    ("door-pressure", "discharge", 0.65, 0.651, {}),
    ("transfer-area", "limit_pa", 1, 0.99, {}),
    ("transfer-area", "limit_pa", 10, 10.1, {}),
    ("leakage-at-pressure", "exponent", 0.5, 0.49, {}),
    ("leakage-at-pressure", "exponent", 1, 1.01, {}),
    ("leakage-at-pressure", "pressure_pa", 1, 0.99, {}),
    ("leakage-at-pressure", "pressure_pa", 250, 250.1, {}),
    ("leakage-class", "pressure_inwc", 10, 10.01, {}),
    ("return-leak", "source_temp_f", 88, 87.9, {"unit_temp_f": 80}),
    ("return-leak", "source_temp_f", 68, 68.1, {"unit_temp_f": 76}),
    ("return-leak", "unit_temp_f", 78, 77.9, {}),
    ("return-leak", "unit_temp_f", 118, 118.1, {}),
    # 0.0333 cfm per Btu/h of 36,000 is 1198.8 cfm.
    ("distribution", "flow_cfm", 479.6, 479.4, {}),
    ("distribution", "flow_cfm", 1558.4, 1558.5, {}),
    ("distribution", "supply_leak_cfm", 600, 601, {}),
    ("distribution", "return_leak_cfm", 600, 601, {"zone_f": 80, "zone_w": 0.0071}),
    ("airflow-modifiers", "flow_fraction", 0.75, 0.749, {}),
    ("airflow-modifiers", "flow_fraction", 1.25, 1.251, {}),
    ("season-energy", "hours", 8784, 8785, {}),
    ("season-energy", "seer", 5, 4.99, {}),
    ("season-energy", "seer", 30, 30.1, {}),
    ("fitting-loss", "radius_ratio", 0.5, 0.49, _fitting("elbow-smooth", {})),
    ("fitting-loss", "radius_ratio", 2.5, 2.51, _fitting("elbow-smooth", {})),
    ("fitting-loss", "angle_deg", 20, 19.9, _fitting("elbow-smooth", {"radius_ratio": 1})),
    ("fitting-loss", "radius_ratio", 0.5, 0.49, _fitting("elbow-gored", {"pieces": 3})),
    ("fitting-loss", "radius_ratio", 2, 2.01, _fitting("elbow-gored", {"pieces": 3})),
    ("fitting-loss", "radius_ratio", 0.75, 0.74, _fitting("elbow-gored", {"pieces": 4})),
    ("fitting-loss", "radius_ratio", 0.75, 0.74, _fitting("elbow-gored", {"pieces": 5})),
    ("fitting-loss", "diameter_mm", 100, 99, _fitting("elbow-die-stamped", {})),
    ("fitting-loss", "diameter_mm", 250, 251, _fitting("elbow-die-stamped", {})),
    ("fitting-loss", "diameter_mm", 100, 99, _fitting("elbow-pleated", {})),
    ("fitting-loss", "diameter_mm", 350, 351, _fitting("elbow-pleated", {})),
    ("fitting-loss", "angle_deg", 20, 19.9, _fitting("elbow-mitred", {})),
    ("fitting-loss", "angle_deg", 90, 90.1, _fitting("elbow-mitred", {})),
    ("fitting-loss", "reynolds", 1e4, 9999, _fitting("elbow-mitred", {})),
    ("fitting-loss", "height_ratio", 0.25, 0.249, _fitting("elbow-mitred-rectangular", {})),
    ("fitting-loss", "height_ratio", 8, 8.01, _fitting("elbow-mitred-rectangular", {})),
    ("fitting-loss", "height_ratio", 0.25, 0.249, _fitting("elbow-two-plane", {"interaction": 1.5})),
    ("fitting-loss", "height_ratio", 4, 4.01, _fitting("elbow-two-plane", {})),
    ("fitting-loss", "interaction", 1, 0.99, _fitting("elbow-two-plane", {"height_ratio": 1})),
    ("fitting-loss", "interaction", 2, 2.01, _fitting("elbow-two-plane", {"height_ratio": 1})),
    ("fitting-loss", "radius_ratio", 0.5, 0.49, _fitting("elbow-at-blower", {})),
    ("fitting-loss", "radius_ratio", 2, 2.01, _fitting("elbow-at-blower", {"vanes": "long"})),
    ("fitting-loss", "straight_ratio", 5, 5.01, _fitting("elbow-at-blower", {"radius_ratio": 1})),
    ("fitting-loss", "radius_ratio", 1, 1.01, _fitting("entrance-rounded", {})),
    ("fitting-loss", "free_ratio", 0.2, 0.199, _fitting("grille", {})),
    ("fitting-loss", "free_ratio", 0.7, 0.701, _fitting("grille", {})),
]

#: (calculation, change of its ordinary call) that leaves a range; also of structures, which have no single key.
OUT_OF_RANGE: list[tuple[str, dict[str, object]]] = [
    (name, change | {key: beyond}) for name, key, _, beyond, change in EDGES
]
