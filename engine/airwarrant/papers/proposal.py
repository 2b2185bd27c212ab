"""The homeowner's proposal: what was told and measured, what it means, what is offered and what is not, in plain words."""

import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.drawn import PHONE, Pictures
from airwarrant.papers.numbers import amount
from airwarrant.papers.page import page
from airwarrant.papers.sheet import AUTHORITIES, HOUSE, STANDING, Sheet, Whose

#: Order in which lines are spoken of: what must be, what helps, what is wished, what belongs to every job.
TIERS = ("required", "recommended", "optional", "included")
#: How a limit stands to a reading that has to reach it.
_LEAST = ("at least", "above")
_MEASURED = ("test-in", "unit-off", "after-balance")
#: Readings of the house that say what an option comes to, in the order in which they matter to who lives there.
_TOLD = ("register_flow", "external_static", "leakage_25", "power")


@dataclass(frozen=True, slots=True)
class Measured:
    """One thing measured beside what is normal; `after` is the limit after the work where that is another one."""

    title: str
    reading: str
    must_be: str
    limit: str
    after: str
    whose: Whose
    word: str


@dataclass(frozen=True, slots=True)
class Said:
    """One text that holds at several places."""

    text: str
    places: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Compared:
    """One reading over the options: what it is, then its range in each."""

    title: str
    today: str
    like: str
    options: tuple[str, ...]


def proposal(sheet: Sheet, size: str) -> str:
    """Return the proposal as HTML."""
    result = sheet.result
    return page(
        "proposal",
        sheet,
        size,
        pictures=Pictures(sheet),
        small=Pictures(sheet, PHONE),
        complaints=_complaints(sheet),
        measured=(measured := _measured(sheet)),
        sources=_sources(measured),
        findings=_findings(sheet),
        short=_short(sheet),
        tiers=[(tier, lines) for tier in TIERS if (lines := _of_tier(sheet, tier))],
        declined=_said(sheet, [(one["said"], one["place"]) for one in result["declined"] if one["how"] == "declined"]),
        not_called_for=_not_called_for(sheet),
        holds=_said(sheet, [(one["said"], one["subject"]) for one in result["holds"]]),
        retests=_retests(sheet),
        compared=_compared(sheet),
        cautions=_cautions(sheet),
        notices=_notices(sheet),
        terms=sorted(
            (text for name in result["texts"] if name.startswith("term-") and (text := sheet.text(name))),
            key=_as_spelled,
        ),
        visits=(visits := list(sheet.visits(*_MEASURED))),
        persons=list(dict.fromkeys(one["by"] for visit in visits for one in visit["readings"] if "by" in one)),
        selling=result["sellable"]["answer"],
    )


def _as_spelled(text: str) -> str:
    """A text as a list of words sorts it: without accents, large letters as small."""
    return unicodedata.normalize("NFKD", text).casefold()


def _complaints(sheet: Sheet) -> list[tuple[str, str]]:
    """Rooms that somebody complains of, with the word for it."""
    out = []
    for key, item in sheet.result["record"]["items"].items():
        word = item["facts"].get("complaint", {}).get("word", "none")
        if item["kind"] == "room" and word != "none":
            out.append((sheet.place(key), sheet.words.of("complaint", word)))
    return out


def _measured(sheet: Sheet) -> list[Measured]:
    """What test-out is held to, of the house and of the rooms complained of, as it was found."""
    rooms = {key for key, item in sheet.result["record"]["items"].items() if item["kind"] == "room"}
    troubled = {key for key in rooms if sheet.fact(key, "complaint") not in ("", "none")}
    out = []
    for one in sheet.result["acceptance"]:
        if one["place"] in rooms - troubled:
            continue
        verdict = sheet.verdict(one["check"], one["place"])
        if verdict is None or not verdict.get("reading") or not verdict.get("limit"):
            continue
        name = sheet.say(one["title"])
        title = name if one["place"] == HOUSE else f"{name}, {sheet.place(one['place'])}"
        out.append(
            Measured(
                title,
                sheet.reading(verdict),
                one["must_be"],
                limit := sheet.limit(verdict),
                after if (after := _held_to(one)) != limit else "",
                sheet.whose(verdict),
                verdict["word"],
            )
        )
    return out


def _held_to(target: Mapping[str, Any]) -> str:
    """The limit of a test-out target with its unit; empty where it is not known yet."""
    return amount(target["limit"], target["unit"]) if target["limit"] is not None else ""


