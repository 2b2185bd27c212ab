"""One call from files to a result document: find the policy, evaluate, note what an earlier visit's result said."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any

from airwarrant.errors import CallError, Fault
from airwarrant.evaluate import Evaluator
from airwarrant.job.lookup import through
from airwarrant.job.record import JobRecord
from airwarrant.policy.cache import PolicyCache
from airwarrant.result.document import document
from airwarrant.result.serial import digest


class Session:
    """Evaluates records under the policies of one folder; engines are built once a policy digest.

    Parameters
    ----------
    policies : Path
        The policy folder.
    """

    #: Engines kept at once; a company has few markets, and each engine holds about a megabyte.
    MOST_ENGINES = 8

    def __init__(self, policies: Path) -> None:
        self._cache = PolicyCache(policies)
        self._evaluators: dict[str, Evaluator] = {}

    def evaluate(self, record: JobRecord, *, market: str = "", check_both: bool = False) -> dict[str, Any]:
        """Return the result document of a record.

        Parameters
        ----------
        record : JobRecord
        market : str
            Overrides the record's own market.
        check_both : bool
            Evaluate with the reference evaluator too and compare.
        """
        record = replace(record, market=market or record.market)
        evaluator = self.evaluator(record)
        result = document(evaluator.run(record, check_both=check_both))
        earlier = before_last_visit(record)
        if earlier is not None:
            first = document(evaluator.run(earlier))
            result["supersedes"] = changes(first, result, record.visits[-1].kind)
        return result

    def evaluator(self, record: JobRecord) -> Evaluator:
        """The evaluator of a record's market and dates."""
        if not record.market:
            raise CallError(
                [Fault("no-market", "the record names no market", advice='Write market = "…" or give --market.')]
            )
        policy = self._cache.policy(record.market, record.dates)
        evaluator = self._evaluators.get(policy.digest)
        if evaluator is None:
            while len(self._evaluators) >= self.MOST_ENGINES:
                self._evaluators.pop(next(iter(self._evaluators))).close()
            evaluator = self._evaluators[policy.digest] = Evaluator(policy)
        return evaluator

    def close(self) -> None:
        """Free every engine."""
        for evaluator in self._evaluators.values():
            evaluator.close()
        self._evaluators.clear()

    def __enter__(self) -> "Session":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def before_last_visit(record: JobRecord) -> JobRecord | None:
    """The record without its last visit, where an earlier visit could already have been decided from."""
    return through(record, record.visits[-2].index) if len(record.visits) > 1 else None


def changes(earlier: Mapping[str, Any], later: Mapping[str, Any], visit: str) -> dict[str, Any]:
    """Name the result that a later visit supersedes, and the lines that changed: the change order."""
    before = {line["id"]: line for line in earlier["lines"]}
    after = {line["id"]: line for line in later["lines"]}
    same = before.keys() & after.keys()
    return {
        "result": digest(dict(earlier)),
        "visit": visit,
        "added": sorted(after.keys() - before.keys()),
        "removed": sorted(before.keys() - after.keys()),
        "changed": [
            {"line": name, "from": _state(before[name]), "to": _state(after[name])}
            for name in sorted(same)
            if _state(before[name]) != _state(after[name])
        ],
    }


def _state(line: Mapping[str, Any]) -> str:
    size = f", {line['size']}" if line["size"] else ""
    return f"{line['state']}, {line['tier']}{size}"
