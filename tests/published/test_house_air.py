"""Doors, leakage, distribution, equipment and balancing against values from outside the project."""

import math

import pytest

from airwarrant.air import distribution as d
from airwarrant.air.heating import density_at, flow_for_rise, sensible_heat, temperature_rise
from airwarrant.air.moist import enthalpy
from airwarrant.air.season import running_hours, season_energy_with_ducts
from airwarrant.air.wet_bulb import humidity_of_wet_bulb
from calculations.asking import HOT_DRY, HUMID, ask

CFM = 0.3048**3 / 60
BTUH = 1055.05585262 / 3600
FT2 = 0.3048**2
R = FT2 / 1.8 / BTUH
CAPACITY = 36000 * BTUH


def kelvin(f: float) -> float:
    return (f + 459.67) / 1.8


def test_the_undercut_alone() -> None:
    # Computed from 1.07 A sqrt(dP): 125 cfm under a 32-in. door cut 0.5 in. 53.3 Pa, 1 in. 13.3 Pa. Tolerance 0.4 %: Cd
    # 0.606 is 1.0695, and three figures are printed.
    assert ask("door-pressure", flow_cfm=125, free_area_in2=16)["pressure_pa"] == pytest.approx(53.3, rel=4e-3)
    assert ask("door-pressure", flow_cfm=125, free_area_in2=32)["pressure_pa"] == pytest.approx(13.3, rel=4e-3)


@pytest.mark.parametrize(
    ("pressure", "exponent", "cfm"), [(50, 0.6, 181.9), (50, 0.65, 188.3), (12.5, 0.6, 79.2), (12.5, 0.65, 76.5)]
)
def test_leakage_at_other_pressures(pressure: float, exponent: float, cfm: float) -> None:
    # Power law, exponent of ASHRAE 152 read in a laboratory's code; computed, printed to 0.1.
    assert ask("leakage-at-pressure", cfm25=120, pressure_pa=pressure, exponent=exponent)["flow_cfm"] == pytest.approx(
        cfm, abs=0.05
    )


@pytest.mark.parametrize(
    ("leakage_class", "inwc", "cfm"), [(6, 1.0, 6.0), (12, 0.5, 7.647), (3, 0.10037, 0.67), (48, 0.10037, 10.77)]
)
def test_leakage_class(leakage_class: float, inwc: float, cfm: float) -> None:
    # SMACNA / ASHRAE, formula read in a copy; computed, printed to two or three decimals.
    assert ask("leakage-class", **{"class": leakage_class}, pressure_inwc=inwc)["flow_cfm"] == pytest.approx(
        cfm, abs=5e-3
    )


def _ducts(supply_leak: float = 0, return_leak: float = 0, area: float = 0) -> d.Ducts:
    return d.Ducts(1200 * CFM, supply_leak * CFM, return_leak * CFM, area * FT2, 0.0, 6 * R, 6 * R)


@pytest.mark.parametrize(
    ("ducts", "delivery", "regained"),
    [(_ducts(120), 0.9, 0.91), (_ducts(return_leak=120), 0.8128, None), (_ducts(area=400), 0.86462, 0.87816)],
)
def test_delivery_by_hand(ducts: d.Ducts, delivery: float, regained: float | None) -> None:
    # ASHRAE 152's equations as read in laboratory code, worked by hand: attic 130 °F of the room's humidity. Tolerance
    # 1e-4: four or five figures.
    indoor_h, zone_h = enthalpy(kelvin(78), 0.0), enthalpy(kelvin(130), 0.0)
    found = d.cooling_delivery(ducts, -CAPACITY, kelvin(78), kelvin(130), indoor_h, zone_h, kelvin(55))
    assert found == pytest.approx(delivery, abs=1e-4)
    if regained is not None:
        again = d.with_regain(ducts, found, -CAPACITY, kelvin(78), kelvin(130), 0.1, 0.1)
        assert again == pytest.approx(regained, abs=1e-4)


