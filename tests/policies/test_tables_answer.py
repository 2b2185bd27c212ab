"""What the shipped tables answer, on either side of each of their steps, and the doubt that a reading has by itself."""

from collections.abc import Mapping
from datetime import date

import pytest
import tomli_w

from airwarrant.job.lookup import reading, subjects
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.access import row_of
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy, Ref
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from jobs import POLICIES

Answers = list[tuple[float | str, float | None]]


@pytest.fixture(scope="module")
def policies() -> Mapping[str, Policy]:
    names = [path.stem for path in sorted((POLICIES / "markets").glob("*.toml"))]
    return {
        name: compose(POLICIES, name, dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1)))
        for name in names
    }


def _answers(policy: Policy, name: str, keys: Answers) -> Answers:
    table = policy.tables[name]
    found = [(key, row_of(table.rows, key, table.between, table.below_first, table.above_last)) for key, _ in keys]
    return [(key, row[0] if row else None) for key, row in found]


STEPS: list[tuple[str, str, Answers]] = [
    # Tables 150.0-B and 150.0-C of the Building Energy Efficiency Standards, California Energy Commission, 2019, as printed in the
    # Residential Compliance Manual. Half sizes take the next larger row: our reading.
    ("juniper-sill", "code_single_return", [(1.4, 16), (1.5, 16), (1.6, 18), (2, 18), (2.1, 20), (2.5, 20), (2.6, None)]),
    ("juniper-sill", "code_first_return", [
        (1.4, 12), (1.5, 12), (1.6, 14), (2, 14), (2.1, 14), (2.5, 14), (2.6, 16), (3, 16), (3.1, 16), (3.5, 16), (3.6, 18), (4, 18),
        (4.1, 20), (4.5, 20), (5, 20), (5.1, None),
    ]),
    ("juniper-sill", "code_second_return", [
        (1.4, 10), (1.5, 10), (1.6, 12), (2, 12), (2.1, 14), (2.5, 14), (2.6, 14), (3, 14), (3.1, 16), (3.5, 16), (3.6, 18), (4, 18),
        (4.1, 20), (4.5, 20), (5, 20), (5.1, None),
    ]),
    ("juniper-sill", "code_return_grille", [
        (1.4, 500), (1.5, 500), (1.6, 600), (2, 600), (2.1, 800), (2.5, 800), (2.6, 900), (3, 900), (3.1, 1000), (3.5, 1000),
        (3.6, 1200), (4, 1200), (4.1, 1500), (5, 1500), (5.1, None),
    ]),
    # Section 150.0(m)13, 2019, from one secondary text: 0.45 W/cfm for furnaces' air handlers, 0.58 for others.
    ("juniper-sill", "code_fan_power", [("gas", 0.45), ("oil", 0.45), ("electric", 0.58), ("heat-pump", 0.58), ("none", 0.58)]),
    # International Energy Conservation Code, R403.3.1 (2018 as 2015) and its 2021 edition as Washington prints it.
    ("larchmere-notch", "duct_insulation", [("attic", 8), ("roof", 8), ("crawl", 6), ("garage", 6), ("basement", None)]),
    ("juniper-sill", "duct_insulation", [("attic", 8), ("roof", 8), ("crawl", 8), ("garage", 8)]),
    ("clay-hollow", "duct_insulation", [("attic", 8), ("roof", 8), ("crawl", 6), ("garage", 6)]),
    # Depressurization limits of combustion zones, Building Performance Institute, as a published guide quotes them.
    ("clay-hollow", "draft_limit", [("water-heater", -2), ("with-furnace", -3), ("induced", -5), ("power-vent", -15), ("sealed", -25)]),
    # Transfer Grilles, Building America Solution Center: 3 Pa; Standard Work Specifications: 5 Pa. Florida Mechanical 601.4: 2.5 Pa.
    # In dry air, where a leak brings no water in, a demo region lets doors go to 15 Pa.
    ("mosswater-bend", "door_pressure_limit", [(0, 3), (60, 3), (148, 3), (151, 5), (400, 5)]),
    ("clay-hollow", "door_pressure_limit", [(0, 5), (60, 5), (151, 5)]),
    ("fog-harbor", "door_pressure_limit", [(0, 5), (60, 5), (151, 5)]),
    ("copper-basin", "door_pressure_limit", [(0, 15), (60, 15), (151, 15)]),
    ("quillback-cove", "door_pressure_limit", [(0, 2.5), (60, 2.5), (151, 2.5)]),
    # What follows is common practice of the trade.
    ("clay-hollow", "filter_drop_ceiling", [
        ("furnace-coil", 0.10), ("manufactured-home", 0.10), ("package-ground", 0.15), ("package-roof", 0.15), ("split-attic", 0.15),
        ("split-closet", 0.15),
    ]),
    ("clay-hollow", "return_diameter", [
        (1, 14), (1.45, 14), (1.55, 16), (1.95, 16), (2.05, 18), (2.5, 18), (2.95, 18), (3.05, 20), (3.95, 20), (4.05, 22), (4.95, 22),
        (5.05, None),
    ]),
    ("clay-hollow", "added_return_diameter", [
        (1, 14), (1.95, 14), (2.05, 16), (2.95, 16), (3.05, 18), (3.95, 18), (4.05, 20), (4.95, 20), (5.05, None),
    ]),
    ("clay-hollow", "return_grille_area", [
        (1, 300), (1.45, 300), (1.55, 400), (1.95, 400), (2.05, 500), (2.45, 500), (2.55, 600), (2.95, 600), (3.05, 700), (3.45, 700),
        (3.55, 800), (3.95, 800), (4.05, 1000), (4.95, 1000), (5.05, None),
    ]),
    ("clay-hollow", "hood_doubt", [("powered", 6), ("unpowered", 20)]),
    ("clay-hollow", "undercut_trimmed", [("yes", 1), ("no", None)]),
]  # fmt: skip


