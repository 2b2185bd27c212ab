"""What the survey asks about: a number just beyond each end of its usual range is asked about, one just within is not.

Source of the ranges: engineering judgement of what houses have; nothing published holds them all. The numbers below are neighbours of
an end on either side of it, a few percent off, and what a crew would write. None: the record holds nothing there.
"""

from datetime import date

import pytest

from airwarrant.desks.usual import in_units, unranged, usual_ranges
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from jobs import POLICIES

#: reading or number, in its own unit: asked about below, let pass low, let pass high, asked about above
NUMBERS: list[tuple[str, float | None, float, float, float | None]] = [
    ("airflow", 380, 420, 2100, 2300),
    ("altitude", None, 0, 7200, 7800),
    ("ambient_co", None, 0, 8.6, 9.4),
    ("area", 19, 21, 860, 940),
    ("attic_path", None, 0, 38, 42),
    ("attic_path_width", 11.5, 12.5, 35, 37),
    ("attic_temp", 19, 21, 150, 170),
    ("bends", None, 0, 4, 5),
    ("box_opening", 77, 83, 1150, 1250),
    ("branch_drop", 0.019, 0.021, 0.38, 0.42),
    ("capacity", 16000, 18000, 60000, 64000),
    ("ceiling_height", 6.7, 7.3, 11.5, 12.5),
    ("charge", 2.9, 3.1, 19, 21),
    ("coil_drop", 0.048, 0.052, 0.38, 0.42),
    ("collar_drop", None, 0, 0.14, 0.16),
    ("crawl_height", 11.5, 12.5, 58, 62),
    ("diameter", 3.8, 4.2, 23, 25),
    ("door_pressure", -3.1, -2.9, 24, 26),
    ("door_width", 23, 25, 35, 37),
    ("draft", -10.4, -9.6, 0.96, 1.04),
    ("drop", None, 0, 0.19, 0.21),
    ("duct_outside", 9.6, 10.4, 380, 420),
    ("duct_surface_temp", 38, 42, 77, 83),
    ("electric_rate", 0.058, 0.062, 0.58, 0.62),
    ("external_static", 0.29, 0.31, 1.06, 1.14),
    ("filter_depth", 0.48, 0.52, 4.8, 5.2),
    ("filter_drop", 0.019, 0.021, 0.34, 0.36),
    ("filter_rating", 3, 4, 13, 14),
    ("flame_distance", None, 0, 58, 62),
    ("floor_area", 580, 620, 3400, 3600),
    ("flow", 19, 21, 340, 360),
    ("flue_co", None, 0, 190, 210),
    ("from_unit", None, 0, 58, 62),
    ("gas_rate", 0.48, 0.52, 3.8, 4.2),
    ("glass_area", None, 0, 140, 160),
    ("grille_area", 140, 160, 2400, 2600),
    ("grille_flow", 290, 310, 2100, 2300),
    ("grille_temp", 62, 68, 86, 94),
    ("grille_wet_bulb", 50, 54, 69, 75),
    ("gross", 140, 160, 1400, 1600),
    ("hatch_length", 19, 21, 58, 62),
    ("hatch_width", 13, 15, 35, 37),
    ("heat_index", 58, 62, 120, 130),
    ("heat_input", 29000, 31000, 135000, 145000),
    ("heat_min_flow", 290, 310, 1700, 1900),
    ("heat_output", 14000, 16000, 115000, 125000),
    ("heating_flow", 290, 310, 2100, 2300),
    ("heating_load", 7700, 8300, 115000, 125000),
    ("house_area", 580, 620, 5800, 6200),
    ("house_pressure", -4.2, -3.8, 3.8, 4.2),
    ("indoor_dew_point", 34, 36, 62, 68),
    ("input", 4800, 5200, 190000, 210000),
    ("inside_area", 38, 42, 580, 620),
    ("insulation", None, 0, 7.7, 8.3),
    ("largest", 190, 210, 1900, 2100),
    ("latent_load", None, 0, 19000, 21000),
    ("leak_25", None, 0, 190, 210),
    ("leak_flow", None, 0, 290, 310),
    ("leakage_25", 9.6, 10.4, 480, 520),
    ("leakage_outside_25", None, 0, 380, 420),
    ("leakage_pressure", 14, 16, 25, 27),
    ("leakage_return_25", 4.8, 5.2, 290, 310),
    ("leakage_supply_25", 4.8, 5.2, 290, 310),
    ("length", 0.96, 1.04, 58, 62),
    ("load", 290, 310, 14000, 16000),
    ("load_share", 0.96, 1.04, 43, 47),
    ("made", 1984, 1986, 2025, 2027),
    ("make_up", None, 0, 960, 1040),
    ("make_up_area", None, 0, 960, 1040),
    ("maker_max_per_ton", 380, 420, 480, 520),
    ("maker_min_per_ton", 240, 260, 380, 420),
    ("maker_return_area", 96, 104, 960, 1040),
    ("new_duct_share", None, 0, 96, None),
    ("offset", -6.2, -5.8, 11.5, 12.5),
    ("opening_area", None, 0, 190, 210),
    ("outdoor_dew_point", None, 0, 77, 83),
    ("outdoor_humidity", 4.8, 5.2, 96, None),
    ("outdoor_temp", None, 0, 115, 125),
    ("paint_cut_area", None, 0, 19, 21),
    ("people", None, 0, 4, 5),
    ("plenum_drop", None, 0, 0.19, 0.21),
    ("power", 140, 160, 1060, 1140),
    ("register_flow", 290, 310, 2100, 2300),
    ("registers", None, 0, 4, 5),
    ("return_area", 58, 62, 380, 420),
    ("return_duct_area", 19, 21, 480, 520),
    ("return_duct_drop", 0.0096, 0.0104, 0.34, 0.36),
    ("return_duct_r", None, 0, 7.7, 8.3),
    ("return_flow", 19, 21, 340, 360),
    ("return_leak", None, 0, 380, 420),
    ("return_leg", 0.0096, 0.0104, 0.34, 0.36),
    ("return_opening", 77, 83, 380, 420),
    ("return_static", -0.62, -0.58, -0.052, -0.048),
    ("rise_high", 43, 47, 82, 88),
    ("rise_low", 14, 16, 43, 47),
    ("roof_height", 6.7, 7.3, 29, 31),
    ("seer", 7, 8, 24, 25),
    ("sensible_load", 7700, 8300, 58000, 62000),
    ("severity", None, 1, 5, None),
    ("source_share", None, 0, 96, None),
    ("space_dew_point", 9.6, 10.4, 77, 83),
    ("spill", None, 0, 58, 62),
    ("spill_cold", None, 0, 290, 310),
    ("static_max", 0.48, 0.52, 0.96, 1.04),
    ("storey", None, 0, 3, 4),
    ("storeys", None, 1, 3, 4),
    ("straight", None, 0, 58, 62),
    ("strip_heat", None, 0, 19, 21),
    ("supply_area", 58, 62, 380, 420),
    ("supply_duct_area", 48, 52, 860, 940),
    ("supply_duct_r", None, 0, 7.7, 8.3),
    ("supply_leak", None, 0, 380, 420),
    ("supply_leg", 0.0096, 0.0104, 0.34, 0.36),
    ("supply_opening", 77, 83, 380, 420),
    ("supply_static", 0.048, 0.052, 0.58, 0.62),
    ("supply_temp", 43, 47, 69, 75),
    ("support_gap", 0.96, 1.04, 7.7, 8.3),
    ("systems", None, 1, 2, 3),
    ("target", 19, 21, 380, 420),
    ("temperature_rise", 19, 21, 72, 78),
    ("tons", 1.4, 1.6, 4.8, 5.2),
    ("transfer_area", None, 0, 140, 160),
    ("undercut", None, 0, 1.9, 2.1),
    ("unit_temp", 62, 68, 96, 104),
    ("wall_area", None, 0, 580, 620),
    ("wind", None, 0, 24, 26),
    ("year_built", 1899, 1901, 2025, 2027),
]


