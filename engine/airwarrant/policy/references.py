"""References of checks and figures: what each name stands for at a kind of thing, and in which unit."""

import re
from collections.abc import Mapping
from typing import Any

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.policy.faults import Faults, words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import Limit, Parameter, Ref, Table
from airwarrant.policy.price_model import PREFIX
from airwarrant.policy.values import BY_READING
from airwarrant.source.place import Place
from airwarrant.units import UNITS, parse_quantity, same_dimension

_NUMERIC = ("reading", "number")
_QUANTITY = re.compile(r"[-+.\d]")


class References:
    """Resolves references of one composed policy and notes what it cannot resolve."""

    def __init__(
        self, parameters: Mapping[str, Parameter], tables: Mapping[str, Table], layered: Layered, faults: Faults
    ) -> None:
        self._parameters = parameters
        self._tables = tables
        self._figures: Mapping[str, Block] = layered.blocks["figure"]
        self._layered = layered
        self._faults = faults

    def resolve(self, text: str, each: str, place: Place) -> Ref | None:
        """Resolve a reference made for subjects of kind `each`; None after a fault."""
        if text.startswith("@"):
            return self._policy_value(text[1:], each, place)
        if _QUANTITY.match(text):
            return self._quantity(text, place)
        house, _, name = text.rpartition(".")
        if house and house != HOUSE_KEY:
            self._unknown(text, each, place)
            return None
        kind = HOUSE_KEY if house else each
        field = KINDS[kind].fields.get(name)
        if field is not None:
            if field.form not in _NUMERIC:
                self._faults.note(
                    "not-a-number", f"`{text}` is a {field.form}, not a number", "a reading or a number", place=place
                )
                return None
            return Ref("house" if house else "field", name)
        if name in self._figures and self._figures[name].get("each") in (kind, HOUSE_KEY):
            return Ref("house" if house else "figure", name)
        self._unknown(text, each, place)
        return None

    def unit(self, ref: Ref, each: str) -> str:
        """Return the unit a resolved reference answers in."""
        match ref.form:
            case "parameter":
                return self._parameters[ref.name].unit
            case "table":
                return self._tables[ref.name].unit
            case "quantity":
                return ref.unit
            case "figure":
                return str(self._figures[ref.name].get("unit"))
            case _:
                kind = HOUSE_KEY if ref.form == "house" else each
                field = KINDS[kind].fields.get(ref.name)
                return field.unit if field is not None else str(self._figures[ref.name].get("unit"))

    def constant(self, ref: Ref) -> float | None:
        """Return the number of a quantity or a parameter; None where it follows from the job."""
        if ref.form == "quantity":
            return ref.value
        value = self._parameters[ref.name].value if ref.form == "parameter" else None
        return None if isinstance(value, str) else value

    def limit(self, raw: Any, each: str, unit: str, times: Ref | None, place: Place) -> Limit | None:
        """Resolve one limit and hold its unit against that of the reading."""
        if isinstance(raw, str):
            base = self.resolve(raw, each, place)
            return Limit(base) if base is not None and self._fits(base, each, unit, place) else None
        base = self.resolve(raw["of"], each, place)
        if base is None or not self._fits(base, each, unit, place):
            return None
        given = [key for key in ("less", "more") if key in raw]
        if len(given) != 1:
            self._faults.note(
                "two-alternatives" if given else "missing-key", "a limit with `of`", "`less` or `more`", place=place
            )
            return None
        change = self.resolve(raw[given[0]], each, place)
        if change is None:
            return None
        own = self.unit(change, each)
        if own != "%" and not self._same(own, unit, f"`{raw[given[0]]}` is taken from `{raw['of']}`", place):
            return None
        return Limit(base, less=change) if given[0] == "less" else Limit(base, more=change)

    def share(self, text: str, each: str, place: Place) -> Ref | None:
        """Resolve a plain number or percentage."""
        ref = self.resolve(text, each, place)
        if ref is None:
            return None
        unit = self.unit(ref, each)
        if unit not in ("%", "1"):
            self._faults.note("unit-mismatch", f"`{text}` is in {unit}", "a number in % or 1", place=place)
            return None
        return ref

    def table_by(self, table: Table, each: str, place: Place) -> None:
        """Hold the key of a table against the kind it is read for."""
        if table.by == BY_READING:
            self._faults.note(
                "by-reading",
                f"table `{table.name}` goes by the name of a reading",
                "a table that goes by a field of the subject or the house",
                place=place,
            )
            return
        field = KINDS[each].fields.get(table.by) or KINDS[HOUSE_KEY].fields.get(table.by)
        if not table.by_unit:
            if field is None or field.form != "word":
                self._faults.note(
                    "unknown-field",
                    f"table `{table.name}` goes by the word `{table.by}`, which neither a {each} nor the house has",
                    "a table that goes by a word of the subject or the house",
                    place=place,
                )
            return
        unit = self._number_unit(field, table.by, each)
        if unit is None:
            self._faults.note(
                "unknown-field",
                f"table `{table.name}` goes by `{table.by}`, which is no number of a {each} or the house",
                "a table that goes by a number of the subject or the house",
                place=place,
            )
        elif table.by_unit in UNITS:
            self._same(unit, table.by_unit, f"table `{table.name}` goes by `{table.by}`", place)

    def _number_unit(self, field: Field | None, name: str, each: str) -> str | None:
        if field is not None:
            return field.unit if field.form in _NUMERIC else None
        block = self._figures.get(name)
        if block is None or block.get("each") not in (each, HOUSE_KEY):
            return None
        return str(block.get("unit"))

    def _fits(self, ref: Ref, each: str, unit: str, place: Place) -> bool:
        return self._same(self.unit(ref, each), unit, f"`{ref.name}` is the limit of the reading", place)

    def _same(self, one: str, other: str, what: str, place: Place) -> bool:
        if one not in UNITS or other not in UNITS or same_dimension(one, other):
            return True
        a, b = UNITS[one].dimension, UNITS[other].dimension
        self._faults.note("unit-mismatch", f"{what}: {a} ({one}) against {b} ({other})", f"a unit of {b}", place=place)
        return False

    def _policy_value(self, name: str, each: str, place: Place) -> Ref | None:
        if name.startswith(PREFIX):
            found = f"`@{name}` belongs to the price book, which checks, figures, rules and sizes do not read"
            self._faults.note("price-read", found, "a value that is no price", place=place)
            return None
        if name in self._parameters:
            if isinstance(self._parameters[name].value, str):
                self._faults.note("not-a-number", f"`@{name}` is a word", "a parameter with a number", place=place)
                return None
            return Ref("parameter", name)
        if name in self._tables:
            self.table_by(self._tables[name], each, place)
            return Ref("table", name)
        if not self._layered.may_be(name):
            known = [*self._parameters, *self._tables]
            advice = nearest(name, known)
            self._faults.note(
                "unknown-name",
                f"there is no parameter or table `{name}`",
                "a name of this policy",
                place=place,
                advice=advice,
            )
        return None

    def _quantity(self, text: str, place: Place) -> Ref | None:
        try:
            value, unit = parse_quantity(text)
        except ValueError:
            allowed = 'a number, a space and a unit, such as "400 cfm/ton"'
            self._faults.note("bad-quantity", f"`{text}`", allowed, place=place, advice=_quantity_advice(text))
            return None
        return Ref("quantity", text, value, unit)

    def _unknown(self, text: str, each: str, place: Place) -> None:
        if self._layered.may_be(text.split(".")[-1]):
            return
        fields = [name for name, field in KINDS[each].fields.items() if field.form in _NUMERIC]
        figures = [n for n, block in self._figures.items() if block.get("each") in (each, HOUSE_KEY)]
        of_house = [f"house.{name}" for name, field in KINDS[HOUSE_KEY].fields.items() if field.form in _NUMERIC]
        if f"house.{text}" in of_house:
            advice = f"It is the house's: write `house.{text}`."
        elif text in self._parameters or text in self._tables:
            advice = f"A value of the policy has @ before it: `@{text}`."
        elif text in self._figures:
            advice = f"The figure `{text}` is one of each {self._figures[text].get('each')}."
        else:
            advice = nearest(text, [*fields, *figures, *of_house])
        allowed = words([*fields, *figures]) or "a number of the house, written house.name"
        self._faults.note("unknown-field", f"a {each} has no number `{text}`", allowed, place=place, advice=advice)


def _quantity_advice(text: str) -> str:
    if "," in text:
        return "Write the number with a decimal point."
    match = re.fullmatch(r"([-+]?[\d.]+)\s*(.*)", text)
    unit = match[2].strip() if match else ""
    if match and unit in UNITS:
        return f"Write `{match[1]} {unit}`."
    return nearest(unit, UNITS) if unit else "Give the unit."
