"""Calculations on cooling equipment."""

from airwarrant.air.equipment import capacity_modifier, energy_input_modifier, season_energy
from airwarrant.calculations.calculation import Answer, Calculation, not_negative, number, outside, positive


def _airflow_modifiers(flow_fraction: float) -> Answer:
    """Capacity, energy input ratio and power of single-speed cooling at a share of rated airflow, each over its rated value.

    ``CAP = 0.718605468 + 0.410099989 x - 0.128705457 x^2``, ``EIR = 1.32299905 - 0.477711207 x + 0.154712157 x^2``, power = CAP EIR.
    Valid for x 0.75 to 1.25; beyond, the parabolas go on. Unit tests of the US Department of Energy's open whole-building
    simulation; origin, from memory: Cutler et al. 2013, NREL/TP-5500-56354.
    """
    warnings = outside(flow_fraction, 0.75, 1.25, "flow_fraction is outside the fitted 0.75 to 1.25")
    capacity, ratio = capacity_modifier(flow_fraction), energy_input_modifier(flow_fraction)
    return Answer({"capacity": capacity, "energy_input_ratio": ratio, "power": capacity * ratio}, warnings)


def _season_energy(capacity: float, hours: float, seer: float) -> Answer:
    """Electric energy of a cooling season.

    ``kWh = capacity hours / SEER / 1000`` with capacity in Btu/h, full-load hours, SEER in Btu/(W h). Valid to 8784 h and for SEER 5 to
    30. Definition of SEER, AHRI 210/240.
    """
    warnings = outside(hours, 0.0, 8784.0, "a year has no more than 8784 hours")
    warnings += outside(seer, 5.0, 30.0, "seer is outside 5 to 30")
    return Answer({"energy": season_energy(capacity, hours, seer)}, warnings)


CALCULATIONS = (
    Calculation(
        "airflow-modifiers",
        (positive("flow_fraction"),),
        (number("capacity"), number("energy_input_ratio"), number("power")),
        _airflow_modifiers,
        "single-speed curves of the US Department of Energy's open whole-building simulation",
        2.0,
    ),
    Calculation(
        "season-energy",
        (positive("capacity", "heat"), not_negative("hours"), positive("seer")),
        (number("energy", "energy"),),
        _season_energy,
        "definition of SEER, AHRI 210/240",
        20.0,
    ),
)
