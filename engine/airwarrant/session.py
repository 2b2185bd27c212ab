"""One call from files to a result document: find the policy, evaluate, note what an earlier visit's result said."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from airwarrant.errors import CallError, Fault, PolicyError
from airwarrant.evaluate import Evaluator
from airwarrant.job.lookup import through
from airwarrant.job.record import JobRecord
from airwarrant.policy.cache import PolicyCache
from airwarrant.policy.unfilled import unfilled
from airwarrant.result.document import document
from airwarrant.result.trace import PolicyTexts


class Session:
    """Evaluates records under the policies of one folder; engines are built once a policy digest.

    Parameters
    ----------
    policies : Path or sequence of Path
        The policy folder; or several, the one in use first, then those whose layers its markets may name.
    """

    #: Engines kept at once; a company has few markets, and each engine holds about a megabyte.
    MOST_ENGINES = 8

    def __init__(self, policies: Path | Sequence[Path]) -> None:
        self._cache = PolicyCache(policies)
        self._evaluators: dict[str, Evaluator] = {}
        self._texts: dict[str, PolicyTexts] = {}

    def evaluate(
        self, record: JobRecord, *, market: str = "", check_both: bool = False, draft: bool = False
    ) -> dict[str, Any]:
        """Return the result document of a record.

        Parameters
        ----------
        record : JobRecord
        market : str
            Overrides the record's own market.
        check_both : bool
            Evaluate with the reference evaluator too and compare.
        draft : bool
            Evaluate although the market's local facts are not filled in yet, as a demo record always may; the result says that
            it is a draft.

        Raises
        ------
        PolicyError
            ``unfilled``, with every place, for a live record under a market that is not filled in.
        """
        record = replace(record, market=market or record.market)
        evaluator = self.evaluator(record)
        if not (draft or record.demo) and (open_ := unfilled(evaluator.policy)):
            raise PolicyError(open_)
        before = before_last_visit(record)
        earlier = None if before is None else self.evaluate(before, check_both=check_both, draft=draft)
        texts = self._texts[evaluator.policy.digest]
        return document(evaluator.run(record, check_both=check_both), earlier, texts)

    def evaluator(self, record: JobRecord) -> Evaluator:
        """The evaluator of a record's market and dates."""
        if not record.market:
            raise CallError(
                [Fault("no-market", "the record names no market", advice='Write market = "…" or give --market.')]
            )
        policy = self._cache.policy(record.market, record.dates)
        evaluator = self._evaluators.get(policy.digest)
        # One meaning may stand at other places: an evaluator is of one composed policy, places and all.
        if evaluator is None or evaluator.policy is not policy:
            if evaluator is not None:
                evaluator.close()
            while len(self._evaluators) >= self.MOST_ENGINES:
                oldest = next(iter(self._evaluators))
                self._evaluators.pop(oldest).close()
                self._texts.pop(oldest)
            evaluator = self._evaluators[policy.digest] = Evaluator(policy)
            self._texts[policy.digest] = PolicyTexts(policy)
        return evaluator

    def close(self) -> None:
        """Free every engine."""
        for evaluator in self._evaluators.values():
            evaluator.close()
        self._evaluators.clear()
        self._texts.clear()

    def __enter__(self) -> "Session":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()


def before_last_visit(record: JobRecord) -> JobRecord | None:
    """The record without its last visit, where an earlier one could already have been decided from.

    A test-out decides nothing: it is held against the scope, it does not change it.
    """
    deciding = [visit for visit in record.visits if visit.kind != "test-out"]
    return through(record, deciding[-2].index) if len(deciding) > 1 else None
