"""Checks whose limit no number of a record reaches by itself: what they say of readings within, beyond and in doubt.

Return ducts: tables 150.0-B and 150.0-C of the Building Energy Efficiency Standards, California Energy Commission, 2019, as printed in
the Residential Compliance Manual. A cold duct sweats at the dew point of the air around it, by what a dew point is.
"""

from types import MappingProxyType

import pytest

from airwarrant.job.dictionary import KINDS
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from policies.one_of_each import MARKETS, House, policy_of

Numbers = dict[str, float]
#: market, check, words of the house, numbers, which of them may be off by how large a share, what the check says
SAID: list[tuple[str, str, Numbers, str, float, str]] = [
    # A single return at 2.5 tons is 20 in or more; sizes in between take the next row; past 2.5 tons a second return is asked for.
    ("juniper-sill", "code-single-return", {"house.tons": 2.5, "return.diameter": 20}, "", 0, "pass"),
    ("juniper-sill", "code-single-return", {"house.tons": 2.5, "return.diameter": 18}, "", 0, "fail"),
    ("juniper-sill", "code-single-return", {"house.tons": 2.0, "return.diameter": 18}, "", 0, "pass"),
    ("juniper-sill", "code-single-return", {"house.tons": 1.5, "return.diameter": 16}, "", 0, "pass"),
    ("juniper-sill", "code-single-return", {"house.tons": 3.0, "return.diameter": 22}, "", 0, "unmeasured"),
    # A size is read off a ruler: that it may be a little off makes nothing doubtful.
    ("juniper-sill", "code-single-return", {"house.tons": 2.0, "return.diameter": 18}, "return.diameter", 0.1, "pass"),
    ("juniper-sill", "code-first-return", {"house.tons": 3.0, "return.diameter": 16}, "", 0, "pass"),
    ("juniper-sill", "code-first-return", {"house.tons": 3.0, "return.diameter": 14}, "", 0, "fail"),
    ("juniper-sill", "code-second-return", {"house.tons": 3.0, "return.diameter": 14}, "", 0, "pass"),
    ("juniper-sill", "code-second-return", {"house.tons": 3.0, "return.diameter": 12}, "", 0, "fail"),
    # The duct is warmer than the dew point beside it, or it sweats; what may sweat counts as sweating.
    ("clay-hollow", "duct-surface", {"house.duct_surface_temp": 62, "house.space_dew_point": 58}, "", 0, "pass"),
    ("clay-hollow", "duct-surface", {"house.duct_surface_temp": 57, "house.space_dew_point": 58}, "", 0, "fail"),
    ("clay-hollow", "duct-surface", {"house.duct_surface_temp": 59, "house.space_dew_point": 58}, "house.duct_surface_temp", 0.1, "fail"),
    # A room that should have 100 cfm gets its air within the usual tolerance of balancing, a tenth.
    ("clay-hollow", "room-well-fed", {"room.flow": 96, "room.target": 100}, "", 0, "pass"),
    ("clay-hollow", "room-well-fed", {"room.flow": 83, "room.target": 100}, "", 0, "fail"),
    # 35 ppm is where people leave (from memory: the NIOSH limit for a working day); a meter that may be short of it counts as there.
    ("clay-hollow", "co-stop", {"house.ambient_co": 33}, "", 0, "pass"),
    ("clay-hollow", "co-stop", {"house.ambient_co": 33}, "house.ambient_co", 0.15, "fail"),
    # Renovation rule, 40 CFR 745.83 (from memory): up to 6 ft2 a room is minor; what may be more than that counts as more.
    ("clay-hollow", "lead-paint-area", {"house.paint_cut_area": 4}, "", 0, "pass"),
    ("clay-hollow", "lead-paint-area", {"house.paint_cut_area": 7}, "", 0, "fail"),
    ("clay-hollow", "lead-paint-area", {"house.paint_cut_area": 5}, "house.paint_cut_area", 0.3, "fail"),
    # Lead paint in housing ended with 1978 (16 CFR 1303), asbestos on ducts about 1980 (both from memory); a year that may be earlier is.
    ("clay-hollow", "before-lead", {"house.year_built": 1977}, "", 0, "fail"),
    ("clay-hollow", "before-lead", {"house.year_built": 1979}, "", 0, "pass"),
    ("clay-hollow", "before-lead", {"house.year_built": 1979}, "house.year_built", 0.001, "fail"),
    ("clay-hollow", "before-asbestos", {"house.year_built": 1979}, "", 0, "fail"),
    ("clay-hollow", "before-asbestos", {"house.year_built": 1981}, "", 0, "pass"),
    ("clay-hollow", "before-asbestos", {"house.year_built": 1981}, "house.year_built", 0.001, "fail"),
    # A test-out is held to what was predicted: as much is met, more is over, and what the instrument may be off is neither.
    ("clay-hollow", "airflow-over-expected", {"house.airflow": 1300, "house.expected_airflow": 1300}, "", 0, "pass"),
    ("clay-hollow", "airflow-over-expected", {"house.airflow": 1301, "house.expected_airflow": 1300}, "", 0, "fail"),
    ("clay-hollow", "airflow-over-expected", {"house.airflow": 1290, "house.expected_airflow": 1300}, "house.airflow", 0.1, "close"),
    ("clay-hollow", "airflow-under-expected", {"house.airflow": 1300, "house.expected_airflow": 1300}, "", 0, "pass"),
    ("clay-hollow", "airflow-under-expected", {"house.airflow": 1299, "house.expected_airflow": 1300}, "", 0, "fail"),
    ("clay-hollow", "airflow-under-expected", {"house.airflow": 1310, "house.expected_airflow": 1300}, "house.airflow", 0.1, "close"),
    ("clay-hollow", "leakage-over-expected", {"house.leakage_25": 60, "house.expected_leakage_25": 60}, "", 0, "pass"),
    ("clay-hollow", "leakage-over-expected", {"house.leakage_25": 61, "house.expected_leakage_25": 60}, "", 0, "fail"),
    ("clay-hollow", "leakage-over-expected", {"house.leakage_25": 57, "house.expected_leakage_25": 60}, "house.leakage_25", 0.1, "close"),
    ("clay-hollow", "power-over-expected", {"house.power": 620, "house.expected_power": 620}, "", 0, "pass"),
    ("clay-hollow", "power-over-expected", {"house.power": 621, "house.expected_power": 620}, "", 0, "fail"),
    ("clay-hollow", "power-over-expected", {"house.power": 614, "house.expected_power": 620}, "house.power", 0.1, "close"),
    ("clay-hollow", "return-over-expected", {"house.return_static": -0.33, "house.expected_return_static": -0.33}, "", 0, "pass"),
    ("clay-hollow", "return-over-expected", {"house.return_static": -0.331, "house.expected_return_static": -0.33}, "", 0, "fail"),
    (
        "clay-hollow", "return-over-expected",
        {"house.return_static": -0.327, "house.expected_return_static": -0.33}, "house.return_static", 0.1, "close",
    ),
    ("clay-hollow", "supply-over-expected", {"house.supply_static": 0.33, "house.expected_supply_static": 0.33}, "", 0, "pass"),
    ("clay-hollow", "supply-over-expected", {"house.supply_static": 0.331, "house.expected_supply_static": 0.33}, "", 0, "fail"),
    (
        "clay-hollow", "supply-over-expected",
        {"house.supply_static": 0.327, "house.expected_supply_static": 0.33}, "house.supply_static", 0.1, "close",
    ),
    ("clay-hollow", "room-over-expected", {"room.flow": 180, "room.expected_flow": 180}, "", 0, "pass"),
    ("clay-hollow", "room-over-expected", {"room.flow": 181, "room.expected_flow": 180}, "", 0, "fail"),
    ("clay-hollow", "room-over-expected", {"room.flow": 178, "room.expected_flow": 180}, "room.flow", 0.1, "close"),
    ("clay-hollow", "room-under-expected", {"room.flow": 180, "room.expected_flow": 180}, "", 0, "pass"),
    ("clay-hollow", "room-under-expected", {"room.flow": 179, "room.expected_flow": 180}, "", 0, "fail"),
    ("clay-hollow", "room-under-expected", {"room.flow": 182, "room.expected_flow": 180}, "room.flow", 0.1, "close"),
    # What the network tells: three standard deviations are a disagreement (the usual three-sigma rule); three times the drop of such a
    # duct in good order is no good order (judgement). Both are worked out, so no ± of theirs is a reading's.
    ("clay-hollow", "readings-agree", {"house.conflict": 3}, "", 0, "pass"),
    ("clay-hollow", "readings-agree", {"house.conflict": 3.1}, "", 0, "fail"),
    ("clay-hollow", "readings-agree", {"house.conflict": 2.96}, "house.conflict", 0.1, "pass"),
    ("clay-hollow", "return-over-clean", {"return.over_clean": 3}, "", 0, "pass"),
    ("clay-hollow", "return-over-clean", {"return.over_clean": 3.1}, "", 0, "fail"),
    ("clay-hollow", "return-over-clean", {"return.over_clean": 2.96}, "return.over_clean", 0.1, "pass"),
    # Above the highest towns there is nothing to correct for: the end of what a record may hold.
    ("clay-hollow", "altitude-known", {"house.altitude": 11_000}, "", 0, "pass"),
    ("clay-hollow", "altitude-known", {"house.altitude": 11_001}, "", 0, "fail"),
]  # fmt: skip
#: What hurts people if the number is wrong: there a number in doubt counts as missed.
HARMS = {"before-asbestos", "before-lead", "flame-distance", "lead-paint-area", "roof-height"}


