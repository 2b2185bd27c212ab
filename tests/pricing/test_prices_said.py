"""A price is said back: by the policy as a sentence, by a result as the steps of its arithmetic."""

from decimal import Decimal
from typing import Any

import pytest
from pricing_by_hand import policy_of

from airwarrant.errors import PolicyError
from airwarrant.policy.history import history
from airwarrant.policy.model import Policy
from airwarrant.policy.show_prices import SECTIONS, book_blocks, book_sentence
from airwarrant.result.why import why
from jobs import JOBS, POLICIES, data, scope


@pytest.fixture(scope="module", params=JOBS)
def result(request: pytest.FixtureRequest) -> dict[str, Any]:
    return scope(data(request.param))


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("copper-basin")


def test_the_reason_tree_of_a_line_holds_every_number_of_its_price(result: dict[str, Any]) -> None:
    for line in result["lines"]:
        price = line["price"]
        text = " ".join(_plain(row.text) for row in why(result, line["id"]))
        if price.get("amount") is None:
            assert line["state"] == "held"
            assert "price" not in text
            continue
        shown = [price["amount"], price["cost"], price["labour"], price["material_cost"] if price["materials"] else "0"]
        shown += [one["cost"] for one in price["materials"]] + [one["amount"] for one in price["materials"]]
        for amount in shown:
            assert amount.removesuffix(".00") in text, (line["id"], amount)
        for factor in price["factors"]:
            assert _plain(f"× {factor['value']} {factor['title']}") in text
            assert all(f"{word['field']} of {word['subject']} is {word['word']}" in text for word in factor["words"])
        for number in (price["hours"], price["book_hours"], price["divisor"], price["unrounded"]):
            assert number in text, (line["id"], number)


def test_every_place_of_a_price_is_there(result: dict[str, Any]) -> None:
    for line in result["lines"]:
        for row in why(result, line["id"]):
            if row.place and "prices" in row.place:
                file, number, column = row.place.rsplit(":", 2)
                assert (POLICIES / file).read_text().splitlines()[int(number) - 1][int(column) - 1 :]


def test_the_word_that_made_a_factor_hold_leads_to_the_record() -> None:
    result = scope(data("1042"))
    rows = [row for row in why(result, "add-return@living-route") if "return_path_space of house is attic" in row.text]
    assert rows
    assert all(row.place.startswith("job.toml:") for row in rows)


def test_the_whole_price_has_a_tree_of_its_own(result: dict[str, Any]) -> None:
    rows = why(result, "total")
    assert rows[0].text.startswith("total — ")
    text = " ".join(_plain(row.text) for row in rows)
    for line in result["lines"]:
        if line["price"].get("amount") is not None:
            assert f"{line['id']}: {line['price']['amount'].removesuffix('.00')}" in text
    for charge in result["totals"]["charges"]:
        assert _plain(charge["title"]) in text


def test_every_block_of_the_book_is_said_as_a_sentence(policy: Policy) -> None:
    blocks = book_blocks(policy.prices)
    assert set(blocks) == set(SECTIONS)
    for section, held in blocks.items():
        assert held, section
        for name in held:
            said = book_sentence(policy, section, name)
            assert said.endswith("."), name
            assert "Decimal" not in said
            assert "  " not in said


def test_a_price_is_said_with_its_hours_its_things_and_its_rounding(policy: Policy) -> None:
    said = book_sentence(policy, "price", "add-return")
    for part in ("6.5 person-hours", "46 demo", "its length (not known: 25 ft) and 10 % waste", "0.25 demo", "15 % of the hours",
                 "1 − 48 %", "half up, to 5 demo"):  # fmt: skip
        assert part in said, (part, said)
    damper = book_sentence(policy, "price", "balancing-damper")
    assert "there is a run whose room is this place and material is flex" in damper


def test_a_price_and_its_task_have_one_name_and_both_can_be_asked_for(policy: Policy) -> None:
    assert history(policy, "add-return").section == "task"
    told = history(policy, "price:add-return")
    assert (told.section, told.name) == ("price", "add-return")
    assert {setting.key for setting in told.settings} >= {"hours", "crew", "materials"}
    assert "add-return" in history(policy, "flex-duct").prices
    assert "replace-elbow" in history(policy, "tile-roof").prices
    assert "test-in" in history(policy, "technician").prices
    with pytest.raises(PolicyError, match="add-return"):
        history(policy, "price:add-retur")


def test_a_market_tells_what_it_overrode(policy: Policy) -> None:
    settings = [one for one in history(policy, "attic-heat").settings if one.key == "value"]
    assert [(one.value, one.layer, one.in_force) for one in settings] == [
        (1.25, "regions/hot-dry", True),
        (1.00, "trade", False),
    ]


def test_every_shipped_task_has_a_price_and_every_charge_its_words() -> None:
    for market in ("copper-basin", "clay-hollow", "mosswater-bend", "fog-harbor"):
        policy = policy_of(market)
        assert policy.prices is not None
        assert not set(policy.tasks) - set(policy.prices.prices), market
        assert all({"en", "es"} <= set(policy.said[name]) for name in policy.prices.charges)
        assert all(price.work.hours >= Decimal(0) for price in policy.prices.prices.values())
        blocks = [block for held in book_blocks(policy.prices).values() for block in held.values()]
        # No market has these prices: every one of them says that it is invented.
        assert {block.keys["basis"].value["kind"] for block in blocks} == {"demo"}


def _plain(text: str) -> str:
    """Without the commas that part thousands."""
    return text.replace(",", "")
