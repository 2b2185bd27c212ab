"""What a made job's firm or homeowner decided about a line."""

from typing import Any

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.drawn import House
from airwarrant.made_jobs.stream import Stream

Data = dict[str, Any]


def decisions(stream: Stream, house: House) -> Data:
    """Return the record's blocks ``override`` and ``choice``; none where nothing was decided."""
    line = _line(house)
    if "line-overridden" in house.planted:
        reason, by = stream.one_of(figures.names("decision/reasons")), stream.one_of(figures.names("decision/by"))
        return {"override": [{"line": line, "decision": "left-out", "reason": reason, "by": by}]}
    if "line-declined" in house.planted:
        return {"choice": [{"line": line, "decision": "declined"}]}
    return {}


def _line(house: House) -> str:
    tasks = figures.texts("decision/lines")
    return next((f"{task}@house" for cause, task in tasks.items() if cause in house.planted), "")
