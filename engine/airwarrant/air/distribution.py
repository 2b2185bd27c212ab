"""Efficiency of a duct system in a season: the method of ASHRAE 152, by its own equations.

Source: two US national laboratories' published code, whose comments name ASHRAE 152P eq. 6-34, 6-40 and 6-44;
background of the defaults: Walker 1998, LBNL-40588. Fluid is standard air unless a density is given: at altitude every
flow carries less. Signs: heat `E` [W] is positive for heating, negative for cooling.

Every function takes numbers, or arrays of one shape for what differs between sets (`Value`), and answers in kind.
"""

from dataclasses import dataclass
from typing import Generic

from airwarrant.air.elementwise import Value, at_least, at_most, exp, log, power
from airwarrant.air.standard import STANDARD_DENSITY, STANDARD_SPECIFIC_HEAT

_CFM = 0.3048**3 / 60.0
_BTUH = 1055.05585262 / 3600.0
_R = 0.3048**2 * (1.0 / 1.8) / _BTUH  # 1 h ft2 °F/Btu in m2 K/W
_RATED_FLOW = 0.0333 * _CFM / _BTUH  # 0.0333 cfm per Btu/h


@dataclass(frozen=True, slots=True)
class Ducts(Generic[Value]):
    """Both sides of a duct system.

    Attributes
    ----------
    flow : float or ndarray
        Through the blower [m3/s].
    supply_leak, return_leak : float or ndarray
        At operating pressure [m3/s].
    supply_area, return_area : float
        Outside the rooms [m2].
    supply_resistance, return_resistance : float
        Effective, with surface films [m2 K/W].
    density : float
        Of the air [kg/m3].
    """

    flow: Value
    supply_leak: Value
    return_leak: Value
    supply_area: float
    return_area: float
    supply_resistance: float
    return_resistance: float
    density: float = STANDARD_DENSITY

    @property
    def supply_share(self) -> Value:
        return (self.flow - self.supply_leak) / self.flow

    @property
    def return_share(self) -> Value:
        return (self.flow - self.return_leak) / self.flow

    @property
    def mass_flow(self) -> Value:
        return self.flow * self.density

    @property
    def supply_conduction(self) -> Value:
        return exp(-self.supply_area / (self.mass_flow * STANDARD_SPECIFIC_HEAT * self.supply_resistance))

    @property
    def return_conduction(self) -> Value:
        return exp(-self.return_area / (self.mass_flow * STANDARD_SPECIFIC_HEAT * self.return_resistance))


def effective_resistance(nominal: float, *, supply: bool) -> float:
    """Effective resistance [m2 K/W] of insulated round duct from its label; no insulation is 1.7 h ft2 °F/Btu."""
    r = nominal / _R
    if r == 0.0:
        return 1.7 * _R
    return (2.2438 + 0.5619 * r if supply else 2.0388 + 0.7053 * r) * _R


def heating_delivery(
    ducts: Ducts[Value], heat: Value | float, indoor: float, zone: float, supply_zone: float | None = None
) -> Value:
    """Delivery effectiveness in heating; temperatures in K.

    ``a_s B_s - a_s B_s (1 - a_r B_r) dTr/dTe - a_s (1 - B_s) dTs/dTe``: a balance of sensible heat alone, so that with
    a negative `heat` it is also the sensible part of cooling.

    Parameters
    ----------
    zone : float
        Around the return duct, and around the supply duct too unless `supply_zone` is given.
    """
    a_s, b_s, a_r, b_r = _shares(ducts)
    d_e = temperature_change(ducts, heat)
    d_r, d_s = indoor - zone, indoor - (zone if supply_zone is None else supply_zone)
    return a_s * b_s - a_s * b_s * (1.0 - a_r * b_r) * d_r / d_e - a_s * (1.0 - b_s) * d_s / d_e


def cooling_delivery(
    ducts: Ducts[Value],
    heat: Value | float,
    indoor: float,
    zone: float,
    indoor_h: float,
    zone_h: float,
    supply_temperature: Value | float,
    supply_zone: float | None = None,
) -> Value:
    """Delivery effectiveness in cooling; temperatures in K, enthalpies in J/kg, `heat` negative.

    Zones as in `heating_delivery`.
    """
    a_s, b_s, a_r, b_r = _shares(ducts)
    cp, per_mass = STANDARD_SPECIFIC_HEAT, heat / ducts.mass_flow
    gained = (
        (1.0 - a_r) * (zone_h - indoor_h)
        + a_r * cp * (b_r - 1.0) * (indoor - zone)
        + cp * (b_s - 1.0) * (supply_temperature - (zone if supply_zone is None else supply_zone))
    )
    return a_s / per_mass * (per_mass + gained)