@pytest.fixture(scope="module")
def policy() -> Policy:
    return compose(POLICIES, "clay-hollow", {"survey": date(2026, 7, 1)})


def test_a_number_just_beyond_its_usual_range_is_asked_about_and_one_just_within_is_not(policy: Policy) -> None:
    ranges = usual_ranges(policy)
    every = [field for kind in KINDS.values() for field in kind.fields.values()]
    fields = {field.name: field for field in reversed(every) if field.form in ("reading", "number")}
    wrong = []
    for name, below, least, most, above in NUMBERS:
        if name not in ranges:
            wrong.append(f"{name} has no usual range")
            continue
        low, high = in_units(ranges[name], fields[name], "ip")
        wrong += [f"{name} {value:g} is asked about" for value in (least, most) if not low <= value <= high]
        wrong += [
            f"{name} {value:g} is let pass" for value in (below, above) if value is not None and low <= value <= high
        ]
    assert not wrong


def test_every_number_that_a_record_may_hold_is_spoken_of(policy: Policy) -> None:
    assert {name for name, *_ in NUMBERS} == set(usual_ranges(policy))
    assert not set(unranged(policy)) & {name for name, *_ in NUMBERS}


@pytest.mark.parametrize(("name", "below", "least", "most", "above"), NUMBERS, ids=[row[0] for row in NUMBERS])
def test_the_neighbours_of_an_end_are_close_to_each_other(
    name: str, below: float | None, least: float, most: float, above: float | None
) -> None:
    """So that an end that is moved by a tenth is on the other side of one of them."""
    assert least <= most, name
    for out, inside in ((below, least), (above, most)):
        if out is not None:
            assert abs(out - inside) <= max(1.0, 0.15 * abs(inside)), name
