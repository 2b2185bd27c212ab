"""A saying of the trade recomputed, with every condition printed: a SEER 20 whose ducts lose a fifth of the air serves like a 14.

The numbers were computed with the equations of ASHRAE 152 as in two US national laboratories' published code, before
and apart from this program; they are given to whole SEER, so that 0.5 is the tolerance. Run with ``-s`` to read the
conditions.
"""

import tomllib
from typing import Any

import pytest

from airwarrant.calculations.registry import calculate
from calculations.asking import HOT_DRY
from jobs import SCENARIOS

LABEL = 20.0
TIGHT = 2.5  # % of the blower's air on either side
CONDITIONS = HOT_DRY | {"cycling": 0.02, "supply_f": 55}


def system(supply: float, back: float, **changed: Any) -> float:
    """Distribution system efficiency with so many percent of the blower's air leaking on either side."""
    leaks = {"supply_leak_cfm": 12.0 * supply, "return_leak_cfm": 12.0 * back}
    return float(calculate("distribution", CONDITIONS | leaks | changed).outputs["system"])


def told(text: str, seer: float, **changed: Any) -> float:
    """Print what is claimed under which conditions, and give it back."""
    conditions = {k: v for k, v in (CONDITIONS | changed).items() if k not in ("supply_leak_cfm", "return_leak_cfm")}
    print(f"\n{text}: a {LABEL:g} acts like {seer:.2f}\n  with " + ", ".join(f"{k} {v}" for k, v in conditions.items()))
    return seer


@pytest.mark.parametrize(
    ("text", "supply", "back", "seer"),
    [
        ("20 % in all, all supply", 20, 0, 15),
        ("20 % in all, half on either side", 10, 10, 17),
        ("20 % in all, all return", 0, 20, 17),
        ("20 % on each side", 20, 20, 13),
    ],
)
def test_against_the_same_system_tight(text: str, supply: float, back: float, seer: float) -> None:
    acts_like = LABEL * system(supply, back) / system(TIGHT, TIGHT)
    assert told(f"{text}, against 2.5 % on either side", acts_like) == pytest.approx(seer, abs=0.5)


def test_under_the_stated_conditions_no_way_of_leaking_a_fifth_in_all_reaches_fourteen() -> None:
    for supply in range(21):
        assert LABEL * system(supply, 20 - supply) / system(TIGHT, TIGHT) > 14.5


@pytest.mark.parametrize(("attic", "supply", "back"), [(125, 0, 20), (125, 1, 19)])
def test_fourteen_with_a_hotter_attic_and_the_leak_on_the_return(attic: float, supply: float, back: float) -> None:
    acts_like = LABEL * system(supply, back, zone_f=attic) / system(TIGHT, TIGHT, zone_f=attic)
    text = f"{supply} % supply and {back} % return, both with that attic"
    assert told(text, acts_like, zone_f=attic) == pytest.approx(14, abs=0.5)
    # A little cooler and it is more: "about 125 °F or more".
    assert LABEL * system(supply, back, zone_f=115) / system(TIGHT, TIGHT, zone_f=115) > 15


def test_fourteen_with_poorer_insulation_against_a_tight_system_with_better() -> None:
    leaky, tight = {"supply_r": 4.2, "return_r": 4.2}, {"supply_r": 8, "return_r": 8}
    acts_like = LABEL * system(20, 0, **leaky) / system(TIGHT, TIGHT, **tight)
    assert told("20 %, all supply, R-4.2 against R-8", acts_like, **leaky) == pytest.approx(14, abs=0.5)


def test_fourteen_against_a_fourteen_without_duct_losses() -> None:
    both, back = LABEL * system(10, 10), LABEL * system(0, 20)
    assert told("20 %, half on either side, against no loss at all", both) == pytest.approx(14, abs=0.5)
    assert told("20 %, all return, against no loss at all", back) == pytest.approx(14, abs=0.5)
    assert told("20 %, all supply, against no loss at all", LABEL * system(20, 0)) == pytest.approx(12, abs=0.5)
    # By the same count the tight system itself is no 20.
    assert told("2.5 % on either side, against no loss at all", LABEL * system(TIGHT, TIGHT)) < 17


@pytest.mark.parametrize(
    ("file", "supply", "back"),
    [("tight", TIGHT, TIGHT), ("leaky-supply", 20, 0), ("leaky-both", 10, 10), ("leaky-return", 0, 20)],
)
def test_the_demo_files_hold_the_conditions_of_the_saying(file: str, supply: float, back: float) -> None:
    given = tomllib.loads((SCENARIOS / "leakage" / f"{file}.toml").read_text())
    assert given == CONDITIONS | {"supply_leak_cfm": 12 * supply, "return_leak_cfm": 12 * back}
