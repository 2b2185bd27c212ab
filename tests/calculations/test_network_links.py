"""Links of a network file that are ducts, openings and leaks: each loses what the calculation of its kind says."""

from math import pi

import fluids
import pytest
from scipy.optimize import brentq

from airwarrant.calculations.registry import calculate
from airwarrant.errors import CallError
from calculations.asking import SMALL_HOUSE, ask, faults

CFM = 0.3048**3 / 60


def _between(links: list[dict[str, object]], cfm: float) -> dict[str, object]:
    """Links from a to b with a constant flow through them."""
    ends = {"from": "a", "to": "b"}
    blower = {"from": "b", "to": "a", "table": [[0, cfm], [1e5, cfm]]}
    return {"node": [{"id": "b", "pressure": 0}], "link": [ends | one for one in links], "blower": blower}


@pytest.mark.parametrize(
    ("material", "compression", "cfm", "diameter"),
    [("flex", 4, 240, 8), ("flex", 15, 90, 6), ("galvanized", 0, 1200, 16), ("lined", 0, 35, 5)],
)
def test_a_duct_loses_what_duct_friction_says(material: str, compression: float, cfm: float, diameter: float) -> None:
    duct = {"material": material, "diameter_in": diameter, "length_ft": 30, "compression_pct": compression}
    found = ask("network", **_between([{"id": "duct", **duct}], cfm))
    alone = ask("duct-friction", flow_cfm=cfm, **duct)
    # The solver's own tolerance.
    assert found["pressures"]["a"] == pytest.approx(alone["loss_inwc"], rel=1e-8)
    law = found["links"]["duct"]
    assert law["k"] * cfm ** law["exponent"] == pytest.approx(alone["loss_inwc"], rel=1e-8)
    # The exponent is the slope of the law: a hundredth more air, by duct-friction.
    more = ask("duct-friction", flow_cfm=cfm * 1.01, **duct)["loss_inwc"]
    assert law["k"] * (cfm * 1.01) ** law["exponent"] == pytest.approx(more, rel=2e-5)


def test_a_ducts_fittings_add_their_coefficients() -> None:
    duct = {"material": "galvanized", "diameter_in": 8, "length_ft": 30}
    found = ask("network", **_between([{"id": "duct", "coefficient": 1.2, **duct}], 240))
    alone = ask("duct-friction", flow_cfm=240, **duct)
    elbow = ask("fitting-loss", fitting="elbow-mitred", velocity_fpm=alone["velocity_fpm"])
    assert found["pressures"]["a"] == pytest.approx(alone["loss_inwc"] + elbow["loss_inwc"], rel=1e-8)


def test_an_opening_loses_what_door_pressure_says() -> None:
    found = ask("network", **_between([{"id": "door", "free_area_in2": 16}], 125))
    alone = ask("door-pressure", flow_cfm=125, free_area_in2=16)["pressure_pa"]
    assert found["pressures"]["a"] * 249.08891 == pytest.approx(alone, rel=1e-8)


@pytest.mark.parametrize("exponent", [0.5, 0.6, 0.65, 1.0])
def test_a_leak_flows_as_leakage_at_pressure_says(exponent: float) -> None:
    leak = {"id": "leak", "cfm25": 120, "exponent": exponent}
    found = ask("network", **_between([leak], 150))
    pressure = found["pressures"]["a"] * 249.08891
    alone = ask("leakage-at-pressure", cfm25=120, pressure_pa=pressure, exponent=exponent)["flow_cfm"]
    assert alone == pytest.approx(150, rel=1e-8)


def test_parallel_ducts_share_as_an_independent_solution_says() -> None:
    # Oracle: the fluids library's Colebrook friction and scipy's root finder, on 16 in. flex and 10 in. metal, 900 cfm.
    runs = {"wide": (16 * 0.0254, 0.003 * 0.3048, 8.0), "narrow": (10 * 0.0254, 0.0003 * 0.3048, 12.0)}

    def loss(flow: float, run: tuple[float, float, float]) -> float:
        diameter, rough, length = run
        drop: float = fluids.one_phase_dP(
            m=flow * 1.2013846, rho=1.2013846, mu=1.8254e-5, D=diameter, roughness=rough, L=length, Method="Colebrook"
        )
        return drop

    whole = 900 * CFM
    wide = brentq(lambda q: loss(q, runs["wide"]) - loss(whole - q, runs["narrow"]), 0.01, whole - 0.01, xtol=1e-14)
    links = [
        {"id": "wide", "material": "flex", "diameter_in": 16, "length_m": 8},
        {"id": "narrow", "material": "galvanized", "diameter_in": 10, "length_m": 12},
    ]
    flows = ask(
        "network",
        "si",
        **(_between(links, 900) | {"blower": {"from": "b", "to": "a", "table": [[0, whole], [1e4, whole]]}}),
    )["flows"]
    # Standard density is given to eight digits here: 1e-7.
    assert flows["wide"] == pytest.approx(wide, rel=1e-7)


