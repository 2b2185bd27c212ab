"""Every amount of the demo book against arithmetic done by hand.

Source of the amounts: the book is invented, so no market can confirm it. What is checked is the arithmetic: hours x heat factor x wage
x labour index + materials x material index, divided by what the margin leaves, rounded half up to 5. Each amount of the first table
was worked out on paper from the hours and materials beside it; `fractions.Fraction` works it out again by another road than the
program's decimals.
"""

from decimal import Decimal
from fractions import Fraction
from math import floor
from pathlib import Path
from shutil import copytree

import pytest
from pricing_by_hand import SUMMER, WINTER, policy_of, price, pricer, record

from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from jobs import POLICIES

#: task, person-hours, materials, whether it is done in the hot space, amount in the hot-dry market in summer
WORKED = [
    ("test-in", "2.0", "0", False, 175),
    ("test-out", "1.5", "0", False, 135),
    ("leakage-test", "1.2", "12", False, 130),
    ("combustion-test", "0.8", "0", False, 70),
    ("replace-elbow", "6.0", "640", False, 1760),
    ("seal-cabinet", "1.5", "38", False, 205),
    ("reseal-plenum", "2.0", "45", True, 310),
    ("new-supply-plenum", "5.0", "310", False, 1040),
    ("add-return", "6.5", "285", True, 1265),
    ("enlarge-filter-grille", "3.0", "120", False, 495),
    ("line-platform-return", "5.0", "140", False, 710),
    ("balancing-damper", "0.8", "34", False, 135),
    ("balance-rooms", "2.0", "0", False, 175),
    ("transfer-grille", "1.8", "58", False, 270),
    ("undercut-door", "0.5", "0", False, 45),
    ("jump-duct", "2.6", "96", True, 470),
    ("bedroom-return", "4.5", "165", True, 815),
    ("replace-flex-run", "1.8", "78", True, 350),
    # By the outlet: the record has one room.
    ("seal-ducts", "0.6", "14", True, 95),
]
#: market, labour index, material index, heat factor in summer
MARKETS = [
    ("copper-basin", "1.00", "1.00", "1.25"),
    ("mosswater-bend", "0.96", "1.02", "1.20"),
    ("clay-hollow", "1.00", "1.00", "1.10"),
    ("fog-harbor", "1.18", "1.05", "1.00"),
]
WAGE, KEPT = Fraction(46), Fraction(52, 100)


@pytest.fixture(scope="module", params=MARKETS, ids=[name for name, *_ in MARKETS])
def market(request: pytest.FixtureRequest) -> tuple[Policy, Fraction, Fraction, Fraction]:
    name, *numbers = request.param
    labour, material, heat = map(Fraction, numbers)
    return policy_of(name), labour, material, heat


@pytest.fixture(scope="module")
def hot_dry() -> Policy:
    return policy_of("copper-basin")


@pytest.mark.parametrize(("task", "hours", "materials", "hot", "amount"), WORKED, ids=[row[0] for row in WORKED])
def test_an_amount_is_the_one_worked_by_hand(
    hot_dry: Policy, task: str, hours: str, materials: str, hot: bool, amount: int
) -> None:
    line = price(hot_dry, record(), task)
    assert line.amount == amount, line.why
    assert line.worked is not None
    assert line.worked.work.hours == Decimal(hours)
    assert line.worked.materials == Decimal(materials)
    assert [one.factor.name for one in line.worked.factors] == (["attic-heat"] if hot else [])


def test_a_damper_in_a_flexible_branch_takes_longer_and_costs_more(hot_dry: Policy) -> None:
    line = price(hot_dry, record(run={"material": "flex"}), "balancing-damper")
    assert line.amount == 215
    assert line.variant
    assert [(word.subject, word.word) for word in line.variant_words] == [("run-1", "flex")]


def test_paperwork_is_priced_as_a_line(hot_dry: Policy) -> None:
    assert hot_dry.prices is not None
    work = hot_dry.prices.charges["paperwork"].work
    assert work is not None
    one = pricer(hot_dry, record())
    assert one.amount(one.work(work, "house", None, shared=False).cost) == 60


def test_every_market_multiplies_hours_and_materials_by_its_own_indices(
    market: tuple[Policy, Fraction, Fraction, Fraction],
) -> None:
    policy, labour, material, heat = market
    for task, hours, materials, hot, _ in WORKED:
        cost = Fraction(hours) * (heat if hot else 1) * WAGE * labour + Fraction(materials) * material
        assert price(policy, record(), task).amount == _rounded(cost / KEPT), task


