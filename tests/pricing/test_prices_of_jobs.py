"""What must hold of the prices of any job: every amount can be made again from the steps beside it, whoever reads the result."""

from collections.abc import Iterator
from copy import deepcopy
from decimal import Decimal
from fractions import Fraction
from math import floor
from pathlib import Path
from shutil import copytree
from typing import Any

import pytest

from jobs import JOBS, POLICIES, data, scope

HEAD = '[policy]\ntitle = "Own"\nreview_by = 2030-01-01\n'
ROOT = "companies/demo-company/2026-01-01"


@pytest.fixture(scope="module", params=JOBS)
def result(request: pytest.FixtureRequest) -> dict[str, Any]:
    return scope(data(request.param))


@pytest.fixture(scope="module")
def ranch() -> dict[str, Any]:
    return scope(data("1042"))


def test_every_scoped_line_has_an_amount_and_no_held_line_has_one(result: dict[str, Any]) -> None:
    for line in result["lines"]:
        price = line["price"]
        if line["state"] == "held":
            assert price == {"amount": None, "why": "held: it cannot be offered yet"}
        else:
            assert price["amount"] is not None, (line["id"], price)
            assert not price["why"]


def test_every_amount_follows_from_the_steps_beside_it(result: dict[str, Any]) -> None:
    for price in _worked(result):
        hours = Fraction(price["book_hours"]) * price["count"]
        times = Fraction(price["times"]["quantity"]) if price["times"] else Fraction(1)
        hours *= times
        for factor in price["factors"]:
            hours *= Fraction(factor["value"])
        if price["unit_off_credit"] is not None:
            hours *= 1 - Fraction(price["unit_off_credit"]) / 100
        assert hours == Fraction(price["hours"])
        labour = hours * Fraction(price["crew"]["wage"]) * Fraction(price["labour_index"])
        assert labour == Fraction(price["labour"])
        materials = Fraction(0)
        for one in price["materials"]:
            with_waste = Fraction(one["quantity"]) * (1 + Fraction(one["waste"]) / 100)
            assert with_waste == Fraction(one["with_waste"])
            assert with_waste * Fraction(one["cost"]) * one["count"] * times == Fraction(one["amount"])
            materials += Fraction(one["amount"])
        materials *= Fraction(price["material_index"])
        assert materials == Fraction(price["material_cost"])
        cost = labour + materials
        assert cost == Fraction(price["cost"])
        assert Fraction(price["divisor"]) == 1 - Fraction(price["margin"]) / 100
        exact = cost / Fraction(price["divisor"])
        assert abs(exact - Fraction(price["unrounded"])) <= Fraction(1, 200)
        step = Fraction(price["round_to"])
        assert floor(exact / step + Fraction(1, 2)) * step == Fraction(price["amount"])


def test_the_total_is_its_lines_and_what_stands_beside_them(result: dict[str, Any]) -> None:
    totals = result["totals"]
    lines = [line for line in result["lines"] if line["state"] != "held"]
    by_tier = {tier: Decimal(0) for tier in totals["tiers"]}
    for line in lines:
        by_tier[line["tier"]] += Decimal(line["price"]["amount"])
    assert {tier: Decimal(amount) for tier, amount in totals["tiers"].items()} == by_tier
    beside = sum((Decimal(charge["amount"]) for charge in totals["charges"]), Decimal(0))
    assert Decimal(totals["amount"]) == sum(by_tier.values()) + beside
    assert [option["amount"] for option in totals["options"]] == [totals["amount"]] * len(
        result["predictions"]["options"]
    )


def test_the_first_readings_are_credited_when_sold_and_owed_when_not(result: dict[str, Any]) -> None:
    (test_in,) = [line for line in result["lines"] if line["task"] == "test-in"]
    (credit,) = [charge for charge in result["totals"]["charges"] if charge["kind"] == "credit"]
    assert Decimal(credit["amount"]) == -Decimal(test_in["price"]["amount"])
    assert result["totals"]["if_not_sold"] == test_in["price"]["amount"]


def test_every_step_names_the_place_in_the_policy_that_says_so(result: dict[str, Any]) -> None:
    for price in _worked(result):
        assert _at(price["hours_at"]).startswith(price["book_hours"].rstrip("0").rstrip("."))
        assert _number_at(price["crew"]["at"]) == Fraction(price["crew"]["wage"])
        for factor in price["factors"]:
            assert _number_at(factor["at"]) == Fraction(factor["value"])
        for one in price["materials"]:
            there = _at(one["at"])
            assert there.startswith("[[") if "size" in one else _number_at(one["at"]) == Fraction(one["cost"])
    for charge in result["totals"]["charges"]:
        if charge["kind"] == "at-cost":
            assert _number_at(charge["at"]) == Fraction(charge["amount"])


