"""The sentence that says what moved between two predictions: from numbers, in the order in which cause leads to effect."""

from airwarrant.house.predict import Prediction
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.units import fixed

#: House readings in the order in which they are told.
_TOLD = (
    "return_static",
    "supply_static",
    "external_static",
    "airflow",
    "register_flow",
    "power",
    "delivered_sensible",
    "season_cost",
)
_NAMES = {
    "delivered_sensible": "sensible cooling at the registers",
    "season_cost": "cooling cost of a season",
}


def moved(after: Prediction, before: Prediction) -> str:
    """Say which house readings differ between two predictions at their unit's decimals; empty if none does."""
    said = []
    for name in _TOLD:
        a, b = (p.readings.get((HOUSE_KEY, name)) for p in (after, before))
        if a is not None and b is not None and (text := _moved(name, a, b)):
            said.append(text)
    return "; ".join(said).capitalize() + "." if said else ""


def _moved(name: str, after: Reading, before: Reading) -> str:
    old, new = fixed(before.value, before.unit), fixed(after.value, after.unit)
    if old == new:
        return ""
    field = KINDS[HOUSE_KEY].fields.get(name)
    title = _NAMES.get(name) or (field.title if field else name)
    # A return pressure is negative: more of it is a larger number without its sign.
    word = "rises" if abs(after.value) > abs(before.value) else "falls"
    return f"{title[0].lower()}{title[1:].partition(',')[0]} {word} from {old} to {new} {after.unit}"
