"""The JSON Schemas follow the shapes, and take what the shapes take."""

import json
import tomllib
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from small_folder import COMPANY, MARKET, REGION, TRADE

from airwarrant.policy.cases import cases_schema
from airwarrant.policy.shape import market_schema, policy_schema
from airwarrant.shipped import shipped

#: Write them again: python -m airwarrant.write_schemas
SCHEMAS = {"cases": cases_schema, "policy": policy_schema, "market": market_schema}


def _plain(text: str) -> Any:
    return json.loads(json.dumps(tomllib.loads(text), default=str))


@pytest.mark.parametrize("name", SCHEMAS)
def test_the_committed_schema_is_the_generated_one(name: str) -> None:
    committed = json.loads((shipped("schemas") / f"{name}.schema.json").read_text("utf-8"))
    assert committed == SCHEMAS[name]()
    Draft202012Validator.check_schema(committed)


@pytest.mark.parametrize("text", [TRADE, REGION, COMPANY])
def test_the_policy_schema_takes_a_right_file(text: str) -> None:
    assert not list(Draft202012Validator(policy_schema()).iter_errors(_plain(text)))
    assert not list(Draft202012Validator(market_schema()).iter_errors(_plain(MARKET)))


def test_the_schemas_take_every_shipped_file() -> None:
    policies = shipped("policies")
    for path in sorted(policies.rglob("*.toml")):
        if path.parent.name == "records":  # job records that cases start from
            continue
        schema = {"markets": market_schema, "cases": cases_schema, "limits": cases_schema}.get(
            path.parent.name, policy_schema
        )()
        faults = [error.message for error in Draft202012Validator(schema).iter_errors(_plain(path.read_text("utf-8")))]
        assert not faults, (path.name, faults)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("value = 0.60", "vlue = 0.60"),
        ('edit = "company"', 'edit = "compny"'),
        ('is = "fail"', 'is = "fial"'),
        ('tier = "recommended"', 'tier = "maybe"'),
        ("rows = [[0, 3], [150, 5]]", "rows = [[0, 3, 1]]"),
        ('stage = "guard"', 'stage = "gard"'),
        ("when = [{ check", "when = [{ chek"),
        ("[parameter.ceiling]", '[parameter."Ceiling!"]'),
        ('sum_of = ["return_static", "supply_static"]', 'sum_of = "return_static"'),
        ('title = "Test"\n', ""),
    ],
)
def test_the_policy_schema_refuses_what_the_shape_refuses(old: str, new: str) -> None:
    assert old in TRADE
    assert list(Draft202012Validator(policy_schema()).iter_errors(_plain(TRADE.replace(old, new))))


def test_no_key_may_be_null() -> None:
    assert "null" not in json.dumps(policy_schema()) + json.dumps(market_schema())


def test_the_floors_are_shipped_beside_the_module() -> None:
    import airwarrant.policy.rights as rights

    assert (
        json.loads(Path(rights.__file__).with_name("floors.json").read_text("utf-8"))["parameters"]["co_stop"]["value"]
        == 35
    )
