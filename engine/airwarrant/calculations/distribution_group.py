"""The calculation of a duct system's efficiency over a season."""

from airwarrant.air import distribution as ashrae_152
from airwarrant.air.moist import enthalpy
from airwarrant.air.standard import STANDARD_SPECIFIC_HEAT
from airwarrant.calculations.calculation import (
    Answer,
    Calculation,
    Impossible,
    Line,
    not_negative,
    number,
    outside,
    positive,
    word,
)


def _distribution(
    season: str,
    capacity: float,
    flow: float,
    supply_leak: float,
    return_leak: float,
    supply_area: float,
    return_area: float,
    supply_resistance: float,
    return_resistance: float,
    indoor: float,
    indoor_humidity: float,
    outdoor: float,
    outdoor_humidity: float,
    zone: float,
    zone_humidity: float,
    supply_temperature: float,
    volume: float,
    air_changes: float,
    regain_supply: float,
    regain_return: float,
    valve: str,
    cycling: float,
) -> Answer:
    """Delivery effectiveness, with regain, equipment and load factor, and distribution system efficiency.

    ASHRAE 152 by its own equations (see `air/distribution.py`): losses by leakage ``a = (Q - Q_leak)/Q`` and conduction
    ``B = exp(-A / (Q rho cp R))`` on both sides, zone regain (6-34), load from unbalanced leakage (6-40), equipment factor from
    airflow (single-speed cooling, never above 1; heating 1), and ``DSE = DE_c F_equip F_load (1 - F_cyc)`` (6-44). R is the label's;
    0 is bare. Humidity ratios count in cooling only. Valid: leakage under half the flow, flow 0.4 to 1.3 of 0.0333 cfm per Btu/h in
    cooling, results between 0 and 1. ASHRAE 152, as in two US national laboratories' published code.
    """
    for name, leak in (("supply_leak", supply_leak), ("return_leak", return_leak)):
        if leak >= flow:
            raise Impossible(name, "all of the blower's air or more", "less than the flow")
    for name, share in (("regain_supply", regain_supply), ("regain_return", regain_return), ("cycling", cycling)):
        if share > 1.0:
            raise Impossible(name, f"{share:g}", "0 to 1")
    ducts = ashrae_152.Ducts(
        flow,
        supply_leak,
        return_leak,
        supply_area,
        return_area,
        ashrae_152.effective_resistance(supply_resistance, supply=True),
        ashrae_152.effective_resistance(return_resistance, supply=False),
    )
    cooling = season == "cooling"
    heat = -capacity if cooling else capacity
    equipment = 1.0
    warnings: tuple[Line, ...] = ()
    if cooling:
        indoor_h, zone_h = enthalpy(indoor, indoor_humidity), enthalpy(zone, zone_humidity)
        delivery = ashrae_152.cooling_delivery(ducts, heat, indoor, zone, indoor_h, zone_h, supply_temperature)
        difference = indoor_h - enthalpy(outdoor, outdoor_humidity)
        ratio = ashrae_152.flow_over_rated(flow, capacity)
        equipment = ashrae_152.equipment_factor(ratio, txv=valve == "txv")
        rated = flow / capacity / ratio
        text = "flow is outside {0:n} to {1}, 0.4 to 1.3 of the method's rated flow"
        warnings += outside(flow / capacity, 0.4 * rated, 1.3 * rated, text, "flow-per-capacity")
    else:
        delivery = ashrae_152.heating_delivery(ducts, heat, indoor, zone)
        difference = STANDARD_SPECIFIC_HEAT * (indoor - outdoor)
    if delivery == 0.0:
        raise Impossible("flow", "nothing is delivered, so that the load cannot be shared over it")
    regained = ashrae_152.with_regain(ducts, delivery, heat, indoor, zone, regain_supply, regain_return)
    infiltration = air_changes * volume / 3600.0
    added = ashrae_152.net_infiltration(infiltration, supply_leak, return_leak) - infiltration
    load = ashrae_152.load_factor(heat, delivery, added, difference)
    system = ashrae_152.system_efficiency(regained, equipment, load, cycling)
    warnings += outside(max(supply_leak, return_leak) / flow, 0.0, 0.5, "leakage is more than half of the flow")
    warnings += outside(delivery, 0.0, 1.0, "delivery comes out beyond 0 to 1")
    warnings += outside(system, 0.0, 1.0, "system efficiency comes out beyond 0 to 1")
    return Answer(
        {
            "delivery": delivery,
            "delivery_regain": regained,
            "equipment_factor": equipment,
            "load_factor": load,
            "system": system,
        },
        warnings,
    )


CALCULATIONS = (
    Calculation(
        "distribution",
        (
            word("season", "cooling", "heating"),
            positive("capacity", "heat"),
            positive("flow", "flow"),
            not_negative("supply_leak", "flow"),
            not_negative("return_leak", "flow"),
            not_negative("supply_area", "area"),
            not_negative("return_area", "area"),
            not_negative("supply_resistance", "resistance", stem="supply"),
            not_negative("return_resistance", "resistance", stem="return"),
            number("indoor", "temperature"),
            not_negative("indoor_humidity", stem="indoor_w"),
            number("outdoor", "temperature"),
            not_negative("outdoor_humidity", stem="outdoor_w"),
            number("zone", "temperature"),
            not_negative("zone_humidity", stem="zone_w"),
            number("supply_temperature", "temperature", 55.0, stem="supply"),
            positive("volume", "volume"),
            not_negative("air_changes"),
            not_negative("regain_supply"),
            not_negative("regain_return"),
            word("valve", "txv", "other"),
            not_negative("cycling", default=0.02),
        ),
        (
            number("delivery"),
            number("delivery_regain"),
            number("equipment_factor"),
            number("load_factor"),
            number("system"),
        ),
        _distribution,
        "ASHRAE 152, equations 6-34, 6-40, 6-44, as in two US national laboratories' published code",
        10.0,
    ),
)