@pytest.mark.parametrize(("market", "name", "keys"), STEPS, ids=[f"{market} {name}" for market, name, _ in STEPS])
def test_a_table_answers_on_either_side_of_its_steps(
    policies: Mapping[str, Policy], market: str, name: str, keys: Answers
) -> None:
    assert _answers(policies[market], name, keys) == keys


@pytest.mark.parametrize(
    ("name", "unit", "least"), [("air_density_ratio", 1.0, 2000), ("air_density_share", 100.0, 1000)]
)
def test_air_thins_with_altitude_as_the_standard_atmosphere_says(
    policies: Mapping[str, Policy], name: str, unit: float, least: int
) -> None:
    # Pressure ratio of the U.S. Standard Atmosphere, 1976: (1 - 6.8756e-6 ft)^5.2559, to a tenth of a percent; the row at or below.
    table = policies["clay-hollow"].tables[name]
    highest = int(float(table.rows[-1][0]))
    for thousands in range(least, highest + 1, 1000):
        ratio = (1 - 6.8756e-6 * thousands) ** 5.2559
        for feet in (thousands, thousands + 40, thousands + 960):
            row = row_of(table.rows, feet, table.between, table.below_first, table.above_last)
            if feet <= highest:
                assert row is not None
                assert row[0] / unit == pytest.approx(ratio, abs=6e-4), feet
    assert row_of(table.rows, 900, table.between, table.below_first, table.above_last) == (unit, 0)
    assert highest >= 10_000


