"""Oracles: independent libraries that know the same physics."""

import CoolProp.HumidAirProp
import fluids
import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from airwarrant.air.elbows import MITRED_ELBOW
from airwarrant.air.fittings import sudden_expansion
from airwarrant.air.friction import friction, friction_factor
from airwarrant.air.moist import density, humidity_ratio, pressure_at_altitude, saturation_pressure


@settings(max_examples=100, deadline=None)
@given(st.floats(4e3, 1e7), st.floats(0.0, 0.05))
def test_friction_factor_is_colebrooks(reynolds: float, roughness: float) -> None:
    # Both are exact solutions; fluids' closed form is good to about 1e-13.
    known = fluids.friction_factor(Re=reynolds, eD=roughness, Method="Colebrook")
    assert friction_factor(reynolds, roughness) == pytest.approx(known, rel=1e-9)


@pytest.mark.parametrize("reynolds", [100.0, 1500.0, 2000.0])
def test_laminar_friction_factor(reynolds: float) -> None:
    assert friction_factor(reynolds, 0.01) == pytest.approx(fluids.friction_laminar(reynolds), rel=1e-12)


def test_loss_of_a_duct() -> None:
    # One-phase pressure drop of fluids at the same density and viscosity: the same law, 1e-9.
    found = friction(0.1, 0.2, 9e-5, 1.2)
    known = fluids.one_phase_dP(m=0.12, rho=1.2, mu=1.8254e-5, D=0.2, roughness=9e-5, L=1.0, Method="Colebrook")
    assert found.loss_per_length == pytest.approx(known, rel=1e-9)


@pytest.mark.parametrize("ratio", [0.1, 0.25, 0.5, 0.9])
def test_sudden_expansion(ratio: float) -> None:
    assert sudden_expansion(ratio) == pytest.approx(fluids.diffuser_sharp(Di1=ratio**0.5, Di2=1.0), rel=1e-12)


def test_mitred_elbow() -> None:
    # Rennels' formula, 1.202, against the printed 1.2: 1 %.
    assert MITRED_ELBOW(90) == pytest.approx(fluids.bend_miter(angle=90, Di=0.25, Re=2e5, method="Rennels"), rel=0.01)


@pytest.mark.parametrize("metres", [0, 500, 1000, 1500, 2000, 3000])
def test_pressure_of_the_standard_atmosphere(metres: float) -> None:
    # US Standard Atmosphere 1976; the handbook's equation takes geometric for geopotential height: 0.05 %.
    assert pressure_at_altitude(metres) == pytest.approx(fluids.ATMOSPHERE_1976(metres).P, rel=5e-4)


@pytest.mark.parametrize("celsius", [-20.0, -1.0, 5.0, 25.0, 50.0])
def test_saturation_pressure(celsius: float) -> None:
    # PsychroLib has the same equations, 1e-9; CoolProp the newer IAPWS ones, 0.1 %.
    psychrolib.SetUnitSystem(psychrolib.SI)
    found = saturation_pressure(celsius + 273.15)
    assert found == pytest.approx(psychrolib.GetSatVapPres(celsius), rel=1e-9)
    vapour = CoolProp.HumidAirProp.HAPropsSI("P_w", "T", celsius + 273.15, "P", 101325.0, "R", 1.0)
    # CoolProp counts the enhancement by air, 0.4 to 0.5 % at sea level.
    assert found == pytest.approx(vapour, rel=0.006)


@settings(max_examples=50, deadline=None)
@given(st.floats(-10.0, 50.0), st.floats(0.0, 1.0), st.floats(0.0, 3000.0))
def test_density_of_moist_air(celsius: float, humidity: float, metres: float) -> None:
    # CoolProp knows real gas and the enhancement factor: 0.3 % in density, of which vapour at 50 °C is the most.
    pressure = pressure_at_altitude(metres)
    found = humidity_ratio(celsius + 273.15, humidity, pressure)
    volume = CoolProp.HumidAirProp.HAPropsSI("Vha", "T", celsius + 273.15, "P", pressure, "R", humidity)
    assert density(celsius + 273.15, found, pressure) == pytest.approx(1.0 / volume, rel=3e-3)
    psychrolib.SetUnitSystem(psychrolib.SI)
    # PsychroLib rounds the gas constant to six digits and floors the humidity ratio at 1e-7: 5e-6.
    known = psychrolib.GetMoistAirDensity(celsius, found, pressure)
    assert density(celsius + 273.15, found, pressure) == pytest.approx(known, rel=5e-6)
