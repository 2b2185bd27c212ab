"""The reason trees of the lines of one job that moved, under either policy, rendered from the two results."""

from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any

from airwarrant.errors import ResultError
from airwarrant.evaluate import Evaluator
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Policy
from airwarrant.replay.answer import Answer
from airwarrant.result.document import document
from airwarrant.result.why import TOTAL, Row, why

#: Lines of one job whose trees are shown; the rest is listed.
_MOST_LINES = 3


@dataclass(frozen=True, slots=True)
class Pair:
    """One line's reason tree under the first and under the second policy; no rows where that result speaks of no such line."""

    line: str
    before: tuple[Row, ...]
    after: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Trees:
    """The trees of one job; `rest` names the lines that moved and are not shown, `why` says why there are no trees at all."""

    job: str
    pairs: tuple[Pair, ...]
    rest: tuple[str, ...] = ()
    why: str = ""

    def as_json(self) -> dict[str, Any]:
        return asdict(self)


def trees_of(record: JobRecord, a: Policy, b: Policy, answer: Answer) -> Trees:
    """Evaluate a job in full under both policies and return the trees of what moved; of the whole price where no line did.

    A line that only has another price has none: both prices say it.
    """
    moved = list(dict.fromkeys(one.line for one in answer.lines if one.kind != "repriced"))
    holds = list(dict.fromkeys(name.rpartition("@")[0] for name, _, _ in answer.holds))
    names = moved or holds or ([TOTAL] if answer.before != answer.after and not answer.lines else [])
    if not names:
        return Trees(answer.job, ())
    results = []
    for policy in (a, b):
        with Evaluator(policy) as evaluator:
            results.append(document(evaluator.run(record)))
    pairs = tuple(Pair(name, _rows(results[0], name), _rows(results[1], name)) for name in names[:_MOST_LINES])
    return Trees(answer.job, pairs, tuple(names[_MOST_LINES:]))


def _rows(result: Mapping[str, Any], name: str) -> tuple[Row, ...]:
    try:
        return tuple(why(result, name))
    except ResultError:
        return ()