def test_a_cold_market_is_a_layer_of_three_numbers(tmp_path: Path) -> None:
    folder = tmp_path / "policies"
    copytree(POLICIES, folder)
    layer = folder / "regions/coldest/2026-01-01"
    layer.mkdir(parents=True)
    (layer / "prices.toml").write_text(
        '[policy]\ntitle = "Cold"\nreview_by = 2030-01-01\n[parameter.price_labour_index]\nvalue = 1.06\n'
        "[parameter.price_material_index]\nvalue = 1.03\n[factor.attic-heat]\nvalue = 1.00\n"
    )
    text = (folder / "markets/clay-hollow.toml").read_text().replace("regions/mixed", "regions/coldest")
    (folder / "markets/coldest.toml").write_text(text)
    policy = compose(folder, "coldest", {"survey": SUMMER})
    for task, hours, materials, _, _ in WORKED:
        cost = Fraction(hours) * WAGE * Fraction("1.06") + Fraction(materials) * Fraction("1.03")
        assert price(policy, record(), task).amount == _rounded(cost / KEPT), task


def test_heat_counts_in_its_months_alone_and_only_where_the_ducts_are_hot(hot_dry: Policy) -> None:
    cool = {"return_path_space": "basement", "supply_path_space": "basement"}
    unwritten = record()
    del unwritten["house"]
    without = _rounded((Fraction("6.5") * WAGE + 285) / KEPT)
    assert price(hot_dry, record(SUMMER), "add-return").amount == 1265
    assert price(hot_dry, record(WINTER), "add-return").amount == without
    assert price(hot_dry, record(SUMMER, house=cool), "add-return").amount == without
    # Where nobody wrote the space down, the hot one is assumed.
    assert price(hot_dry, unwritten, "add-return").amount == 1265


@pytest.mark.parametrize(
    ("house", "task", "factors"),
    [
        ({"roof_cover": "tile"}, "replace-elbow", ["1.15"]),
        ({"roof_cover": "shingle"}, "replace-elbow", []),
        ({"heat_risk": "yes"}, "enlarge-filter-grille", ["1.05"]),
        ({"attic_floor": "no"}, "reseal-plenum", ["1.25", "1.15"]),
        ({"attic_floor": "no", "heat_risk": "yes"}, "reseal-plenum", ["1.25", "1.15", "1.05"]),
        ({"return_path_space": "crawl", "supply_path_space": "crawl", "crawl_height": 20}, "reseal-plenum", ["1.20"]),
        ({"return_path_space": "crawl", "supply_path_space": "crawl", "crawl_height": 24}, "reseal-plenum", []),
        ({"return_path_space": "crawl", "supply_path_space": "crawl"}, "reseal-plenum", []),
    ],
)
def test_words_of_the_record_make_hours_longer_and_nothing_else(
    hot_dry: Policy, house: dict[str, object], task: str, factors: list[str]
) -> None:
    line = price(hot_dry, record(house=house), task)
    hours, materials = next((Fraction(h), Fraction(m)) for name, h, m, *_ in WORKED if name == task)
    for factor in factors:
        hours *= Fraction(factor)
    assert line.amount == _rounded((hours * WAGE + materials) / KEPT)
    assert line.worked is not None
    assert [one.factor.value for one in line.worked.factors] == [Decimal(factor) for factor in factors]
    assert all(one.words for one in line.worked.factors)


def test_work_whose_way_in_is_paid_already_takes_fewer_hours(hot_dry: Policy) -> None:
    cost = Fraction("1.5") * Fraction(85, 100) * WAGE + 38
    assert price(hot_dry, record(), "seal-cabinet", shared=True).amount == _rounded(cost / KEPT)


def test_two_equal_ducts_are_two_of_everything_but_the_grille_that_serves_both(hot_dry: Policy) -> None:
    line = price(hot_dry, record(), "add-return", count=2)
    assert line.worked is not None
    amounts = {one.item.name: one.amount for one in line.worked.bought}
    # 2 ducts of 25 ft with 10 % waste at 4.80 a foot; 420 in2 at 0.25; 2 connections at 48.
    assert amounts == {"flex-duct": Decimal(264), "filter-grille": Decimal(105), "duct-collar": Decimal(96)}
    assert line.worked.hours == Decimal("16.25")


def test_a_size_between_two_of_the_book_takes_the_larger_and_one_past_the_last_has_no_price(hot_dry: Policy) -> None:
    for diameter, cost in ((7, "2.40"), (8, "2.40"), (8.5, "2.75"), (20, "5.60")):
        line = price(hot_dry, record(run={"diameter": diameter}), "replace-flex-run")
        assert line.worked is not None
        assert line.worked.bought[0].cost == Decimal(cost)
    beyond = price(hot_dry, record(), "upsize-return", size=24.0)
    assert beyond.amount is None
    assert "no price of 24" in beyond.why


def test_a_length_that_nobody_wrote_is_assumed_by_the_book_and_said(hot_dry: Policy) -> None:
    data = record()
    del data["route"][0]["length"]
    line = price(hot_dry, data, "add-return")
    assert line.amount == 1265
    assert line.worked is not None
    (flex,) = [one for one in line.worked.bought if one.item.name == "flex-duct"]
    assert flex.counted.assumed
    assert "not known" in flex.counted.said


def _rounded(value: Fraction) -> int:
    """Half up to whole fives."""
    return 5 * floor(value / 5 + Fraction(1, 2))
