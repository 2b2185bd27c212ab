"""A blank test-out file of a result: commented, and asking for exactly the readings that its acceptance rests on."""

from collections.abc import Iterable, Iterator, Mapping
from textwrap import wrap
from typing import Any

from airwarrant.desks.policy_set_text import quoted
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, Field
from airwarrant.job.shape import unit_of
from airwarrant.job.test_out import FORMAT, KIND, UNIT
from airwarrant.units import convert, fixed

_WIDTH = 120
_KEY = 24
#: Words of the head of a visit that say how the readings were taken.
_HOW = ("filter_state", "same_ports", "doors_state", "registers_state", "dampers_state", "flow_method", "hood")
#: A word that is asked for where a reading is.
_WITH = {"leakage_25": ("leakage_method", "smoke_check")}
#: Read last of all: they decide whether the system may be handed over.
_LAST = ("ambient_co",)
_LAST_KINDS = ("zone", "appliance")

_Asked = tuple[str, str]


def blank_test_out(result: Mapping[str, Any]) -> str:
    """Return the blank as TOML; job, kind and unit are filled, all else is to be filled or left as it is."""
    return "\n".join(_Blank(result).lines()) + "\n"


class _Blank:
    def __init__(self, result: Mapping[str, Any]) -> None:
        self._result = result
        self._system = str(result["record"]["units"])
        self._asked: dict[_Asked, list[Mapping[str, Any]]] = {}
        for target in result["acceptance"]:
            for one in target["reads"]:
                self._asked.setdefault((one["key"], one["field"]), []).append(target)
        self._also = [
            (one["key"], one["field"])
            for one in result["predictions"]["compared"]
            if (one["key"], one["field"]) not in self._asked
        ]

    def lines(self) -> Iterator[str]:
        scope = self._result["predictions"]["scope"]
        setting = scope["setting"] if scope else ""
        if self._result["market"].get("draft"):
            yield "# DRAFT: local facts of this market are not filled in, and limits of its law are not known. Not for use on a job."
        yield f"# Test-out of job {_plain(self._result['job_id'])}. Take the # away before a key that you fill in."
        yield "# What is left out counts as not read, and what was not read has not passed."
        yield "# A reading that was measured is its number alone. Else write, for example:"
        yield '#   airflow = { value = 1240, state = "measured", plus_minus = 60, by = "…", time = "15:40" }'
        yield "# Read at the ports of the first visit, at the chosen fan setting, with a new filter. Live parts, refrigerant and"
        yield "# combustion are for people licensed or qualified for them, under the local code. Combustion comes last."
        yield f'format = "{FORMAT}"'
        yield f"job = {quoted(str(self._result['job_id']))}"
        yield f'units = "{self._system}"'
        yield ""
        yield "[[visit]]"
        yield f'kind = "{KIND}"'
        yield f'unit = "{UNIT}"'
        yield from _key("date", '""', "needed: the day of the readings, such as 2026-07-22", mark="")
        yield from _key("fan_setting", '""', f"chosen: {_plain(setting)}" if setting else "none was chosen")
        yield from self._words(_HOW)
        house = [name for key, name in self._asked if key == HOUSE_KEY]
        yield from self._readings("What the targets rest on", HOUSE_KEY, [name for name in house if name not in _LAST])
        yield from self._readings("What shows where a miss comes from", HOUSE_KEY, [name for _, name in self._also])
        last = [name for name in house if name in _LAST]
        yield from self._readings("Last: it decides whether the system may be handed over", HOUSE_KEY, last)
        kinds = list(dict.fromkeys(self._kind(key) for key, _ in self._asked if key != HOUSE_KEY))
        for kind in (*(k for k in kinds if k not in _LAST_KINDS), *(k for k in _LAST_KINDS if k in kinds)):
            yield from self._items(kind)

    def _items(self, kind: str) -> Iterator[str]:
        for key in dict.fromkeys(key for key, _ in self._asked if key != HOUSE_KEY and self._kind(key) == kind):
            yield ""
            yield f"[[visit.{kind}]]"
            name = self._result["record"]["items"][key]["name"]
            yield f"id = {quoted(key)}".ljust(_KEY) + f"  # {_plain(name)}" if name else f"id = {quoted(key)}"
            for field in [field for at, field in self._asked if at == key]:
                yield from self._reading(key, field)

    def _readings(self, title: str, key: str, names: Iterable[str]) -> Iterator[str]:
        order = list(KINDS[HOUSE_KEY].fields)
        names = sorted(dict.fromkeys(names), key=order.index)
        if names:
            yield f"# {title} ".ljust(_WIDTH - 1, "-")
        for name in names:
            yield from self._reading(key, name)
            yield from self._words(_WITH.get(name, ()))

    def _words(self, names: Iterable[str]) -> Iterator[str]:
        for name in names:
            field = KINDS[HOUSE_KEY].fields[name]
            before = next((v["words"][name] for v in self._found() if name in v["words"]), "")
            told = f"{field.title}: {' | '.join(field.words)}" + (f"; at the first visit: {before}" if before else "")
            yield from _key(field.key or field.name, '""', told)

    def _reading(self, key: str, name: str) -> Iterator[str]:
        field = KINDS[self._kind(key)].fields[name]
        unit = unit_of(field, self._system)
        told = [f"{field.title} [{unit}]"]
        before = next(
            (r["value"] for v in self._found() for r in v["readings"] if (r["key"], r["field"]) == (key, name)), None
        )
        if before is not None:
            told.append(f"before {self._shown(before, field)}")
        scope = self._result["predictions"]["scope"] or {"readings": {}}
        predicted = scope["readings"].get(key, {}).get(name)
        if predicted:
            low = self._shown(predicted.get("low", predicted["value"] - predicted["plus_minus"]), field)
            high = self._shown(predicted.get("high", predicted["value"] + predicted["plus_minus"]), field)
            told.append(f"predicted {low}" + (f" to {high}" if high != low else ""))
        yield from _key(field.key or field.name, "", "; ".join(told))

    def _shown(self, value: float, field: Field) -> str:
        unit = unit_of(field, self._system)
        return fixed(convert(value, field.unit, unit), unit)

    def _found(self) -> list[Mapping[str, Any]]:
        """Visits that tell what was found, newest first."""
        visits = self._result["record"]["visits"]
        return [visit for visit in reversed(visits) if visit["unit"] == "old" and visit["kind"] != KIND]

    def _kind(self, key: str) -> str:
        return HOUSE_KEY if key == HOUSE_KEY else str(self._result["record"]["items"][key]["kind"])


def _key(name: str, blank: str, told: str, mark: str = "#") -> Iterator[str]:
    """A key to fill in, with what may stand there; what is too long for the line goes on below it."""
    left = f"{mark}{name} = {blank}".rstrip().ljust(_KEY)
    first, *rest = wrap(told, _WIDTH - len(left) - 4) or [""]
    yield f"{left}  # {first}"
    yield from (f"#{'':{len(left) - 1}}  # {more}" for more in rest)


def _plain(text: str) -> str:
    """A text in a comment: on one line, whatever the record holds."""
    return "".join(one if one.isprintable() else " " for one in text)
