"""The network calculation: a file's nodes, links and blower in, pressures and flows out."""

import math

import pytest

from airwarrant.errors import CallError
from calculations.asking import ORDINARY, ask, faults, valid

HOUSE = ORDINARY["network"]


def _parallel(total: float) -> dict[str, object]:
    # A blower on a plateau moves `total`, whatever the static.
    links = [{"id": str(k), "from": "a", "to": "b", "k": k} for k in (1.0, 4.0, 9.0)]
    blower = {"from": "b", "to": "a", "table": [[0, total], [1e6, total]]}
    return {"node": [{"id": "b", "pressure": 0}], "link": links, "blower": blower}


def test_three_branches_share_a_flow_by_their_resistance() -> None:
    # Hand case: k 1, 4, 9, total 1100: 600, 300, 200 and a drop of 360,000; exact but for rounding.
    found = ask("network", **_parallel(1100.0))
    assert [found["flows"][name] for name in ("1.0", "4.0", "9.0", "blower")] == pytest.approx(
        [600, 300, 200, 1100], rel=1e-9
    )
    assert found["pressures"]["a"] == pytest.approx(360_000, rel=1e-9)


def test_si_files_are_read_and_answered_in_pascals_and_cubic_metres() -> None:
    found = ask("network", "si", **_parallel(1.1))
    assert [found["flows"][name] for name in ("1.0", "4.0", "9.0")] == pytest.approx([0.6, 0.3, 0.2], rel=1e-9)
    assert found["pressures"]["a"] == pytest.approx(0.36, rel=1e-9)


def test_a_blower_and_one_path_meet_as_blower_point_says() -> None:
    loop = ask("network", **HOUSE)
    point = ask("blower-point", curve="0.3:1240,0.5:1130,0.7:980", static_inwc=3.5e-7 * 1e6, at_cfm=1000)
    assert loop["flows"]["blower"] == pytest.approx(point["flow_cfm"], rel=1e-9)
    assert loop["pressures"]["outlet"] - loop["pressures"]["inlet"] == pytest.approx(point["static_inwc"], rel=1e-9)


def test_a_blower_beyond_its_table_is_not_valid() -> None:
    stiff = [{"id": "return", "from": "house", "to": "inlet", "k": 2e-5}, *HOUSE["link"][1:]]  # type: ignore[index]
    assert valid("network", **HOUSE)
    assert not valid("network", **(HOUSE | {"link": stiff}))


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"link": []}, "link"),
        ({"link": [{"id": "a", "from": "x", "to": "y", "k": 0}]}, "link"),
        ({"link": [{"id": "a", "from": "x", "to": "y", "k": 1, "exponent": 3}]}, "link"),
        ({"link": [{"id": "a", "from": "x", "to": "y", "kk": 1}]}, "link"),
        ({"link": [{"id": "a", "from": "x", "to": "x", "k": 1}]}, "link"),
        ({"node": [{"id": "house", "pressure": "high"}]}, "node"),
        ({"node": [{"id": "attic"}]}, "link"),
        ({"blower": {"from": "inlet", "to": "outlet", "table": [[0.3, 1000], [0.5, 1100]]}}, "blower"),
        ({"blower": {"from": "inlet", "to": "outlet", "table": [0.3, 1000]}}, "blower"),
    ],
)
def test_a_network_that_cannot_be_is_refused_with_its_block(change: dict[str, object], field: str) -> None:
    assert faults("network", **(HOUSE | change)) == [("impossible-input", field)]


@pytest.mark.parametrize("k", [1e-300, 1e300])
def test_resistances_beyond_double_precision_are_refused_or_answered_in_finite_numbers(k: float) -> None:
    links = [{"id": "a", "from": "x", "to": "house", "k": k}, {"id": "b", "from": "x", "to": "house", "k": 1 / k}]
    node = [{"id": "house", "pressure": 0}]
    blower = {"from": "house", "to": "x", "table": [[0.1, 1000], [0.5, 900]]}
    try:
        found = ask("network", node=node, link=links, blower=blower)
    except CallError as error:
        assert {fault.code for fault in error.faults} == {"impossible-input"}
    else:
        assert all(math.isfinite(flow) for flow in found["flows"].values())