def test_of_the_work_done_with_the_unit_off_one_line_pays_for_the_way_in(result: dict[str, Any]) -> None:
    off = [line for line in result["lines"] if line["unit_off"] and line["state"] == "scoped"]
    credits = [line["price"]["unit_off_credit"] for line in off]
    assert credits == ([None] + ["15"] * (len(off) - 1) if off else [])
    others = [line for line in result["lines"] if not line["unit_off"] and line["state"] == "scoped"]
    assert {line["price"]["unit_off_credit"] for line in others} <= {None}


def test_an_alternative_is_priced_as_a_whole_with_what_needs_it_taken_out(ranch: dict[str, Any]) -> None:
    """Without the elbow the added return goes too, and the next line pays for the way in."""
    totals = ranch["totals"]
    other = next(one for one in totals["alternatives"] if one["line"] == "replace-elbow@roof-elbow")
    lines = {line["id"]: line["price"] for line in ranch["lines"]}
    kept = next(a["lines"] for a in ranch["predictions"]["alternatives"] if a["line"] == "replace-elbow@roof-elbow")
    assert "add-return@living-route" not in kept
    full = (
        Fraction(lines["reseal-plenum@return-plenum"]["cost"]) + Fraction(2) * Fraction(15, 100) * Fraction("1.25") * 46
    )
    amounts = {name: Fraction(lines[name]["amount"]) for name in kept}
    amounts["reseal-plenum@return-plenum"] = Fraction(5 * floor(full / Fraction("0.52") / 5 + Fraction(1, 2)))
    included = ("test-in@house", "test-out@house", "fan-setting@house")
    allowance = sum(amount for name, amount in amounts.items() if name not in included) * 4 / 100
    allowance = min(Fraction(300), Fraction(5 * floor(allowance / 5 + Fraction(1, 2))))
    beside = sum(Fraction(c["amount"]) for c in totals["charges"] if c["charge"] != "hidden-conditions")
    assert Fraction(other["amount"]) == sum(amounts.values()) + allowance + beside
    assert Fraction(other["difference"]) == Fraction(other["amount"]) - Fraction(totals["amount"])


def test_a_scope_with_a_held_line_has_no_price_and_says_which() -> None:
    result = scope(data("2718"))
    held = {line["id"] for line in result["lines"] if line["state"] == "held"}
    larger = [one for one in result["totals"]["alternatives"] if one["line"] in held]
    assert larger
    for one in larger:
        assert one["amount"] is None
        assert one["difference"] is None
        assert one["line"] in one["why"]


def test_what_a_line_cured_stays_on_the_bill_at_its_amount() -> None:
    record = data("4471")
    before = deepcopy(record)
    before["visit"] = [visit for visit in record["visit"] if visit["kind"] == "test-in"]
    earlier, now = scope(before), scope(record)
    then = {line["id"]: line["price"] for line in earlier["lines"]}
    stays = [line for line in now["lines"] if line["state"] == "earlier"]
    assert stays
    for line in stays:
        assert line["price"] == then[line["id"]]


def test_no_saving_and_no_forecast_enters_a_price() -> None:
    record = data("1042")
    record["house"]["electric_rate"] = 0.9
    record["new"]["seer"] = 30
    dear = scope(record)
    plain = scope(data("1042"))
    assert {line["id"]: line["price"] for line in dear["lines"]} == {
        line["id"]: line["price"] for line in plain["lines"]
    }
    assert dear["totals"]["amount"] == plain["totals"]["amount"]
    assert _cost(dear) != _cost(plain)


def test_a_price_moves_no_line_no_hold_and_no_verdict(tmp_path: Path) -> None:
    own = _own(tmp_path, "[crew.installers]\nwage = 460\n[parameter.price_margin]\nvalue = 90\n")
    dear, plain = scope(data("1042"), policies=own), scope(data("1042"))
    for key in ("holds", "findings", "declined", "verdicts", "predictions", "acceptance", "sellable"):
        assert dear[key] == plain[key], key
    assert [line["state"] for line in dear["lines"]] == [line["state"] for line in plain["lines"]]
    assert Decimal(dear["totals"]["amount"]) > Decimal(plain["totals"]["amount"])


def test_without_a_price_book_nothing_has_an_amount(tmp_path: Path) -> None:
    copytree(POLICIES, tmp_path / "policies")
    for file in (tmp_path / "policies" / ROOT).glob("prices*.toml"):
        file.unlink()
    result = scope(data("1042"), policies=tmp_path / "policies")
    assert {str(line["price"]) for line in result["lines"]} == {"{}"}
    assert result["totals"]["amount"] is None
    assert "No price book" in result["totals"]["why"]


