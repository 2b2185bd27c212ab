"""Heating on the predicted air: the rise the new heating section makes, and the airflow its nameplate allows.

A rise is judged against the nameplate of the unit it belongs to: what is worked out here is the new unit's.
"""

from collections.abc import Mapping
from types import MappingProxyType

import numpy as np

from airwarrant.air.heating import flow_for_rise, temperature_rise
from airwarrant.house.air_side import AirSide, Derived, Floats
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.surroundings import air_density
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.record import JobRecord

#: No policy parameter is read here: heat, airflow and altitude are the record's and the prediction's.
NEEDED: Mapping[str, str] = MappingProxyType({})

_BURNS = ("gas", "oil")
_ELECTRIC = ("electric", "heat-pump")


def heat_readings(record: JobRecord, assumptions: Assumptions, air: AirSide) -> Derived:
    """Work out the temperature rise of the new unit's heating section on this air.

    Parameters
    ----------
    record : JobRecord
        Of the new unit: `fuel`; `heat_output` of a gas or oil furnace, `strip_heat` of an electric furnace or heat pump
        (or its `heat_output`, where only that is written); `rise_low` and `rise_high` of the nameplate. Of the house:
        `altitude`.
    assumptions : Assumptions
        Not read.
    air : AirSide
        Arrays (sets,).

    Returns
    -------
    Derived
        ``house`` fields, every array (sets,): `temperature_rise` [K, shown in F diff]; `heat_flow_low` and
        `heat_flow_high` [m3/s, shown in cfm], the airflow that the nameplate's `rise_high` and `rise_low` allow.

    Notes
    -----
    ``dT = q / (rho cp Q)`` with the density of the house's altitude. The heat of a heat pump itself is not in the
    record and not counted: with the strips alone the rise is that of emergency heat.
    """
    fuel = record.items[HOUSE_KEY].words.get("fuel")
    if fuel == "none":
        return Derived(MappingProxyType({}))
    notes: list[str] = []
    assumed: list[str] = []
    values: dict[tuple[str, str], tuple[Floats, str]] = {}
    _least_airflow_written(record, fuel, notes)
    heat = _heat(record, fuel, notes)
    if heat is not None and np.all(air.flow > 0.0):
        density = air_density(record, assumed)
        assumed.append("the heating section runs at the fan setting of the prediction")
        if fuel in _BURNS:
            assumed.append(
                "the heat output is the one at the house's altitude, after any derating the maker or the code asks for"
            )
        values[HOUSE_KEY, "temperature_rise"] = (temperature_rise(heat, air.flow, density), "F diff")
        for name, limit in (("heat_flow_low", "rise_high"), ("heat_flow_high", "rise_low")):
            rise = record.new.get(limit)
            if rise is not None:
                values[HOUSE_KEY, name] = (np.full(air.flow.shape, flow_for_rise(heat, si(rise), density)), "cfm")
    return Derived(MappingProxyType(values), tuple(notes), tuple(assumed))


def _heat(record: JobRecord, fuel: str | None, notes: list[str]) -> float | None:
    """Heat of the section that makes the rise [W]."""
    names: tuple[str, ...] = ("heat_output",)
    if fuel not in _BURNS:
        names = ("strip_heat", "heat_output") if fuel in _ELECTRIC else ("heat_output", "strip_heat")
    found = next((record.new[name] for name in names if name in record.new), None)
    if found is None:
        notes.append(f"temperature_rise is left out: the record lacks the new unit's {' or '.join(names)}")
        return None
    heat = si(found)
    return heat if heat > 0.0 else None


def _least_airflow_written(record: JobRecord, fuel: str | None, notes: list[str]) -> None:
    """Electric heat trips its limits below the maker's least airflow: a record without that number is told."""
    strips = record.new.get("strip_heat")
    if fuel in _ELECTRIC and strips is not None and strips.value > 0.0 and "heat_min_flow" not in record.new:
        notes.append(
            "electric heat needs the maker's least airflow for the elements installed: the record lacks heat_min_flow"
        )