@pytest.mark.parametrize(
    ("zone", "zone_w", "indoor_h", "outdoor_h", "delivery", "regained", "system"),
    [
        (104, 0.0079, 27.0, 31.0, 0.70758, 0.72759, 0.69018425),
        (96, 0.0160, 30.0, 37.0, 0.67183, 0.69826, 0.66151136),
    ],
)
def test_whole_chain_with_rounded_enthalpies(
    zone: float, zone_w: float, indoor_h: float, outdoor_h: float, delivery: float, regained: float, system: float
) -> None:
    # A US national laboratory's ASHRAE 152 code run unmodified, hot-dry and hot-humid; it takes rounded seasonal
    # enthalpies. It does not hold the equipment factor to 1, as ours does: at 1.001 of rated flow it gives 1.0000267.
    # Tolerance 1e-6 where eight figures are printed, 1e-5 where five.
    ducts = d.Ducts(
        1200 * CFM, 120 * CFM, 120 * CFM, 432 * FT2, 112 * FT2,
        d.effective_resistance(6 * R, supply=True), d.effective_resistance(6 * R, supply=False),
    )  # fmt: skip
    h_in, h_out, h_zone = indoor_h * 2326, outdoor_h * 2326, enthalpy(kelvin(zone), zone_w)
    found = d.cooling_delivery(ducts, -CAPACITY, kelvin(78), kelvin(zone), h_in, h_zone, kelvin(55))
    again = d.with_regain(ducts, found, -CAPACITY, kelvin(78), kelvin(zone), 0.1, 0.1)
    natural = 0.35 * 16000 / 60 * CFM
    load = d.load_factor(-CAPACITY, found, d.net_infiltration(natural, 120 * CFM, 120 * CFM) - natural, h_in - h_out)
    x = d.flow_over_rated(1200 * CFM, CAPACITY)
    equipment = 1.62 - 0.62 * x + 0.647 * math.log(x)
    assert (found, again) == (pytest.approx(delivery, abs=1e-5), pytest.approx(regained, abs=1e-5))
    assert again * load * equipment * 0.95 == pytest.approx(system, abs=1e-6)


@pytest.mark.parametrize(("season", "delivery", "system"), [(HOT_DRY, 0.70082, 0.68437), (HUMID, 0.67338, 0.66272)])
def test_whole_chain_from_humidity_ratios(season: dict[str, object], delivery: float, system: float) -> None:
    # The same cases with enthalpies from temperature and humidity ratio. Tolerance 1e-5: five figures.
    found = ask("distribution", **season)
    assert (found["delivery"], found["system"]) == (pytest.approx(delivery, abs=1e-5), pytest.approx(system, abs=1e-5))


@pytest.mark.parametrize(
    ("x", "txv", "other"),
    [
        (0.6, 0.9175, 0.86),
        (0.7, 0.95523, 0.895),
        (0.8, 0.97963, 0.93),
        (0.9, 0.99383, 0.965),
        (1.0, 1.0, 1.0),
    ],
)
def test_equipment_factor(x: float, txv: float, other: float) -> None:
    # Formula read in laboratory code; computed to five figures; never above 1.
    assert d.equipment_factor(x, txv=True) == pytest.approx(txv, abs=6e-6)
    assert d.equipment_factor(x, txv=False) == pytest.approx(other, abs=1e-9)


def test_more_than_rated_airflow_earns_nothing() -> None:
    # The open form passes 1 above rated flow, the one for expansion valves falls again by itself.
    assert d.equipment_factor(1.2, txv=False) == 1.0
    assert d.equipment_factor(1.0010010, txv=True) == 1.0


def test_balanced_leakage_and_the_exponent_of_the_laboratories() -> None:
    # 0.67 in place of 2/3: 93.33 cfm become 95.47; the other side of the formula's sign gives none. Printed to 0.01
    # cfm.
    natural = 0.35 * 16000 / 60 * CFM
    assert d.net_infiltration(natural, 0.0, 0.0) / CFM == pytest.approx(95.47, abs=0.01)
    assert d.net_infiltration(natural, 0.0, 200 * CFM) == 0.0


