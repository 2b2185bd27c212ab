"""What reaches the rooms, and what a cooling season costs: capacity at the registers, duct efficiency, energy, money.

Two conditions, never mixed: `delivered_capacity`, `delivered_sensible` and `delivery` are for the hour of the newest
readings; `system_efficiency` and everything named `season_` are for the season of the region's policy.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from airwarrant.air import distribution as ashrae_152
from airwarrant.air.equipment import capacity_modifier
from airwarrant.air.moist import enthalpy
from airwarrant.air.season import running_hours, season_energy_with_ducts
from airwarrant.air.standard import STANDARD_DENSITY
from airwarrant.house import surroundings
from airwarrant.house.air_side import AirSide, Derived, Floats
from airwarrant.house.assumptions import Assumptions, si
from airwarrant.house.surroundings import Places, Surroundings
from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.job.record import JobRecord
from airwarrant.units import UNITS

#: Policy parameters that are read here, and the unit each must convert to.
NEEDED: Mapping[str, str] = MappingProxyType(
    {
        **surroundings.NEEDED,
        "season_supply_temp": "F",
        "season_supply_duct_share": "%",
        "season_return_duct_share": "%",
        "season_duct_r": "h ft2 F/Btu",
        "season_ceiling_height": "ft",
        "season_air_changes": "1",
        "season_cycling": "%",
        "season_sensible_share": "%",
        "season_rated_blower": "W/cfm",
        "season_hours": "h",
        "season_hours_low": "%",
        "season_hours_high": "%",
    }
)

# The range in which `capacity_modifier` was fitted; a laboratory's model holds it at its ends beyond.
_FITTED = (0.75, 1.25)
_ENERGY = ("season_energy", "season_energy_low", "season_energy_high")
_COST = ("season_cost", "season_cost_low", "season_cost_high")

_Values = dict[tuple[str, str], tuple[Floats, str]]


@dataclass(slots=True)
class _House:
    """What the record gives of house and equipment, SI; a scratch pad of one call."""

    capacity: float
    ducts: ashrae_152.Ducts[Floats]
    volume: float
    places: Places
    txv: bool
    capacity_share: Floats
    flow_ratio: Floats
    blower_excess: Floats | float


def season_readings(record: JobRecord, assumptions: Assumptions, air: AirSide) -> Derived:
    """Work out what reaches the rooms and what a season costs, of the new unit on this air.

    Parameters
    ----------
    record : JobRecord
        Needs `return_path_space`, `floor_area` and the new unit's `capacity` or `tons`; for energy its `seer`, for
        money also `electric_rate`. Areas and insulation of ducts, ceiling height, altitude and the newest readings of
        temperature are used where they are there.
    assumptions : Assumptions
        Values of `NEEDED`.
    air : AirSide
        Arrays (sets,).

    Returns
    -------
    Derived
        ``house`` fields, every array (sets,): `delivered_capacity` and `delivered_sensible` [W, shown in Btu/h],
        `delivery` and `system_efficiency` (shares, shown in %), `season_energy` [J, shown in kWh], `season_cost`
        [money], and the latter two as ``_low`` and ``_high`` of the range of hours.

    Notes
    -----
    ASHRAE 152 (see `air.distribution`), with the density of the air at the house's altitude. At the readings' hour the
    equipment gives its rated capacity, changed by airflow alone, less what the blower draws beyond its rating. What
    airflow does to the efficiency counts once, in the method's equipment factor.
    """
    notes: list[str] = []
    assumed: list[str] = []
    house = _house(record, assumptions, air, notes, assumed)
    values: _Values = {}
    if house is not None:
        _at_readings(record, house, assumptions, values, notes, assumed)
        _over_season(record, house, assumptions, values, notes, assumed)
    return Derived(MappingProxyType(values), tuple(notes), tuple(assumed))


def _house(
    record: JobRecord, assumptions: Assumptions, air: AirSide, notes: list[str], assumed: list[str]
) -> _House | None:
    numbers = record.items[HOUSE_KEY].numbers
    capacity, area = _capacity(record, assumed), numbers.get("floor_area")
    places = surroundings.duct_places(record, assumed)
    missing = [
        text
        for text, absent in (
            ("the new unit's capacity or tons", capacity is None),
            ("floor_area", area is None),
            ("return_path_space", places is None),
        )
        if absent
    ]
    if capacity is None or area is None or places is None:
        notes.append(f"what reaches the rooms and the season are left out: the record lacks {', '.join(missing)}")
        return None
    if not (np.all(air.flow > 0.0) and np.all(air.supply_leak < air.flow) and np.all(air.return_leak < air.flow)):
        notes.append("what reaches the rooms and the season are left out: leaks take all of the blower's air")
        return None
    density = surroundings.air_density(record, assumed)
    floor = si(area)

    def known(name: str, otherwise: float, text: str) -> float:
        found = numbers.get(name)
        if found is None:
            assumed.append(text)
        return otherwise if found is None else si(found)

    share = {side: assumptions[f"season_{side}_duct_share"] for side in ("supply", "return")}
    r = assumptions["season_duct_r"]
    areas = {
        side: known(f"{side}_duct_area", share[side] * floor, f"{side} duct is {share[side]:.0%} of the floor area")
        for side in ("supply", "return")
    }
    resistances = {
        side: known(f"{side}_duct_r", r, f"{side} duct insulation is R-{r / UNITS['h ft2 F/Btu'].factor:.3g}")
        for side in ("supply", "return")
    }
    height = known("ceiling_height", assumptions["season_ceiling_height"], "ceiling height is the usual one of policy")
    ducts = ashrae_152.Ducts(
        air.flow,
        air.supply_leak,
        air.return_leak,
        areas["supply"],
        areas["return"],
        ashrae_152.effective_resistance(resistances["supply"], supply=True),
        ashrae_152.effective_resistance(resistances["return"], supply=False),
        density,
    )
    valve = record.items[HOUSE_KEY].words.get("valve")
    if valve is None:
        assumed.append("the new coil has an expansion valve: the record does not say")
    ratio = ashrae_152.flow_over_rated(air.flow * (density / STANDARD_DENSITY), capacity)
    held = np.clip(ratio, *_FITTED)
    if np.any(held != ratio):
        notes.append(
            f"airflow lies, or within its ± may lie, outside {_FITTED[0]:.0%} to {_FITTED[1]:.0%} of rated: capacity "
            "is held at the end of its curve there"
        )
    return _House(
        capacity,
        ducts,
        floor * height,
        places,
        valve != "other",
        capacity_modifier(held),
        ratio,
        _blower_excess(air, capacity, assumptions, assumed),
    )


def _capacity(record: JobRecord, assumed: list[str]) -> float | None:
    """Rated capacity [W]; a ton is 12,000 Btu/h."""
    rated, tons = record.new.get("capacity"), record.new.get("tons")
    if rated is None and tons is not None:
        assumed.append("rated capacity is 12,000 Btu/h a ton")
    found = tons if rated is None else rated
    return None if found is None else si(found)


def _blower_excess(air: AirSide, capacity: float, assumptions: Assumptions, assumed: list[str]) -> Floats | float:
    """Power of the blower less what a rating holds for it [W]."""
    if air.power is None or np.any(np.isnan(air.power)):
        assumed.append("the blower draws what its rating holds for it: its power is not known")
        return 0.0
    return air.power - assumptions["season_rated_blower"] * ashrae_152.rated_flow(capacity)


def _at_readings(
    record: JobRecord,
    house: _House,
    assumptions: Assumptions,
    values: _Values,
    notes: list[str],
    assumed: list[str],
) -> None:
    around = surroundings.at_readings(record, house.places, assumptions, assumed)
    assumed.append("capacity and its sensible share are not corrected for the temperatures of that hour")
    ducts, gross = house.ducts, house.capacity * house.capacity_share
    heat = gross - house.blower_excess
    sensible = gross * assumptions["season_sensible_share"] - house.blower_excess
    if not (np.all(heat > 0.0) and np.all(sensible > 0.0)):
        notes.append("what reaches the rooms is left out: the blower's heat takes all of the capacity")
        return
    entering = ashrae_152.return_temperature(ducts, around.indoor, around.return_zone)
    leaving = entering - ashrae_152.temperature_change(ducts, sensible)
    delivery = _delivery(ducts, heat, around, leaving)
    kept = ashrae_152.heating_delivery(ducts, -sensible, around.indoor, around.return_zone, around.supply_zone)
    values[HOUSE_KEY, "delivered_capacity"] = (heat * delivery, "Btu/h")
    values[HOUSE_KEY, "delivered_sensible"] = (sensible * kept, "Btu/h")
    values[HOUSE_KEY, "delivery"] = (delivery, "%")


def _delivery(
    ducts: ashrae_152.Ducts[Floats], heat: Floats | float, around: Surroundings, leaving: Floats | float
) -> Floats:
    return ashrae_152.cooling_delivery(
        ducts,
        -heat,
        around.indoor,
        around.return_zone,
        enthalpy(around.indoor, around.indoor_humidity),
        enthalpy(around.return_zone, around.return_zone_humidity),
        leaving,
        around.supply_zone,
    )


def _over_season(
    record: JobRecord,
    house: _House,
    assumptions: Assumptions,
    values: _Values,
    notes: list[str],
    assumed: list[str],
) -> None:
    equipment, efficiency = _system(house, assumptions)
    if not np.all(efficiency > 0.0):  # NaN is not, either
        notes.append("the season is left out: as much is lost on the way as the equipment gives")
        return
    values[HOUSE_KEY, "system_efficiency"] = (efficiency, "%")
    seer = record.new.get("seer")
    if seer is None:
        notes.append("season_energy and season_cost are left out: the record lacks the new unit's seer")
        return
    hours = assumptions["season_hours"] / UNITS["h"].factor
    low, high = assumptions["season_hours_low"], assumptions["season_hours_high"]
    middle = 0.5 * (low + high)
    assumed.append(
        f"full-load hours of the season are {low * hours:.0f} to {high * hours:.0f}; the middle of them stands for it"
    )
    running = running_hours(hours, efficiency, equipment, house.capacity_share)
    whole = season_energy_with_ducts(house.capacity, hours, si(seer), efficiency, house.blower_excess, running)
    # All of it goes with the hours.
    for name, share in zip(_ENERGY, (middle, low, high), strict=True):
        values[HOUSE_KEY, name] = (whole * share, "kWh")
    rate = record.items[HOUSE_KEY].numbers.get("electric_rate")
    if rate is None:
        notes.append("season_cost is left out: the record lacks electric_rate")
        return
    price = si(rate) / UNITS["kWh"].factor
    for name, share in zip(_COST, (middle, low, high), strict=True):
        values[HOUSE_KEY, name] = (whole * (share * price), "money")


def _system(house: _House, assumptions: Assumptions) -> tuple[Floats, Floats]:
    """Equipment factor and distribution system efficiency over the season."""
    around = surroundings.in_season(house.places, assumptions)
    ducts, places = house.ducts, house.places
    delivery = _delivery(ducts, house.capacity, around, assumptions["season_supply_temp"])
    back = (surroundings.regain(places.supply, assumptions), surroundings.regain(places.back, assumptions))
    regained = ashrae_152.with_regain(ducts, delivery, -house.capacity, around.indoor, around.return_zone, *back)
    # A leak all of which comes back to the rooms does not draw outdoor air into them.
    leaks = [leak * (share < 1.0) for leak, share in zip((ducts.supply_leak, ducts.return_leak), back, strict=True)]
    # Where nothing is delivered the load cannot be shared over it.
    delivery = np.where(delivery > 0.0, delivery, np.nan)
    natural = assumptions["season_air_changes"] * house.volume / 3600.0
    added = ashrae_152.net_infiltration(natural, leaks[0], leaks[1]) - natural
    difference = enthalpy(around.indoor, around.indoor_humidity) - enthalpy(around.outdoor, around.outdoor_humidity)
    load = ashrae_152.load_factor(-house.capacity, delivery, added, difference, ducts.density)
    equipment = ashrae_152.equipment_factor(house.flow_ratio, txv=house.txv)
    return equipment, ashrae_152.system_efficiency(regained, equipment, load, assumptions["season_cycling"])
