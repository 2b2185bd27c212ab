"""What an evaluation found, held against what was planted: from a result document alone."""

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.made_jobs import figures
from airwarrant.made_jobs.causes import Planted

Result = Mapping[str, Any]
_SOLD = frozenset(("recommended", "optional"))


@dataclass(frozen=True, slots=True)
class Recall:
    """Of each cause how often it was planted and how often found; of healthy houses how many got no line of work."""

    planted: Mapping[str, int]
    found: Mapping[str, int]
    healthy: int
    left_alone: int


def recall_of(jobs: Iterable[tuple[Planted, Result]]) -> Recall:
    """Count over jobs; a cause that nothing could see, such as a visit's kind, is left out."""
    planted: Counter[str] = Counter()
    found: Counter[str] = Counter()
    healthy = alone = 0
    for one, result in jobs:
        said = said_of(result)
        for cause in one.causes:
            finds = figures.names(f"cause/{cause}/finds")
            if finds and not _hidden(cause, one):
                planted[cause] += 1
                found[cause] += not said.isdisjoint(finds)
        if one.healthy:
            healthy += 1
            alone += not sold(result)
    return Recall(planted, found, healthy, alone)


def _hidden(cause: str, planted: Planted) -> bool:
    """Whether nobody could see it: gone by the visit that counts, or nothing of the house was read."""
    path = f"cause/{cause}/cured_by"
    if figures.has(path) and figures.text(path) in planted:
        return True
    blind = any(figures.has(f"cause/{one}/blind") for one in planted.causes)
    return blind and figures.text(f"cause/{cause}/of") in ("house", "room")


def said_of(result: Result) -> frozenset[str]:
    """Everything a result says, as ``line:…``, ``finding:…``, ``hold:…``, ``retest:…``, ``caution:…``, ``declined:…``."""
    return frozenset(
        [
            *(f"line:{one['task']}" for one in result["lines"]),
            *(f"finding:{one['finding']}" for one in result["findings"]),
            *(f"hold:{one['name']}" for one in result["holds"]),
            *(f"retest:{one['reading']}" for one in result["retests"]),
            *(f"caution:{one['name']}" for one in result["cautions"]),
            *(f"declined:{one['task']}" for one in result["declined"]),
        ]
    )


def sold(result: Result) -> tuple[str, ...]:
    """Lines of a result that the homeowner would pay for by choice: what the company includes and what law asks is not."""
    return tuple(one["id"] for one in result["lines"] if one["tier"] in _SOLD)
