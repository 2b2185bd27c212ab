"""Cooling equipment: what airflow does to capacity and power, the season it is rated in, energy of a season."""

from collections.abc import Sequence

from airwarrant.air.elementwise import Value

_BTUH = 1055.05585262 / 3600.0


def capacity_modifier(flow_fraction: Value) -> Value:
    """Cooling capacity at a share of rated airflow over the rated one; fitted for 0.75 to 1.25.

    ``0.718605468 + 0.410099989 x - 0.128705457 x^2``

    References
    ----------
    Unit tests of the US Department of Energy's open whole-building simulation; origin, from memory: Cutler et al. 2013,
    NREL/TP-5500-56354.
    """
    return 0.718605468 + 0.410099989 * flow_fraction - 0.128705457 * flow_fraction**2


def energy_input_modifier(flow_fraction: Value) -> Value:
    """Energy input ratio at a share of rated airflow over the rated one; fitted for 0.75 to 1.25.

    ``1.32299905 - 0.477711207 x + 0.154712157 x^2``; source as of `capacity_modifier`.
    """
    return 1.32299905 - 0.477711207 * flow_fraction + 0.154712157 * flow_fraction**2


#: Outdoor temperature [K] and share of the cooling season's hours, 67 to 102 °F in steps of 5. AHRI 210/240, as in its
#: tests of seasonal efficiency; the shares sum to 1.
COOLING_BINS: tuple[tuple[float, float], ...] = tuple(
    ((fahrenheit + 459.67) / 1.8, share)
    for fahrenheit, share in (
        (67.0, 0.214), (72.0, 0.231), (77.0, 0.216), (82.0, 0.161), (87.0, 0.104), (92.0, 0.052), (97.0, 0.018), (102.0, 0.004)
    )
)  # fmt: skip
_NO_LOAD, _RATED = (65.0 + 459.67) / 1.8, (95.0 + 459.67) / 1.8  # K
_OVERSIZE = 1.1


def load_fraction(outdoor: float) -> float:
    """Cooling load at an outdoor temperature [K] over the rated capacity: ``(T - 65) / (95 - 65) / 1.1`` in °F, never below 0.

    References
    ----------
    AHRI 210/240: the load line of the seasonal rating, equipment a tenth larger than the load at 95 °F.
    """
    return max((outdoor - _NO_LOAD) / (_RATED - _NO_LOAD) / _OVERSIZE, 0.0)


def mean_load_fraction(bins: Sequence[tuple[float, float]] = COOLING_BINS) -> float:
    """Mean of the load over the rated capacity in a season of bins (temperature [K], share of hours); 0.357 in the rating's own."""
    return sum(share * load_fraction(outdoor) for outdoor, share in bins)


def season_energy(capacity: float, hours: float, seer: float) -> float:
    """Electric energy [kWh] of a cooling season: capacity [W] times full-load hours over SEER [Btu/(W h)]."""
    return capacity / _BTUH * hours / seer / 1000.0
