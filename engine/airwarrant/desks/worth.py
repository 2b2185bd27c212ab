"""What other answers would come to in money: the total of the scope with each.

Lines are priced at the sizes that what was read gives them, so that a difference is that of the scopes and of nothing else; it is laid on
the total that was offered. Without a price book, or with a line that has no price, there is no total.
"""

from collections.abc import Iterable
from decimal import Decimal

from airwarrant.desks.near_misses import facts_of
from airwarrant.line_sizes import LineSizes
from airwarrant.pricing.job import price_job
from airwarrant.rules.prepared import Prepared
from airwarrant.run import Run
from airwarrant.scope.order import task_order
from airwarrant.scope.settle import Settled

#: Least and most that a scope comes to.
Span = tuple[Decimal, Decimal]


class Worth:
    """Totals of one job's scopes.

    Parameters
    ----------
    run : Run
    base : Settled
        The scope that other answers are held against.
    """

    def __init__(self, run: Run, base: Settled) -> None:
        self._run = run
        self._order = task_order(run.policy.tasks)
        self._sizes = LineSizes(Prepared(run.policy), run.record, facts_of(run).subjects)
        self._known: dict[frozenset[str], Decimal | None] = {}
        self._offered = run.prices.total().amount if run.prices is not None else None
        self._base = self._total(base) if self._offered is not None else None

    def span(self, answers: Iterable[Settled]) -> Span | None:
        """Return the least and the most that the scope comes to with any of these answers; None where that is not known."""
        if self._offered is None or self._base is None:
            return None
        totals = []
        for settled in answers:
            total = self._total(settled)
            if total is None:
                return None
            totals.append(self._offered + total - self._base)
        return (min(totals), max(totals)) if totals else None

    def _total(self, settled: Settled) -> Decimal | None:
        active = frozenset(f"{line.id} {line.tier}" for line in settled.active())
        if active not in self._known:
            run = self._run
            sizes = self._sizes.found(settled)
            prices = price_job(run.policy, run.record, run.subjects, settled, sizes, self._order)
            self._known[active] = prices.total().amount if prices is not None else None
        return self._known[active]
