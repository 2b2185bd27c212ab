"""The words of a job record: every kind of thing, its fields, their units and closed words.

One list serves five readers: the record's shape and hard ranges, the JSON Schema, the policy's semantic checks, the dictionary
an owner writes rules with (``policy words``) and the survey sheet. The fields stand in the ``words_*`` files, one line each.
"""

from collections.abc import Mapping
from types import MappingProxyType

from airwarrant.job.fields import UNKNOWN, YES_NO, Field, Form, Kind, Section, derived, kind_of
from airwarrant.job.words_air_path import AIR_PATH
from airwarrant.job.words_combustion import COMBUSTION
from airwarrant.job.words_equipment import EQUIPMENT
from airwarrant.job.words_house import ACCESS, BUILDING, ENERGY, HAZARDS
from airwarrant.job.words_rooms import ROOM
from airwarrant.job.words_visit import CONDITIONS, DERIVED, READINGS, STATES

__all__ = ["HOUSE_KEY", "KINDS", "PHOTOGRAPHED", "TIMES", "UNKNOWN", "YES_NO", "Field", "Form", "Kind", "Section"]

HOUSE_KEY = "house"
TIMES = ("found", "predicted", "test-out")
PHOTOGRAPHED = "photographed"

_HOUSE = (*EQUIPMENT, *CONDITIONS, *STATES, *DERIVED, *BUILDING, *HAZARDS, *ACCESS, *ENERGY, *READINGS)
_ITEMS = (*AIR_PATH, ("room", "Room", ROOM), *COMBUSTION)


def _item(name: str, title: str, fields: tuple[Field, ...]) -> Kind:
    where = f"[[{name}]], readings in [[visit.{name}]]"
    return kind_of(name, title, where, (*fields, derived(PHOTOGRAPHED, "A photograph of it is named", "yes", "no")))


KINDS: Mapping[str, Kind] = MappingProxyType(
    {
        HOUSE_KEY: kind_of(
            HOUSE_KEY, "The house and its system", "[house], [old], [new] and the head of each visit", _HOUSE
        ),
        **{name: _item(name, title, fields) for name, title, fields in _ITEMS},
    }
)
