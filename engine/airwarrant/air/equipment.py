"""Cooling equipment: what airflow does to capacity and power, heat carried by air, energy of a season."""

_BTUH = 1055.05585262 / 3600.0


def capacity_modifier(flow_fraction: float) -> float:
    """Cooling capacity at a share of rated airflow over the rated one; fitted for 0.75 to 1.25.

    ``0.718605468 + 0.410099989 x - 0.128705457 x^2``

    References
    ----------
    Unit tests of the US Department of Energy's open whole-building simulation; origin, from memory: Cutler et al. 2013,
    NREL/TP-5500-56354.
    """
    return 0.718605468 + 0.410099989 * flow_fraction - 0.128705457 * flow_fraction**2


def energy_input_modifier(flow_fraction: float) -> float:
    """Energy input ratio at a share of rated airflow over the rated one; fitted for 0.75 to 1.25.

    ``1.32299905 - 0.477711207 x + 0.154712157 x^2``; source as of `capacity_modifier`.
    """
    return 1.32299905 - 0.477711207 * flow_fraction + 0.154712157 * flow_fraction**2


def season_energy(capacity: float, hours: float, seer: float) -> float:
    """Electric energy [kWh] of a cooling season: capacity [W] times full-load hours over SEER [Btu/(W h)]."""
    return capacity / _BTUH * hours / seer / 1000.0