def test_two_ducts_share_mass_as_a_public_pipe_network_program_found() -> None:
    # Computed once with pandapipes 0.16.0, Colebrook, "air" at 294.26 K: 30 m of 0.25 and 0.20 m, roughness 0.09 mm,
    # 0.35 kg/s in all: 0.225777 and 0.124223 kg/s. Its air is 1.5 % lighter, which moves the split by less than 1e-4,
    # our roughness 0.0914 mm likewise; 0.02 %.
    total = 0.35 / 1.20138
    links = [
        {"id": name, "from": "a", "to": "b", "material": "galvanized", "diameter_mm": mm, "length_m": 30}
        for name, mm in (("wide", 250), ("narrow", 200))
    ]
    blower = {"from": "b", "to": "a", "table": [[0, total], [1e4, total]]}
    flows = ask("network", "si", node=[{"id": "b", "pressure": 0}], link=links, blower=blower)["flows"]
    assert flows["wide"] / total == pytest.approx(0.225777 / 0.35, rel=2e-4)


def test_a_still_duct_is_answered() -> None:
    # Between two nodes at one pressure nothing flows; the law must not divide by it.
    link = [{"id": "duct", "from": "a", "to": "b", "material": "flex", "diameter_in": 8, "length_ft": 10}]
    found = ask("network", node=[{"id": "a", "pressure": 0}, {"id": "b", "pressure": 0}], link=link)
    assert found["flows"]["duct"] == pytest.approx(0.0, abs=1e-9)


def test_a_duct_turned_round_carries_the_same_air_the_other_way() -> None:
    rows = [dict(row) for row in SMALL_HOUSE["link"]]  # type: ignore[attr-defined]
    there = ask("network", **SMALL_HOUSE)["flows"]
    rows[4]["from"], rows[4]["to"] = rows[4]["to"], rows[4]["from"]
    back = ask("network", **(SMALL_HOUSE | {"link": rows}))["flows"]
    assert back["bed"] == pytest.approx(-there["bed"], rel=1e-8)
    assert back["hall"] == pytest.approx(there["hall"], rel=1e-8)


@pytest.mark.parametrize("length", [1, 30, 500, 5000])
@pytest.mark.parametrize("diameter", [4, 8, 20])
def test_laws_settle_for_any_usual_duct(length: float, diameter: float) -> None:
    rows = [
        row | {"diameter_in": diameter, "length_ft": length} if row["id"] in ("bed", "hall") else row
        for row in SMALL_HOUSE["link"]  # type: ignore[attr-defined]
    ]
    found = ask("network", **(SMALL_HOUSE | {"link": rows}))
    # Every duct loses between its nodes what its law says at its flow, to the solver's tolerance.
    drop = found["pressures"]["plenum"] - found["pressures"]["bed"]
    law = found["links"]["bed"]
    assert law["k"] * found["flows"]["bed"] ** law["exponent"] == pytest.approx(drop, rel=1e-7)


@pytest.mark.parametrize(
    ("link", "text"),
    [
        ({"k": 1e-7, "diameter_in": 8}, "both resistance and duct"),
        ({"length_ft": 8}, "no known kind"),
        ({"diameter_in": 8, "length_ft": 8}, "lacks material"),
        ({"diameter_in": 8, "length_ft": 8, "material": "copper"}, "material of `x` is `copper`"),
        ({"diameter_in": 0, "length_ft": 8, "material": "flex"}, "diameter_in of `x` is 0"),
        ({"diameter_in": 8, "diameter_mm": 200, "length_ft": 8, "material": "flex"}, "given twice"),
        ({"diameter_in": 8, "length_ft": 8, "material": "lined", "compression_pct": 4}, "compression of `x`"),
        ({"diameter_in": 8, "length_ft": 8, "material": "flex", "compression_pct": 100}, "compression of `x`"),
        ({"diameter_in": 8, "length_ft": 8, "material": "flex", "exponent": 2}, "unknown for a duct"),
        ({"free_area_in2": -2}, "free_area_in2 of `x` is -2"),
        ({"free_area_in2": 20, "discharge": 1.5}, "discharge of `x`"),
        ({"cfm25": 0}, "cfm25 of `x` is 0"),
        ({"cfm25": 20, "exponent": 0.4}, "exponent of `x` is 0.4"),
        ({"k": "nan"}, "k of `x` is `nan`"),
        ({"k": 1e-300, "exponent": 1}, ""),
    ],
)
def test_a_link_that_cannot_be_is_refused_by_its_name(link: dict[str, object], text: str) -> None:
    call = _between([{"id": "x", **link}], 100)
    if not text:  # a resistance next to nothing is one
        assert faults("network", **call) == []
        return
    with pytest.raises(CallError) as caught:
        calculate("network", call)
    assert [(f.code, f.field) for f in caught.value.faults] == [("impossible-input", "link")]
    assert text in caught.value.faults[0].found


def test_a_duct_far_from_the_typical_velocity_loses_what_duct_friction_says() -> None:
    # The velocity at which a duct's law is first taken does not show in the answer.
    duct = {"material": "galvanized", "diameter_in": 8, "length_ft": 30}
    slow = ask("network", **_between([{"id": "duct", **duct}], 30))
    velocity = 30 / (pi * (8 / 24) ** 2)
    assert velocity < 100
    assert slow["pressures"]["a"] == pytest.approx(ask("duct-friction", flow_cfm=30, **duct)["loss_inwc"], rel=1e-8)
