"""Keys of calculations: names, units, refusals, valid ranges."""

import math

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.calculations.calculation import Key
from airwarrant.calculations.measures import MEASURES
from airwarrant.calculations.registry import CALCULATIONS, calculate
from airwarrant.errors import CallError
from calculations.asking import ORDINARY, ask, faults, valid

NAMES = sorted(CALCULATIONS)
#: name -> (inputs, outputs) as an owner may write them, in order.
AGREED = {
    "air-state": ("altitude_ft temp_f rh_pct", "pressure_psia density_lb_ft3 density_ratio sensible_factor"),
    "velocity-pressure": ("velocity_fpm density_ratio", "pressure_inwc"),
    "duct-friction": (
        "flow_cfm diameter_in material compression_pct length_ft density_ratio",
        "velocity_fpm reynolds friction_factor friction_inwc_per_100ft loss_inwc",
    ),
    "duct-size": ("flow_cfm friction_inwc_per_100ft material compression_pct", "diameter_in stock_in velocity_fpm"),
    "equivalent-diameter": ("shape width_in height_in", "diameter_in"),
    "flex-compression": ("diameter_in compression_pct", "factor"),
    "fan-law": ("flow_cfm static_inwc power_w new_flow_cfm", "static_inwc power_w"),
    "fan-power": ("flow_cfm power_w static_inwc", "w_per_cfm efficiency"),
    "blower-point": ("curve static_inwc at_cfm exponent", "flow_cfm static_inwc"),
    "grille-face": ("flow_cfm gross_in2 free_ratio", "face_fpm free_fpm cfm_per_in2"),
    "door-pressure": ("flow_cfm free_area_in2 discharge", "pressure_pa"),
    "transfer-area": (
        "flow_cfm limit_pa door_width_in undercut_in net_free_ratio grille_width_in",
        "total_free_in2 after_undercut_in2 grille_height_in jump_diameter_in",
    ),
    "leakage-at-pressure": ("cfm25 pressure_pa exponent", "flow_cfm"),
    "leakage-class": ("class pressure_inwc area_ft2", "flow_cfm"),
    "return-leak": ("grille_temp_f unit_temp_f source_temp_f flow_cfm", "fraction flow_cfm"),
    "distribution": (
        "season capacity_btuh flow_cfm supply_leak_cfm return_leak_cfm supply_area_ft2 return_area_ft2 supply_r return_r "
        "indoor_f indoor_w outdoor_f outdoor_w zone_f zone_w supply_f volume_ft3 air_changes regain_supply regain_return "
        "valve cycling",
        "delivery delivery_regain equipment_factor load_factor system",
    ),
    "airflow-modifiers": ("flow_fraction", "capacity energy_input_ratio power"),
    "sensible-heat": ("flow_cfm delta_f altitude_ft", "heat_btuh"),
    "temperature-rise": ("heat_btuh flow_cfm altitude_ft", "rise_f"),
    "season-energy": ("capacity_btuh hours seer", "energy_kwh"),
}


@pytest.mark.parametrize("name", sorted(AGREED))
def test_keys_are_as_agreed(name: str) -> None:
    inputs, outputs = AGREED[name]
    # An optional key may come on top; whoever does not know it never meets it.
    assert [key.name("ip") for key in CALCULATIONS[name].inputs if not key.optional] == inputs.split()
    assert [key.name("ip") for key in CALCULATIONS[name].outputs] == outputs.split()


@pytest.mark.parametrize("name", NAMES)
def test_every_calculation_says_equation_range_and_reference(name: str) -> None:
    doc = CALCULATIONS[name].function.__doc__ or ""
    assert "alid" in doc or "range" in doc
    assert len(doc.strip().splitlines()) >= 3
    assert CALCULATIONS[name].source


@pytest.mark.parametrize("name", NAMES)
def test_every_calculation_answers_an_ordinary_call_within_its_range(name: str) -> None:
    done = calculate(name, ORDINARY[name])
    assert done.valid, done.warnings
    assert list(done.as_json()) == ["calculation", "inputs", "outputs", "source", "valid", "warnings"]


@pytest.mark.parametrize("name", [name for name in NAMES if name not in ("balance", "blower-point", "network")])
def test_si_in_and_out_is_the_same_answer(name: str) -> None:
    ip = calculate(name, ORDINARY[name])
    first = calculate(name, ORDINARY[name], "si")
    second = calculate(name, first.inputs, "si")
    back = calculate(name, second.inputs, "ip")
    assert first.outputs.keys() == second.outputs.keys()
    for one, other in ((first, second), (ip, back)):
        for key, value in one.outputs.items():
            # Conversions round a few times in double precision; 1e-12 is a thousand of its steps.
            assert other.outputs[key] == (value if isinstance(value, str) else pytest.approx(value, rel=1e-12))