#: A reading, its value, and how far it may be off by itself: of flows, watts and leakage a share of it.
DOUBTS: list[tuple[str, str, float, float]] = [
    ("house", "external_static", 0.60, 0.04), ("house", "return_static", -0.25, 0.03), ("house", "supply_static", 0.25, 0.03),
    ("house", "coil_drop", 0.20, 0.02), ("house", "branch_drop", 0.10, 0.02), ("house", "filter_drop", 0.10, 0.02),
    ("house", "return_duct_drop", 0.10, 0.02), ("house", "collar_drop", 0.10, 0.02), ("elbow", "return_leg", 0.10, 0.02),
    ("elbow", "supply_leg", 0.10, 0.02), ("house", "plenum_drop", 0.10, 0.02), ("plenum", "drop", 0.10, 0.02),
    ("house", "airflow", 1200, 120), ("house", "heating_flow", 1200, 120), ("house", "register_flow", 1000, 60),
    ("house", "grille_flow", 1000, 60), ("room", "flow", 100, 6), ("room", "return_flow", 100, 6),
    ("house", "leakage_25", 100, 8), ("house", "leakage_outside_25", 100, 8), ("house", "leakage_return_25", 100, 8),
    ("house", "leakage_supply_25", 100, 8), ("leak", "leak_25", 100, 8), ("leak", "leak_flow", 100, 30),
    ("house", "return_leak", 100, 30), ("house", "supply_leak", 100, 30),
    ("room", "door_pressure", 6, 1), ("zone", "draft", -4, 0.5), ("house", "house_pressure", 2, 0.75),
    ("house", "leakage_pressure", 25, 0.5),
    ("house", "attic_temp", 120, 1), ("house", "duct_surface_temp", 60, 2), ("house", "grille_temp", 78, 1),
    ("house", "grille_wet_bulb", 64, 1), ("house", "heat_index", 100, 3), ("house", "indoor_dew_point", 55, 2), ("room", "offset", 4, 1),
    ("house", "outdoor_dew_point", 60, 2), ("house", "outdoor_temp", 95, 1), ("house", "space_dew_point", 60, 2),
    ("house", "supply_temp", 58, 1), ("house", "temperature_rise", 50, 2), ("house", "unit_temp", 80, 1),
    ("house", "power", 500, 20), ("appliance", "spill", 30, 5), ("appliance", "spill_cold", 100, 5),
    ("house", "ambient_co", 5, 3), ("appliance", "flue_co", 80, 10), ("house", "outdoor_humidity", 50, 3), ("house", "wind", 10, 3),
    ("house", "grille_area", 500, 10),
]  # fmt: skip
ITEMS = {
    "room": {"use": "bedroom"}, "leak": {"side": "supply"}, "plenum": {"side": "supply"}, "elbow": {}, "zone": {},
    "appliance": {"zone": "zone-1"},
}  # fmt: skip


def test_a_reading_is_off_by_as_much_as_its_instrument_usually_is(policies: Mapping[str, Policy]) -> None:
    visit: dict[str, object] = {"kind": "test-in", "unit": "old", "date": date(2026, 7, 14)}
    of_items: dict[str, dict[str, object]] = {}
    for kind, name, value, _ in DOUBTS:
        if kind == "house":
            visit[name] = value
        else:
            of_items.setdefault(kind, {"id": f"{kind}-1"})[name] = value
    job = {
        "format": "airwarrant/job/1", "id": "doubts", "market": "clay-hollow", "units": "ip", "demo": True,
        "dates": {"survey": date(2026, 7, 14)}, "old": {"form": "split-attic", "tons": 3}, "new": {"form": "split-attic", "tons": 3},
        **{kind: [{"id": f"{kind}-1", **words}] for kind, words in ITEMS.items()},
        "visit": [{**visit, **{kind: [one] for kind, one in of_items.items()}}],
    }  # fmt: skip
    record = parse_job(tomli_w.dumps(job).encode(), "doubts.toml")
    kinds = subjects(record, jurisdiction_known=True)
    judge = Judge(Prepared(policies["clay-hollow"]), kinds, lambda key, name, time: reading(record, key, name, time))
    found = []
    for kind, name, value, _ in DOUBTS:
        number = judge.number(Ref("field", name), kinds[kind][0], "found")
        found.append((kind, name, value, round(number.plus_minus, 9) if number else None))
    assert found == DOUBTS


def test_every_reading_has_its_doubt_here(policies: Mapping[str, Policy]) -> None:
    tables = policies["clay-hollow"].tables
    known = {str(row[0]) for name, table in tables.items() if name.startswith("plus_minus_") for row in table.rows}
    assert known == {name for _, name, *_ in DOUBTS}
