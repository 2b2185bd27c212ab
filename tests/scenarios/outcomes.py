"""What a job comes to under a market, small enough to read: sold, held, left out, promised and predicted; no verdicts, no trace.

An outcome is a mapping of sections, each a mapping or a list of plain texts, so that a difference is a line of text and no more.
"""

import re
import tomllib
from collections.abc import Iterator, Mapping
from typing import Any

from airwarrant.cli.figures import shown
from jobs import SCENARIOS

Outcome = dict[str, Any]

#: One market of each region: hot-dry, hot-humid, mixed, cold, marine.
MARKETS = ("copper-basin", "mosswater-bend", "clay-hollow", "larchmere-notch", "fog-harbor")
FOLDER = SCENARIOS / "regions"

#: Of the house, then of each room: what the documents print of a prediction.
_HOUSE = (
    "external_static",
    "airflow",
    "register_flow",
    "leakage_25",
    "power",
    "temperature_rise",
    "delivered_sensible",
    "season_energy",
    "season_cost",
)
_ROOM = ("flow", "door_pressure")

NOT_THERE = "not there"
_PRICED = re.compile(r"(.*?)(, (\d+\.\d\d))?")


def outcome(result: Mapping[str, Any]) -> Outcome:
    """The outcome of a result document."""
    currency = result["market"]["currency"]
    return {
        "sellable": "; ".join([result["sellable"]["answer"], *result["sellable"]["why"]]),
        "stops": sorted(stop["name"] for stop in result["stops"]),
        "total": f"{result['totals']['amount']} {currency}",
        # In the order of work. What is held has no amount yet.
        "lines": {
            line["id"]: _said(line["tier"], line["state"], _size(line), (line["price"] or {}).get("amount") or "")
            for line in result["lines"]
        },
        "charges": {charge["charge"]: charge["amount"] for charge in result["totals"]["charges"]},
        "holds": {
            f"{hold['name']} of {hold['subject']}": _said(hold["when"], *sorted(hold["lines"]))
            for hold in result["holds"]
            if hold["lines"]
        },
        "read_again": {f"{r['reading']} of {r['subject']}": r["when"] for r in result["retests"]},
        "declined": {one["line"]: one["rule"] for one in result["declined"] if one["how"] == "declined"},
        "findings": sorted(f"{one['finding']} of {one['at']}" for one in result["findings"]),
        "cautions": sorted(one["name"] for one in result["cautions"]),
        "promised": {
            f"{one['check']} of {one['place']}": _said(_limit(one), "gates hand-over" if one["gate"] else "")
            for one in result["acceptance"]
        },
        "predicted": dict(_predicted(result["predictions"], currency)),
    }


def _size(line: Mapping[str, Any]) -> str:
    return " and ".join(size["text"] for size in line["sizes"]) or line["size"]


def _limit(promised: Mapping[str, Any]) -> str:
    if promised["limit"] is None:
        return f"{promised['must_be']} a limit that is not known"
    return f"{promised['must_be']} {shown(promised['limit'], promised['unit'], 'ip')}"


def _said(*words: str) -> str:
    return ", ".join(filter(None, words))


def _predicted(predictions: Mapping[str, Any], currency: str) -> Iterator[tuple[str, str]]:
    """Each figure like for like and with the scope, both at the fan setting of the scope."""
    if not predictions["options"]:
        return
    scope = predictions["scope"]
    unknown: Mapping[str, Any] = {"readings": {}}
    before = next((o for o in predictions["like_for_like"] if o["setting"] == scope["setting"]), unknown)
    yield "fan setting", scope["setting"]
    yield "misses", _said(*scope["misses"])
    yield "close", _said(*scope["close"])
    for place, names in (("house", _HOUSE), *((key, _ROOM) for key in sorted(scope["readings"]) if key != "house")):
        for name in names:
            if name in scope["readings"][place]:
                pair = [o["readings"].get(place, {}).get(name) for o in (before, scope)]
                texts = [shown(one["value"], one["unit"], "ip") if one else "not known" for one in pair]
                yield f"{name} of {place}", " to ".join(texts).replace("money", currency)


def looked_up(outcome: Mapping[str, Any], section: str, entry: str = "") -> str:
    """One text of an outcome, or "not there"; ``lines`` without their amounts, which are ``amounts``."""
    held: str | list[str] | dict[str, str] = outcome.get("lines" if section == "amounts" else section, {})
    if isinstance(held, str):
        return held
    if isinstance(held, list):
        return "there" if entry in held else NOT_THERE
    if section not in ("lines", "amounts") or entry not in held:
        return held.get(entry, NOT_THERE)
    said, _, amount = _PRICED.fullmatch(held[entry]).groups()  # type: ignore[union-attr]  # it matches any text
    return said if section == "lines" else amount or NOT_THERE


def kept(job: str) -> Outcome:
    """The outcomes on file, by market."""
    text = (FOLDER / f"{job}.toml").read_text()
    return {market: one for market, one in tomllib.loads(text).items() if isinstance(one, dict)}


def changes(was: Mapping[str, Any], now: Mapping[str, Any], *where: str) -> Iterator[str]:
    """Every difference as a line: where, what it was, what it is."""
    for key in dict.fromkeys((*was, *now)):
        old, new, place = was.get(key), now.get(key), " / ".join((*where, key))
        if isinstance(old or new, dict):
            old, new = old or {}, new or {}
            yield from changes(old, new, *where, key)
            if key == "lines" and [one for one in old if one in new] != [one for one in new if one in old]:
                yield f"{place}: stand in another order of work"
        elif isinstance(old or new, list):
            yield from (f"{place}: {one} is gone" for one in old or () if one not in (new or ()))
            yield from (f"{place}: {one} is new" for one in new or () if one not in (old or ()))
        elif old != new:
            yield f"{place}: was {_quoted(old)}, is {_quoted(new)}"


def _quoted(said: str | None) -> str:
    return NOT_THERE if said is None else f'"{said}"'