@pytest.mark.parametrize(
    ("x", "capacity", "ratio", "power"),
    [
        (0.60, 0.91833, 1.09207, 1.00288), (0.75, 0.95378, 1.05174, 1.00313), (0.80, 0.96431, 1.03985, 1.00274),
        (0.90, 0.98344, 1.01838, 1.00152), (1.0, 1.0, 1.0, 1.0), (1.10, 1.01398, 0.98472, 0.99849),
        (1.25, 1.03013, 0.96760, 0.99675),
    ],
)  # fmt: skip
def test_airflow_modifiers(x: float, capacity: float, ratio: float, power: float) -> None:
    # Unit tests of the US Department of Energy's open whole-building simulation, read. Tolerance 1e-5: five decimals.
    found = ask("airflow-modifiers", flow_fraction=x)
    assert list(found.values()) == pytest.approx([capacity, ratio, power], abs=1e-5)


@pytest.mark.parametrize(
    ("btuh", "hours", "seer", "kwh"),
    [(36000, 1000, 14, 2571.4), (48000, 1500, 10, 7200.0), (48000, 1500, 14.3, 5035.0)],
)
def test_season_energy(btuh: float, hours: float, seer: float, kwh: float) -> None:
    # Computed from the definition, printed to 0.1.
    assert ask("season-energy", capacity_btuh=btuh, hours=hours, seer=seer)["energy_kwh"] == pytest.approx(
        kwh, abs=0.05
    )


def test_balance_of_three_branches() -> None:
    # Computed: way to the header 2e-8, branches 1e-6/2e-6/4e-6 in. w.c./cfm2, design 300/300/200, 0.3 in. before it.
    # All end at 124.74 %. Tolerance 0.01 cfm and 1 % of the added resistances: flows are given to 0.01.
    flows = (522.84, 369.71, 261.42)
    branches = [
        {"id": i, "measured_cfm": q, "design_cfm": design}
        for i, q, design in zip("abc", flows, (300, 300, 200), strict=True)
    ]
    header = 0.3 - 2e-8 * sum(flows) ** 2
    found = ask("balance", branch=branches, node_pressure_inwc=header, available_pressure_inwc=0.3)
    assert found["key_branch"] == "b"
    assert [b["flow_cfm"] for b in found["branches"]] == pytest.approx([374.22, 374.22, 249.48], abs=0.01)
    assert {round(b["ratio"], 4) for b in found["branches"]} == {1.2474}
    added = [b["added_loss_inwc"] / b["flow_cfm"] ** 2 for b in found["branches"]]
    assert added == pytest.approx([1e-6, 0.0, 5e-7], rel=0.01)


@pytest.mark.parametrize(
    ("dry", "wet", "psia", "printed", "tolerance"),
    [(100, 65, 14.696, 0.00523, 0.01), (80, 67, 14.696, 0.011169, 1e-4)],
)
def test_humidity_of_two_bulbs(dry: float, wet: float, psia: float, printed: float, tolerance: float) -> None:
    # ASHRAE Handbook—Fundamentals 2017 ch. 1 example 1, read in a copy: 0.00523, off a chart and 0.8 % above the
    # equation. 80/67 °F, the rating point: 0.011169, computed by PsychroLib.
    found = humidity_of_wet_bulb(kelvin(dry), kelvin(wet), psia * 6894.757293168361)
    assert found == pytest.approx(printed, rel=tolerance)


@pytest.mark.parametrize("altitude", [0, 5000])
@pytest.mark.parametrize(("dry", "wet"), [(70, 48), (75, 63), (78, 78), (95, 60), (110, 75)])
def test_humidity_of_two_bulbs_against_psychrolib(dry: float, wet: float, altitude: float) -> None:
    psychrolib = pytest.importorskip("psychrolib")
    psychrolib.SetUnitSystem(psychrolib.IP)
    psia = psychrolib.GetStandardAtmPressure(altitude)
    expected = psychrolib.GetHumRatioFromTWetBulb(dry, wet, psia)
    found = humidity_of_wet_bulb(kelvin(dry), kelvin(wet), psia * 6894.757293168361)
    # The same equation; a dry result is the difference of two terms, and the psi of PsychroLib's pressure are rounded:
    # 1e-6 absolute.
    assert found == pytest.approx(expected, abs=1e-6)


