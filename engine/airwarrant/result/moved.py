"""What moved between two predictions, in the order in which cause leads to effect; whoever shows it makes the sentence."""

from typing import Any

from airwarrant.house.predict import Prediction
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.units import number

#: House readings in the order in which they are told, those of the dictionary by its titles.
_TOLD = {
    "return_static": "Return static pressure",
    "supply_static": "",
    "external_static": "",
    "airflow": "",
    "register_flow": "",
    "power": "",
    "delivered_sensible": "Sensible cooling at the registers",
    "season_cost": "Cooling cost of a season",
}


def moved(after: Prediction, before: Prediction) -> list[dict[str, Any]]:
    """Return the house readings that differ at their unit's decimals, each with both values.

    A return pressure is negative: more of it is a larger number, so that it is told without its sign.
    """
    told = []
    for name, title in _TOLD.items():
        a, b = (p.readings.get((HOUSE_KEY, name)) for p in (after, before))
        if a is not None and b is not None and (entry := _entry(name, title, a, b)):
            told.append(entry)
    return told


def _entry(name: str, title: str, after: Reading, before: Reading) -> dict[str, Any] | None:
    old, new = (number(abs(one.value), one.unit) for one in (before, after))
    if old == new:
        return None
    field = KINDS[HOUSE_KEY].fields.get(name)
    said = title or (field.title if field else name)
    return {"reading": name, "title": said, "from": old, "to": new, "unit": after.unit}
