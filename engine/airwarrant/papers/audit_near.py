"""Near misses: verdicts inside their guard band, and rules that one clause alone kept off."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

#: Places of one check or one clause that are told; the rest is counted.
MOST = 12
_KINDS = ("close", "clear", "unread", "other")


@dataclass(slots=True)
class Band:
    """Verdicts of one check at one time that are too close to call; `rest` is how many are not told."""

    title: str
    time: str
    place: Mapping[str, Any]
    verdicts: list[Mapping[str, Any]] = field(default_factory=list)

    @property
    def told(self) -> list[Mapping[str, Any]]:
        """Those told, the closest first."""
        return sorted(self.verdicts, key=_openness)[:MOST]

    @property
    def rest(self) -> int:
        """How many are not told."""
        return max(len(self.verdicts) - MOST, 0)


@dataclass(slots=True)
class Kept:
    """One clause that alone kept one rule off, and the places where it did, each with the verdict that it read."""

    rule: str
    title: str
    clause: Mapping[str, Any]
    places: list[tuple[str, Mapping[str, Any] | None]] = field(default_factory=list)

    @property
    def told(self) -> list[tuple[str, Mapping[str, Any] | None]]:
        """Places that are told, the closest first."""
        return sorted(self.places, key=lambda one: _openness(one[1]))[:MOST]

    @property
    def rest(self) -> int:
        """How many are not told."""
        return max(len(self.places) - MOST, 0)


@dataclass(frozen=True, slots=True)
class Near:
    """Rules that did not fire: by what the one clause against them read; the rest counted."""

    close: list[Kept]
    clear: list[Kept]
    unread: list[Kept]
    other: list[Kept]
    several: int
    elsewhere: int


def within_band(result: Mapping[str, Any]) -> list[Band]:
    """Return every check that came out too close to call, with its places."""
    checks = result["trace"]["checks"]
    bands: dict[tuple[str, str], Band] = {}
    for verdict in result["verdicts"]:
        if verdict["word"] == "close":
            check = checks[verdict["check"]]
            key = (verdict["check"], verdict["time"])
            bands.setdefault(key, Band(check["title"], verdict["time"], check)).verdicts.append(verdict)
    return sorted(bands.values(), key=lambda band: _openness(band.told[0]))


def near_rules(result: Mapping[str, Any]) -> Near:
    """Return the rules that one clause kept off; those kept off by more, and those of other places, are counted."""
    verdicts = {one["id"]: one for one in result["verdicts"]}
    groups: dict[str, dict[tuple[str, str], Kept]] = {kind: {} for kind in _KINDS}
    several = elsewhere = 0
    for missed in result["trace"]["not_fired"]:
        if "failed" not in missed:
            elsewhere += 1
        elif len(missed["failed"]) > 1:
            several += 1
        else:
            clause = missed["failed"][0]
            read = [verdicts.get(one["verdict"]) for one in clause["reads"] if "verdict" in one]
            verdict = min((one for one in read if one is not None), key=_openness, default=None)
            title = result["trace"]["rules"][missed["rule"]]["title"]
            kept = groups[_kind(clause, verdict)].setdefault(
                (missed["rule"], clause["said"]), Kept(missed["rule"], title, clause)
            )
            kept.places.append((missed["subject"], verdict))
    made = {kind: sorted(known.values(), key=lambda one: _openness(one.told[0][1])) for kind, known in groups.items()}
    return Near(**made, several=several, elsewhere=elsewhere)


def _kind(clause: Mapping[str, Any], verdict: Mapping[str, Any] | None) -> str:
    if not any("verdict" in one for one in clause["reads"]):
        return "other"
    if verdict is None or verdict["word"] == "unmeasured" or "margin" not in verdict:
        return "unread"
    return "close" if verdict["word"] == "close" else "clear"


def _openness(verdict: Mapping[str, Any] | None) -> float:
    """How far from even the chance is that the reading meets its limit: what is most open sorts first."""
    return abs(verdict["probability"] - 0.5) if verdict is not None and "probability" in verdict else 1.0