def temperature_change(ducts: Ducts[Value], heat: Value | float) -> Value:
    """Change of the air's temperature over the equipment [K], as the method counts it: all heat as sensible."""
    return heat / (ducts.mass_flow * STANDARD_SPECIFIC_HEAT)


def return_temperature(ducts: Ducts[Value], indoor: float, zone: float) -> Value:
    """Temperature of the air that enters the equipment [K]: leaks mixed in, warmed through the duct's wall.

    ``Tin - (1 - a_r B_r) (Tin - Tamb,r)``, the return's part of the same balance.
    """
    _, _, a_r, b_r = _shares(ducts)
    return indoor - (1.0 - a_r * b_r) * (indoor - zone)


def with_regain(
    ducts: Ducts[Value],
    delivery: Value,
    heat: Value | float,
    indoor: float,
    zone: float,
    regain_supply: float,
    regain_return: float,
) -> Value:
    """Delivery effectiveness with what the zones give back (eq. 6-34); `zone` is the return's."""
    _, _, a_r, b_r = _shares(ducts)
    bracket = regain_supply - regain_return - b_r * (a_r * regain_supply - regain_return)
    return delivery + regain_supply * (1.0 - delivery) - bracket * (indoor - zone) / temperature_change(ducts, heat)


def net_infiltration(infiltration: float, supply_leak: Value, return_leak: Value) -> Value:
    """Infiltration [m3/s] while the blower runs with unbalanced leakage.

    ``(Qin^1.5 ± |Qs - Qr|^1.5)^0.67`` in cfm, the sign that of ``Qs - Qr``. The exponent is 0.67, not 2/3, in both
    laboratories' codes: the formula knows its unit, and balanced leakage raises 93.33 cfm to 95.47. Kept, to agree with
    them.
    """
    unbalance = (supply_leak - return_leak) / _CFM
    inner = power(infiltration / _CFM, 1.5) + unbalance * power(abs(unbalance), 0.5)
    return power(at_least(inner, 0.0), 0.67) * _CFM


def load_factor(
    heat: Value | float,
    delivery: Value,
    added_flow: Value,
    specific_difference: float,
    density: float = STANDARD_DENSITY,
) -> Value:
    """How unbalanced leakage changes the load (eq. 6-40).

    Parameters
    ----------
    specific_difference : float
        Indoor less outdoor, per mass [J/kg]: ``cp (Tin - Tout)`` in heating, ``h_in - h_out`` in cooling.
    added_flow : float or ndarray
        Net less natural infiltration [m3/s].
    density : float
        Of the air [kg/m3].
    """
    return 1.0 - density * specific_difference * added_flow / (heat * delivery)


def system_efficiency(regained: Value, equipment: Value | float, load: Value, cycling: float) -> Value:
    """Distribution system efficiency (eq. 6-44): delivery with regain, equipment, load, and cyclic loss [0..1]."""
    return regained * equipment * load * (1.0 - cycling)


def flow_over_rated(flow: Value, capacity: float) -> Value:
    """Airflow over the method's rated one, 0.0333 cfm per Btu/h; at altitude, of standard air of the same mass."""
    return flow / rated_flow(capacity)


def rated_flow(capacity: float) -> float:
    """The method's rated airflow [m3/s] of standard air for a rated capacity [W]."""
    return _RATED_FLOW * capacity


def equipment_factor(flow_ratio: Value, *, txv: bool) -> Value:
    """Efficiency of single-speed cooling at a share of rated airflow, never above 1."""
    x = flow_ratio
    return at_most(1.62 - 0.62 * x + 0.647 * log(x) if txv else 0.65 + 0.35 * x, 1.0)


def _shares(ducts: Ducts[Value]) -> tuple[Value, Value, Value, Value]:
    return ducts.supply_share, ducts.supply_conduction, ducts.return_share, ducts.return_conduction