@settings(max_examples=40, deadline=None)
@given(st.floats(50.0, 3000.0), st.floats(4.0, 24.0))
def test_si_and_ip_agree_for_any_duct(cfm: float, inches: float) -> None:
    ip = ask("duct-friction", flow_cfm=cfm, diameter_in=inches, material="flex")
    si = ask(
        "duct-friction",
        "si",
        flow_l_s=cfm * 0.3048**3 / 60 * 1000,
        diameter_mm=inches * 25.4,
        material="flex",
        length_ft=100,
    )
    assert si["loss_pa"] == pytest.approx(ip["loss_inwc"] * 249.08891, rel=1e-12)
    assert si["velocity_m_s"] == pytest.approx(ip["velocity_fpm"] * 0.00508, rel=1e-12)


@pytest.mark.parametrize(
    ("measure", "unit"),
    [
        ("flow", "foot**3/minute"), ("velocity", "foot/minute"), ("volume", "foot**3"),
        ("barometric", "psi"), ("density", "pound/foot**3"), ("heat", "Btu_it/hour"),
        ("resistance", "hour*foot**2*delta_degF/Btu_it"), ("power-per-flow", "watt/(foot**3/minute)"),
        ("flow-per-face", "foot**3/minute/inch**2"), ("volumetric-heat", "Btu_it/hour/(foot**3/minute)/delta_degF"),
    ],
)  # fmt: skip
def test_units_of_the_keys(measure: str, unit: str) -> None:
    # Oracle: pint. Its factors carry twelve digits or more.
    factor = pint.UnitRegistry().Quantity(1, unit).to_base_units().magnitude
    assert MEASURES[measure].ip.factor == pytest.approx(factor, rel=1e-9)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, "nan", "inf"])
def test_a_number_that_is_none_is_refused_by_its_key(bad: object) -> None:
    assert faults("fan-law", **(ORDINARY["fan-law"] | {"static_inwc": bad})) == [("impossible-input", "static_inwc")]


@pytest.mark.parametrize(
    ("name", "change", "field"),
    [
        ("duct-friction", {"flow_cfm": 0}, "flow_cfm"),
        ("duct-friction", {"diameter_in": -8}, "diameter_in"),
        ("duct-friction", {"compression_pct": 100}, "compression_pct"),
        ("duct-friction", {"material": "galvanized"}, "compression_pct"),
        ("temperature-rise", {"flow_cfm": 0}, "flow_cfm"),
        ("door-pressure", {"free_area_in2": -1}, "free_area_in2"),
        ("grille-face", {"gross_in2": 0}, "gross_in2"),
        ("grille-face", {"free_ratio": 1.1}, "free_ratio"),
        ("transfer-area", {"limit_pa": 0}, "limit_pa"),
        ("air-state", {"temp_f": -460}, "temp_f"),
        ("air-state", {"rh_pct": 101}, "rh_pct"),
        ("air-state", {"altitude_ft": 150000}, "altitude_ft"),
        ("return-leak", {"source_temp_f": 78}, "source_temp_f"),
        ("distribution", {"return_leak_cfm": 1200}, "return_leak_cfm"),
        ("distribution", {"cycling": 1.5}, "cycling"),
        ("blower-point", {"curve": "0.2:1500"}, "curve"),
        ("blower-point", {"curve": "0.2:1500,0.3:1600"}, "curve"),
        ("blower-point", {"curve": "0.2:1500,0.2:1400"}, "curve"),
        ("blower-point", {"curve": "0.2;1500"}, "curve"),
        ("fitting-loss", {"radius_ratio": 0}, "radius_ratio"),
        ("fitting-loss", {"pieces": 5}, "pieces"),
        ("fitting-loss", {"fitting": "elbow-gored"}, "angle_deg"),
        ("balance", {"branch": []}, "branch"),
        ("balance", {"branch": [{"id": "a", "measured_cfm": 0, "design_cfm": 1}]}, "branch"),
        ("balance", {"available_pressure_inwc": 0.1}, "available_pressure_inwc"),
        ("verdict", {"plus_minus": -1}, "plus_minus"),
    ],
)
def test_impossible_input_is_refused_with_its_key(name: str, change: dict[str, object], field: str) -> None:
    assert faults(name, **(ORDINARY[name] | change)) == [("impossible-input", field)]


@pytest.mark.parametrize(
    ("name", "change"),
    [
        ("air-state", {"altitude_ft": 40000}),
        ("duct-friction", {"flow_cfm": 5}),
        ("duct-friction", {"compression_pct": 40}),
        ("flex-compression", {"diameter_in": 20}),
        ("flex-compression", {"diameter_in": 12}),
        ("equivalent-diameter", {"height_in": 1}),
        ("fitting-loss", {"radius_ratio": 3}),
        ("fan-law", {"new_flow_cfm": 300}),
        ("fan-power", {"power_w": 50}),
        ("blower-point", {"static_inwc": 3}),
        ("door-pressure", {"discharge": 0.9}),
        ("leakage-at-pressure", {"exponent": 0.4}),
        ("return-leak", {"unit_temp_f": 70}),
        ("return-leak", {"source_temp_f": 85}),
        ("airflow-modifiers", {"flow_fraction": 0.6}),
        ("season-energy", {"hours": 9000}),
        ("distribution", {"supply_leak_cfm": 700}),
    ],
)
def test_out_of_range_still_answers_and_says_so(name: str, change: dict[str, object]) -> None:
    assert not valid(name, **(ORDINARY[name] | change))
    assert calculate(name, ORDINARY[name] | change).outputs