def _short(sheet: Sheet) -> list[tuple[str, str, str]]:
    """Rooms of which we expect less than test-out holds them to: the room, what is expected, the greatest such limit."""
    readings = (sheet.result["predictions"]["scope"] or {}).get("readings", {})
    missed: dict[str, tuple[float, str, str]] = {}
    for one in sheet.result["acceptance"]:
        if one["place"] == HOUSE or one["must_be"] not in _LEAST or one["limit"] is None or not one["reads"]:
            continue
        expected = readings.get(one["place"], {}).get(one["reads"][0]["field"])
        if expected and expected["unit"] == one["unit"] and expected["value"] < one["limit"]:
            told = (one["limit"], sheet.range(expected), _held_to(one))
            missed[one["place"]] = max(missed.get(one["place"], told), told)
    return [(sheet.place(key), expected, limit) for key, (_, expected, limit) in missed.items()]


def _for_homeowner(entries: Sequence[Mapping[str, Any]]) -> list[Mapping[str, Any]]:
    return [one for one in entries if one["for"] != "crew"]


def _sources(measured: Sequence[Measured]) -> dict[str, bool]:
    """What the limits are cited from, once each, in the order of the table, and whether it is yet to be confirmed."""
    cites = dict.fromkeys(one.whose.cite for one in measured if one.whose.cite)
    return {cite: any(one.whose.unconfirmed for one in measured if one.whose.cite == cite) for cite in cites}


def _findings(sheet: Sheet) -> list[Said]:
    """What the readings mean; what a caution says as well is said there."""
    cautions = {one["said"] for one in sheet.result["cautions"]}
    told = [one for one in _for_homeowner(sheet.result["findings"]) if one["said"] not in cautions]
    return _said(sheet, [(one["said"], one["at"]) for one in told])


def _said(sheet: Sheet, entries: Sequence[tuple[str, str]]) -> list[Said]:
    """Texts once each, with the places they are said of; none where that is the whole house."""
    places: dict[str, list[str]] = {}
    for text, place in entries:
        named = places.setdefault(sheet.say(text), [])
        if place != HOUSE and sheet.place(place) not in named:
            named.append(sheet.place(place))
    return [Said(text, tuple(named)) for text, named in places.items()]


def _of_tier(sheet: Sheet, tier: str) -> list[Mapping[str, Any]]:
    return [line for line in sheet.lines(*STANDING, "held") if line["tier"] == tier]


def _not_called_for(sheet: Sheet) -> list[str]:
    """Work that nothing measured calls for, each kind once; none where a reading that speaks of it fails."""
    failing = {one["id"] for one in sheet.result["verdicts"] if one["word"] == "fail"}
    standing = {line["task"] for line in sheet.result["lines"]}
    declined = {one["task"] for one in sheet.result["declined"] if one["how"] == "declined"}
    tasks = sheet.result["trace"]["tasks"]
    entries = [one for one in sheet.result["declined"] if one["how"] == "not-called-for"]
    failed = {one["task"] for one in entries if failing.intersection(one["readings"])}
    rest = {one["task"] for one in entries} - standing - declined - failed
    return sorted(sheet.say(tasks[task]["title"]) for task in rest if task in tasks)


def _retests(sheet: Sheet) -> list[tuple[str, str, str]]:
    """Readings taken again: what, when as the result has it, how."""
    out = []
    for one in sheet.result["retests"]:
        name = sheet.say(one["title"])
        title = name if one["subject"] == HOUSE else f"{name}, {sheet.place(one['subject'])}"
        out.append((title, one["when"], sheet.say(one["how"])))
    return out


def _compared(sheet: Sheet) -> list[Compared]:
    """The readings that matter, over today, the unit alone, and each offer."""
    predictions, offers = sheet.result["predictions"], sheet.result["offers"]
    if not offers:
        return []
    found = (predictions["network_as_found"] or {}).get(HOUSE, {})
    like = next((o for o in predictions["like_for_like"] if o["setting"] == offers[0]["setting"]), None)
    alone = (like or {}).get("readings", {}).get(HOUSE, {})
    rows = []
    for name in _TOLD:
        ranges = tuple(sheet.range(offer["readings"].get(name)) for offer in offers)
        if any(ranges):
            today = sheet.range(found.get(name))
            rows.append(Compared(sheet.words(f"told.{name}"), today, sheet.range(alone.get(name)), ranges))
    return rows


def _cautions(sheet: Sheet) -> list[str]:
    """Cautions for the homeowner, what can hurt first; notices stand by themselves."""
    told = [one for one in _for_homeowner(sheet.result["cautions"]) if not _notice(sheet, one)]
    told.sort(key=lambda one: AUTHORITIES.index(one["authority"]))
    return [sheet.say(one["said"]) for one in told]


def _notices(sheet: Sheet) -> list[tuple[str, str]]:
    """Cautions that come with a notice, each with what the policy says of it."""
    told = [one for one in _for_homeowner(sheet.result["cautions"]) if _notice(sheet, one)]
    return [(sheet.say(one["said"]), _notice(sheet, one)) for one in told]


def _notice(sheet: Sheet, caution: Mapping[str, Any]) -> str:
    """What a paper says of the notice that goes with a caution: the policy words it by the caution's name."""
    return sheet.text(f"paper-{caution['name']}")