@pytest.mark.parametrize(
    ("altitude", "factor", "btuh"), [(0, 1.08, 25920), (5000, 0.8986, 21566), (7000, 0.8334, None)]
)
def test_sensible_heat_of_the_air_of_an_altitude(altitude: float, factor: float, btuh: float | None) -> None:
    # Computed by hand: 1.08 times p/p0 of ASHRAE Handbook—Fundamentals 2017 ch. 1 eq. 3; 1200 cfm over 20 °F. Tolerance
    # 0.1 %: four figures.
    density = density_at(altitude * 0.3048)
    assert sensible_heat(CFM, 1 / 1.8, density) / BTUH == pytest.approx(factor, rel=1e-3)
    if btuh is not None:
        assert sensible_heat(1200 * CFM, 20 / 1.8, density) / BTUH == pytest.approx(btuh, rel=1e-3)
    assert temperature_rise(36000 * BTUH, 1200 * CFM, density) * 1.8 == pytest.approx(30 / factor, rel=1e-3)
    flow = flow_for_rise(36000 * BTUH, 30 / factor / 1.8, density)
    assert flow / CFM == pytest.approx(1200, rel=1e-3)


def test_a_season_through_ducts_is_a_label_times_their_efficiency() -> None:
    # AHRI 210/240's definition of SEER and 3.412 Btu/h to a watt, by hand: 36,000 Btu/h for 1,000 h at SEER 14 are
    # 2571.4 kWh, over an efficiency of 0.8 3214.3; 100 W for 1,250 h more are 125 kWh and another 30.5 for their heat.
    # Printed to 0.1.
    running = running_hours(1000, 0.8, 1.0, 1.0)
    assert running == 1250.0
    plain = season_energy_with_ducts(CAPACITY, 1000, 14, 0.8, 0.0, running) / 3.6e6
    fanned = season_energy_with_ducts(CAPACITY, 1000, 14, 0.8, 100.0, running) / 3.6e6
    assert (plain, fanned) == (pytest.approx(3214.3, abs=0.05), pytest.approx(3214.3 + 125 + 30.5, abs=0.05))


def test_a_supply_zone_of_its_own_changes_the_supply_side_alone() -> None:
    # The equations as read in laboratory code keep the two sides' temperatures apart: dTs and dTr. Without ducts on one
    # side its zone drops out; with one zone given twice nothing changes.
    attic, crawl, indoor = kelvin(130), kelvin(80), kelvin(78)
    h = enthalpy(indoor, 0.0), enthalpy(attic, 0.0)
    ducts = _ducts(area=400)
    same = d.cooling_delivery(ducts, -CAPACITY, indoor, attic, *h, kelvin(55), attic)
    assert (
        same == d.cooling_delivery(ducts, -CAPACITY, indoor, attic, *h, kelvin(55)) == pytest.approx(0.86462, abs=1e-4)
    )
    # By hand: B_s 0.94986, 25 °F in place of 75: 1 - 0.05014 × 25 / 27.778.
    cooler = d.cooling_delivery(ducts, -CAPACITY, indoor, attic, *h, kelvin(55), crawl)
    assert cooler == pytest.approx(1 - 0.05014 * 25 / 27.778, abs=1e-4)
    bare = _ducts(120)
    assert d.cooling_delivery(bare, -CAPACITY, indoor, attic, *h, kelvin(55), crawl) == pytest.approx(0.9, abs=1e-9)


def test_sensible_heat_alone_is_the_heating_form_with_the_sign_turned() -> None:
    # 10 % supply leak only, then 10 % return leak only from a 130 °F attic of dry air: 0.9 and 0.8128, as in the
    # cooling form, which for dry air is the same balance.
    for ducts, share in ((_ducts(120), 0.9), (_ducts(return_leak=120), 0.8128)):
        assert d.heating_delivery(ducts, -CAPACITY, kelvin(78), kelvin(130)) == pytest.approx(share, abs=1e-4)