def test_every_fault_of_a_call_comes_at_once_with_the_nearest_key() -> None:
    with pytest.raises(CallError) as caught:
        calculate("duct-size", {"flow_cmf": 3, "material": "flx"})
    assert [(f.code, f.field) for f in caught.value.faults] == [
        ("missing-key", "flow_cfm"),
        ("unknown-key", "flow_cmf"),
        ("missing-key", "friction_inwc_per_100ft"),
        ("wrong-value", "material"),
    ]
    assert [f.advice for f in caught.value.faults if f.field in ("flow_cmf", "material")] == [
        "Did you mean `flow_cfm`?", "Did you mean `flex`?"
    ]  # fmt: skip


def test_a_key_that_this_fitting_needs_is_missing() -> None:
    assert faults("fitting-loss", fitting="expansion", velocity_fpm=900) == [("missing-key", "area_ratio")]


def test_an_unknown_calculation_names_the_nearest() -> None:
    with pytest.raises(CallError, match="Did you mean `duct-friction`"):
        calculate("duct-fricton", {})


@pytest.mark.parametrize("area", [5e307, 1e308])
def test_numbers_beyond_double_precision_are_refused(area: float) -> None:
    found = [code for code, _ in faults("leakage-class", **{"class": 60}, pressure_inwc=64, area_ft2=area)]
    assert found == ["impossible-input"]


def test_one_key_in_two_units_is_refused() -> None:
    assert faults("temperature-rise", heat_btuh=34121, heat_kw=10, flow_cfm=1000) == [("duplicate-key", "heat_kw")]


def test_heat_in_kilowatts_is_heat() -> None:
    assert ask("temperature-rise", heat_kw=10, flow_cfm=1000)["rise_f"] == pytest.approx(
        ask("temperature-rise", heat_btuh=34121.4163, flow_cfm=1000)["rise_f"], rel=1e-9
    )


def _inputs(key: Key) -> st.SearchStrategy[object]:
    if key.form == "word":
        return st.sampled_from(key.words)
    if key.form == "structure":
        return st.one_of(st.text(max_size=8), st.lists(st.integers(), max_size=3), st.just("0:9e99,1e-300:5"))
    return st.one_of(st.floats(), st.floats(0.0, 100.0), st.just("x"))


@settings(max_examples=300, deadline=None)
@given(st.data())
def test_any_call_is_answered_in_finite_numbers_or_refused(data: st.DataObject) -> None:
    calculation = CALCULATIONS[data.draw(st.sampled_from(NAMES))]
    given_ = {key.name("ip"): data.draw(_inputs(key)) for key in calculation.inputs}
    try:
        done = calculate(calculation.name, given_)
    except CallError:
        return
    assert all(math.isfinite(value) for value in done.outputs.values() if isinstance(value, float))


@pytest.mark.parametrize(
    ("given_", "word"),
    [
        ({}, "pass"),
        ({"plus_minus": 1.5}, "close"),
        ({"plus_minus": 1.5, "doubt": "against"}, "fail"),
        ({"plus_minus": 1.5, "band": 0.5}, "pass"),
        ({"must_be": "at-least"}, "fail"),
        ({"value": 3.0, "plus_minus": 0}, "pass"),
        ({"value": 3.0, "plus_minus": 0, "must_be": "below"}, "fail"),
        ({"value": 3.04, "plus_minus": 0, "unit": "Pa"}, "pass"),
    ],
)
def test_verdict(given_: dict[str, object], word: str) -> None:
    assert ask("verdict", **(ORDINARY["verdict"] | given_))["verdict"] == word


def test_probability_of_a_verdict() -> None:
    # JCGM 106:2012: two standard deviations inside the limit.
    assert ask("verdict", **ORDINARY["verdict"])["probability"] == pytest.approx(0.97725, abs=5e-6)


@pytest.mark.parametrize(("inches", "stock"), [(0.02, 7), (0.1, 6), (0.003, 10), (0.001, 14)])
def test_stock_size_is_the_next_one_up(inches: float, stock: float) -> None:
    found = ask("duct-size", flow_cfm=100, friction_inwc_per_100ft=inches, material="galvanized")
    assert found["stock_in"] >= found["diameter_in"]
    assert found["stock_in"] - found["diameter_in"] < 2
    assert found["stock_in"] <= 10 or found["stock_in"] % 2 == 0