def test_a_task_the_book_forgot_leaves_the_total_open_and_is_named(tmp_path: Path) -> None:
    own = _own(tmp_path, '[[remove]]\nname = "price:seal-ducts"\nwhy = "not ours"\n')
    result = scope(data("1042"), policies=own)
    (line,) = [line for line in result["lines"] if line["task"] == "seal-ducts"]
    assert line["price"]["amount"] is None
    assert "no price of seal-ducts" in line["price"]["why"]
    assert result["totals"]["amount"] is None
    assert [one["line"] for one in result["totals"]["unpriced"]] == ["seal-ducts@house"]
    without = next(one for one in result["totals"]["alternatives"] if one["line"] == "seal-ducts@house")
    assert without["amount"] is not None


def test_what_is_required_stands_by_itself_and_a_discount_does_not_reach_it(tmp_path: Path) -> None:
    discount = (
        '[charge.spring]\ntitle = "Spring"\nkind = "discount"\nshare = 100\ntiers = ["recommended", "optional", "included"]\n'
        'edit = "company"\nbasis = { kind = "demo" }\n'
    )
    plain, reduced = scope(data("2718")), scope(data("2718"), policies=_own(tmp_path, discount))
    assert Decimal(plain["totals"]["tiers"]["required"]) > 0
    assert reduced["totals"]["tiers"] == plain["totals"]["tiers"]
    (taken,) = [charge for charge in reduced["totals"]["charges"] if charge["kind"] == "discount"]
    assert -Decimal(taken["amount"]) == sum(
        Decimal(amount) for tier, amount in plain["totals"]["tiers"].items() if tier != "required"
    )
    # Everything but what is required was given away: that is for the owner to approve, and the result says so.
    assert reduced["totals"]["owner_approval"]
    assert not plain["totals"]["owner_approval"]


def test_a_required_line_that_the_book_gives_away_is_named(tmp_path: Path) -> None:
    result = scope(data("2718"), policies=_own(tmp_path, "[price.combustion-test]\nhours = 0\n"))
    assert result["totals"]["required_at_nothing"] == ["combustion-test@closet"]


@pytest.mark.parametrize(
    ("share", "cap", "amount", "capped"),
    [(4, 300, "195.00", False), (10, 300, "300.00", True), (10, 301, "301.00", True)],
)
def test_an_allowance_is_a_share_of_the_work_up_to_its_cap(
    share: int, cap: int, amount: str, capped: bool, tmp_path: Path
) -> None:
    own = _own(tmp_path, f"[charge.hidden-conditions]\nshare = {share}\ncap = {cap}\n")
    (charge,) = [c for c in scope(data("1042"), policies=own)["totals"]["charges"] if c["kind"] == "allowance"]
    assert (charge["amount"], charge["capped"]) == (amount, capped)


def test_fees_are_passed_on_to_the_cent_and_each_market_has_its_own(tmp_path: Path) -> None:
    own = _own(tmp_path, "[charge.permit]\ncost = 87.35\n")
    charges = scope(data("1042"), policies=own)["totals"]["charges"]
    assert [charge["amount"] for charge in charges if charge["charge"] == "permit"] == ["87.35"]
    fees = {
        market: _fee(scope(data("1042"), market=market)) for market in ("copper-basin", "fog-harbor", "clay-hollow")
    }
    assert len(set(fees.values())) == 3


def test_a_house_that_needs_no_work_pays_no_allowance_and_no_independent_test() -> None:
    result = scope(data("5560"))
    kinds = {charge["charge"] for charge in result["totals"]["charges"]}
    assert "hidden-conditions" not in kinds
    assert "outside-test" not in kinds


def _worked(result: dict[str, Any]) -> Iterator[dict[str, Any]]:
    yield from (line["price"] for line in result["lines"] if line["price"].get("amount") is not None)
    yield from (charge for charge in result["totals"]["charges"] if charge["kind"] == "work")


def _at(place: dict[str, Any]) -> str:
    lines = (POLICIES / place["file"]).read_text().splitlines()
    return lines[place["line"] - 1][place["column"] - 1 :]


def _number_at(place: dict[str, Any]) -> Fraction:
    return Fraction(_at(place).split("#")[0].strip())


def _cost(result: dict[str, Any]) -> float:
    return float(result["predictions"]["scope"]["readings"]["house"]["season_cost"]["value"])


def _fee(result: dict[str, Any]) -> str:
    return next(str(charge["amount"]) for charge in result["totals"]["charges"] if charge["charge"] == "permit")


def _own(folder: Path, text: str) -> Path:
    """The shipped policies with a later folder of the company."""
    copytree(POLICIES, folder / "policies")
    later = folder / "policies/companies/demo-company/2026-02-01"
    later.mkdir()
    (later / "own.toml").write_text(HEAD + text)
    return folder / "policies"