@pytest.mark.parametrize(
    ("market", "check", "numbers", "of", "off", "word"), SAID, ids=[f"{row[1]} says {row[5]} {i}" for i, row in enumerate(SAID)]
)  # fmt: skip
def test_a_check_says(market: str, check: str, numbers: Numbers, of: str, off: float, word: str) -> None:
    assert House(policy_of(market), dict(numbers), of, off).judge(check).word == word


@pytest.mark.parametrize("market", MARKETS)
def test_what_is_read_off_a_ruler_or_a_label_is_in_no_doubt_except_where_it_harms(market: str) -> None:
    policy = policy_of(market)
    plain = Prepared(policy).plain_checks()
    assert {name for name in plain if policy.checks[name].doubt != "ignore"} == HARMS
    assert {policy.checks[name].doubt for name in HARMS} == {"against"}


@pytest.mark.parametrize(
    ("second", "off", "word"),
    [(12, 0.0, "pass"), (0, 0.0, "fail"), (0, 0.1, "fail")],
    ids=[f"code-one-of-several {what}" for what in ("two", "one", "one in doubt")],
)
def test_a_return_duct_is_one_of_several(second: float, off: float, word: str) -> None:
    """A duct of 14 in beside another of 12 in is one of several; the only one is not, however well it was measured."""
    policy = policy_of("juniper-sill")
    house = House(policy, {"return.diameter": 14.0, "second.diameter": float(second)}, "return.diameter", off)
    ducts = tuple(Subject("return", key, MappingProxyType({})) for key in ("return", *(["second"] if second else [])))

    def source(key: str, name: str, time: str) -> Reading:
        known = house.source("return", name, time)
        return known._replace(value=house.numbers[f"{key}.{name}"]) if key == "second" else known

    kinds = {name: (Subject(name, name, MappingProxyType({})),) for name in KINDS} | {"return": ducts}
    judge = Judge(Prepared(policy), kinds, source)
    assert judge.judge(policy.checks["code-one-of-several"], ducts[0], "found").word == word
