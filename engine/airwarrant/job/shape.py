"""The record's shape: pydantic models made from the dictionary, one set for each of the two unit systems."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from functools import cache
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, GetCoreSchemaHandler, GetJsonSchemaHandler, create_model
from pydantic_core import CoreSchema, core_schema

from airwarrant.job import dictionary as words_of
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.digest import FORMAT
from airwarrant.job.readings import STATES
from airwarrant.job.single_values import CLOCK, DAY, FLAG, KEY, LINE, NAME, TEXT, SingleValue, number, word
from airwarrant.job.words_visit import CONDITIONS
from airwarrant.units import convert

SYSTEMS = ("ip", "si")
VISIT_KINDS = ("test-in", "unit-off", "after-balance", "test-out")
UNITS_OF_EQUIPMENT = ("old", "new")
#: Text keys of ``[old]`` and ``[new]``
LABELS = ("model", "serial")
ITEM_KINDS = tuple(kind for kind in KINDS if kind != HOUSE_KEY)
_SWAPPED = "The return side is under suction, so its pressure is negative: mend the sign, or the hoses were swapped"

_PASCALS = "Statics are in inches of water column here: this looks like pascals"


class Block(BaseModel):
    """A block of the record; a key that it does not know is refused."""

    model_config = ConfigDict(extra="forbid", frozen=True)


def unit_of(field: words_of.Field, system: str) -> str:
    """Unit in which a record of that system writes a field."""
    return field.si_unit if system == "si" else field.unit


def written_range(field: words_of.Field, system: str) -> tuple[float, float]:
    """Hard range of a field in the units of the record; six digits, so that what a message shows is what holds."""
    low, high = field.hard or (0.0, 0.0)
    unit = unit_of(field, system)
    return float(f"{convert(low, field.unit, unit):.6g}"), float(f"{convert(high, field.unit, unit):.6g}")


@cache
def job_model(system: str) -> type[BaseModel]:
    """Model of a whole record whose numbers are in `system`, ``ip`` or ``si``."""
    house, old, new = (_house_block(section, system) for section in ("house", "old", "new"))
    return _model(
        "job",
        "A survey record of one air-conditioner replacement",
        {
            "format": _needed(word((FORMAT,)), "Format and version of this record"),
            "id": _needed(NAME, "The job's number or name"),
            "market": _needed(KEY, "Market whose policy holds"),
            "units": _needed(word(SYSTEMS), "Units of every number: inch-pound or SI"),
            "demo": _optional(FLAG, "The record is fictional", bool),
            "note": _note(),
            "dates": (_dates(), Field(description="Days of survey, proposal and permit")),
            "customer": (_customer(), Field(None, description="Whose house it is; decides nothing, is in no result")),
            "house": (house, Field(None, description="The house")),
            "old": (old, Field(None, description="The unit that is there")),
            "new": (new, Field(None, description="The unit to come")),
            **{kind: _several(_item(kind, system), f"{KINDS[kind].title}, one block each") for kind in ITEM_KINDS},
            "visit": _several(_visit(system), "Readings, one block a visit"),
            "choice": _several(_choice(), "What the homeowner chose"),
            "override": _several(_override(), "What the firm decided against the rules"),
            "instrument": _several(_instrument(), "The instruments"),
        },
    )


def _house_block(section: str, system: str) -> type[BaseModel]:
    fields: dict[str, Any] = {"note": _note()}
    for field in KINDS[HOUSE_KEY].fields.values():
        # Figures of the equipment stand in both blocks, under `new` in the dictionary.
        if field.section == section or (field.timed and section == "old"):
            fields[field.key or field.name] = _dictionary_field(field, system)
    if section == "house":
        fields["told"] = _optional(TEXT, "What the homeowner says, in plain words", str)
        return _model("house", "The house", fields)
    fields |= {name: _optional(TEXT, f"{name.capitalize()} number on the label", str) for name in LABELS}
    fields["blower"] = (_blower(section, system), Field(None, description="The unit's blower"))
    return _model(f"{section} unit", f"The {section} unit", fields)


def _blower(section: str, system: str) -> type[BaseModel]:
    house = KINDS[HOUSE_KEY].fields
    own = (field for field in house.values() if field.section == f"{section}-blower")
    fields = {field.key or field.name: _dictionary_field(field, system) for field in own}
    static = _single(
        number(*written_range(house["external_static"], system), unit_of(house["external_static"], system))
    )
    flow = _single(number(*written_range(house["airflow"], system), unit_of(house["airflow"], system)))
    table = list[tuple[static, flow]]  # type: ignore[valid-type]
    units = f"{unit_of(house['external_static'], system)}, {unit_of(house['airflow'], system)}"
    setting = _model(
        "blower setting",
        "A fan setting with the maker's table",
        {
            "name": _needed(TEXT, "Name of the setting"),
            "table": (
                table,
                Field(min_length=2, description=f"Rows of external static and flow, statics rising [{units}]"),
            ),
            "power": (
                list[_single(number(0.0, 5000.0, "W"))],  # type: ignore[misc]
                Field(default_factory=list, description="Power of each row, where the maker gives it [W]"),
            ),
            "note": _note(),
        },
    )
    fields["setting"] = _several(setting, "Fan settings, lowest first")
    fields["note"] = _note()
    return _model(f"{section} blower", f"The {section} unit's blower", fields)


def _item(kind: str, system: str) -> type[BaseModel]:
    fields: dict[str, Any] = {
        "id": _needed(KEY, "Short name, once in the whole record"),
        "name": _optional(TEXT, "What people call it", str),
        "photo": _optional(TEXT, "Reference of a photograph", str),
        "note": _note(),
    }
    for field in KINDS[kind].fields.values():
        if field.section == "item":
            fields[field.key or field.name] = _dictionary_field(field, system)
    return _model(kind, KINDS[kind].title, fields)


def _visit(system: str) -> type[BaseModel]:
    fields: dict[str, Any] = {
        "kind": _needed(word(VISIT_KINDS), "Kind of visit"),
        "unit": _needed(word(UNITS_OF_EQUIPMENT), "Unit that was read"),
        "date": _optional(DAY, "Day; else the day of the survey", date),
        "fan_setting": _optional(TEXT, "Fan setting of the readings", str),
        "note": _note(),
    }
    for field in KINDS[HOUSE_KEY].fields.values():
        if field.section == "visit":
            fields[field.key or field.name] = _dictionary_field(field, system)
    for kind in ITEM_KINDS:
        readings = [field for field in KINDS[kind].fields.values() if field.section == "visit"]
        if readings:
            block: dict[str, Any] = {"id": _needed(KEY, f"Id of a [[{kind}]]"), "note": _note()}
            block |= {field.key or field.name: _dictionary_field(field, system) for field in readings}
            fields[kind] = _several(_model(f"visit {kind}", f"Readings: {KINDS[kind].title}", block), KINDS[kind].title)
    return _model("visit", "Readings of one day on one unit", fields)


def _customer() -> type[BaseModel]:
    return _model(
        "customer",
        "Whose house it is: kept apart in the archive, and erased there on request",
        {
            "name": _optional(TEXT, "Name", str),
            "address": _optional(TEXT, "Address of the house", str),
            "phone": _optional(TEXT, "Telephone number", str),
            "email": _optional(TEXT, "Mail address", str),
            "note": _note(),
        },
    )


def _dates() -> type[BaseModel]:
    return _model(
        "dates",
        "Days of the job",
        {
            "survey": _needed(DAY, "Day of the survey"),
            "proposal": _optional(DAY, "Day of the proposal; else the survey's", date),
            "permit": _optional(DAY, "Day of the permit; else the survey's", date),
        },
    )


def _choice() -> type[BaseModel]:
    return _model(
        "choice",
        "An option taken or not, or a line accepted or declined",
        {
            "option": _optional(TEXT, "Name of the option", str),
            "accepted": _optional(FLAG, "Whether the option was taken", bool),
            "line": _optional(LINE, "Task and place of a line", str),
            "decision": _optional(word(("accepted", "declined")), "What was decided of the line", str),
            "note": _note(),
        },
    )


def _override() -> type[BaseModel]:
    return _model(
        "override",
        "A line decided against the rules",
        {
            "line": _needed(LINE, "Task and place of the line"),
            "decision": _needed(KEY, "What was decided, such as left-out"),
            "reason": _needed(TEXT, "Why"),
            "by": _needed(TEXT, "Who decided"),
        },
    )


def _instrument() -> type[BaseModel]:
    return _model(
        "instrument",
        "An instrument",
        {
            "id": _needed(KEY, "Short name that readings give"),
            "kind": _optional(TEXT, "What it is", str),
            "checked": _optional(DAY, "Day of its last check", date),
            "note": _note(),
        },
    )


def _dictionary_field(field: words_of.Field, system: str) -> Any:
    unit = unit_of(field, system)
    title = f"{field.title} [{unit}]" if unit else field.title
    if field.form == "word":
        return _optional(word(field.words), f"{title}: {', '.join(field.words)}", str)
    if field.form == "link":
        return _optional(KEY, f"{title}: id of a [[{field.kind}]]", str)
    low, high = written_range(field, system)
    if field.form == "number":
        return _optional(number(low, high, unit), title, float)
    advice = _SWAPPED if field.name == "return_static" else _PASCALS if unit == "in. w.c." else ""
    return Annotated[_reading(low, high, unit, advice), _ShortForm()], Field(None, description=title)


@cache
def _reading(low: float, high: float, unit: str, advice_above: str) -> type[BaseModel]:
    return _model(
        f"reading {low:g} to {high:g} {re.sub('[^A-Za-z0-9]+', '-', unit).strip('-')}",
        f"A reading in {unit}: the number alone if it was measured, else a block",
        {
            "value": _needed(number(low, high, unit, advice_above), f"The number [{unit}]"),
            "state": _optional(word(STATES), "Where it comes from; else measured", str),
            "plus_minus": _optional(number(0, None, unit), f"± of the instrument sheet [{unit}]", float),
            "instrument": _optional(KEY, "Id of the instrument", str),
            "by": _optional(TEXT, "Who read it", str),
            "time": _optional(CLOCK, "Time of day", str),
            "photo": _optional(TEXT, "Reference of a photograph", str),
            "fan_setting": _optional(TEXT, "Fan setting, if not the visit's", str),
            **{
                key: _optional(word(f.words), f"{f.title}, if not the visit's", str)
                for key, f in ((f.key, f) for f in CONDITIONS)
            },
            "note": _note(),
        },
    )


@dataclass(frozen=True, slots=True)
class _ShortForm:
    """A reading may be written as its number alone."""

    def __get_pydantic_core_schema__(self, source: Any, handler: GetCoreSchemaHandler) -> CoreSchema:
        return core_schema.no_info_before_validator_function(_long_form, handler(source))

    def __get_pydantic_json_schema__(self, core: CoreSchema, handler: GetJsonSchemaHandler) -> dict[str, Any]:
        block = handler(core)
        value = handler.resolve_ref_schema(dict(block))["properties"]["value"]
        bounds = {name: value[name] for name in ("type", "minimum", "maximum") if name in value}
        return {"anyOf": [bounds, block]}


def _long_form(value: Any) -> Any:
    return value if isinstance(value, dict) else {"value": value}


def _model(name: str, title: str, fields: dict[str, Any]) -> type[BaseModel]:
    made: type[BaseModel] = create_model(name, __base__=Block, __doc__=title, **fields)
    return made


def _single(kind: SingleValue, python: Any = float) -> Any:
    return Annotated[python, kind]


def _needed(kind: SingleValue, title: str) -> Any:
    return Annotated[Any, kind], Field(description=title)


def _optional(kind: SingleValue, title: str, python: Any) -> Any:
    # Not `python | None`, here and for blocks: a value is left out by leaving its key out, null is not a value.
    return Annotated[python, kind], Field(None, description=title)


def _several(block: type[BaseModel], title: str) -> Any:
    return list[block], Field(default_factory=list, description=title)  # type: ignore[valid-type]


def _note() -> Any:
    return _optional(TEXT, "Remark; the program does not read it", str)


def known_keys(system: str, path: Iterable[str | int]) -> tuple[str, ...]:
    """Keys that the block at `path` of a record may hold."""
    model: type[BaseModel] | None = job_model(system)
    for part in path:
        if isinstance(part, str) and model is not None:
            field = model.model_fields.get(part)
            model = _block_in(field.annotation) if field else None
    return tuple(model.model_fields) if model is not None else ()


def _block_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    found = (_block_in(inner) for inner in getattr(annotation, "__args__", ()))
    return next((block for block in found if block is not None), None)
