"""What of one evaluation is compared: lines, money, stops, holds and what the test-out is held to; plain data that travels."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from typing import Any

from airwarrant.policy.model import AUTHORITIES
from airwarrant.pricing.exact import money_text
from airwarrant.run import Run
from airwarrant.scope.settle import Line, hold_of

_RANKS: tuple[str, ...] = AUTHORITIES
#: Line, stop, hold or target -> how it stands.
Told = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Standing:
    """A line that stands: state, tier, sizes as text, and what it costs; None for a line without a price."""

    task: str
    state: str
    tier: str
    size: str
    amount: Decimal | None


@dataclass(frozen=True, slots=True)
class Outcome:
    """What one evaluation comes to, as far as two are compared.

    Attributes
    ----------
    lines : mapping of line to Standing
        Scoped and held ones.
    stops, holds : mapping
        Name and place -> strictest authority that asks for it.
    targets : mapping
        ``check@place`` of the test-out -> what the record's test-out says of it; empty where none was taken.
    answer : str
        ``no`` on a stop, ``held`` while the proposal waits or the scope has not settled, else ``yes``. What is to be read again is
        not looked at.
    amount : Decimal or None
        What the offer comes to; None where a line has no price.
    """

    lines: Mapping[str, Standing]
    stops: Told
    holds: Told
    targets: Told
    answer: str
    amount: Decimal | None

    def as_json(self) -> dict[str, Any]:
        """Return plain data; amounts as exact texts."""
        lines = {
            name: [one.task, one.state, one.tier, one.size, None if one.amount is None else str(one.amount)]
            for name, one in self.lines.items()
        }
        amount = None if self.amount is None else str(self.amount)
        told = {"stops": dict(self.stops), "holds": dict(self.holds), "targets": dict(self.targets)}
        return {"lines": lines, **told, "answer": self.answer, "amount": amount}


def outcome_from(data: Mapping[str, Any]) -> Outcome:
    """Return the outcome that `Outcome.as_json` made data of."""
    lines = {
        name: Standing(task, state, tier, size, None if amount is None else Decimal(amount))
        for name, (task, state, tier, size, amount) in data["lines"].items()
    }
    amount = None if data["amount"] is None else Decimal(data["amount"])
    return Outcome(lines, data["stops"], data["holds"], data["targets"], data["answer"], amount)


def outcome_of(run: Run) -> Outcome:
    """Return what is compared of an evaluation."""
    prices = run.prices.scope if run.prices else {}
    lines = {
        line.id: Standing(
            line.task,
            line.state,
            line.tier,
            _size(run, line),
            priced.amount if (priced := prices.get(line.id)) is not None else None,
        )
        for line in sorted(run.settled.lines.values(), key=lambda one: one.id)
        if line.state in ("scoped", "held")
    }
    stops = _asked(
        (f"{vote.then.name}@{vote.subject}", vote.authority) for vote in run.votes if vote.then.what == "stop"
    )
    holds = _asked(
        (f"{hold_of(vote).name}@{vote.subject}", vote.authority) for vote in run.votes if vote.then.what == "hold"
    )
    targets = {}
    for vote in run.votes:
        if vote.then.what == "target":
            verdict = run.verdicts.get((vote.then.name, "test-out", vote.place))
            targets[f"{vote.then.name}@{vote.place}"] = verdict.word if verdict is not None else ""
    waits = run.settled.proposal_holds or not run.stands
    return Outcome(
        lines,
        stops,
        holds,
        dict(sorted(targets.items())),
        "no" if stops else "held" if waits else "yes",
        run.prices.total().amount if run.prices else None,
    )


def money(amount: Decimal | None) -> str:
    """An amount as text, empty where there is none."""
    return "" if amount is None else money_text(amount)


def _asked(several: Iterable[tuple[str, str]]) -> dict[str, str]:
    out: dict[str, str] = {}
    for name, authority in sorted(several):
        out[name] = min(out.get(name, authority), authority, key=_RANKS.index)
    return out


def _size(run: Run, line: Line) -> str:
    if run.policy.tasks[line.task].changes == "fan-setting":
        return run.chosen
    sized = run.sizes.get(line.id)
    several = sized.sizes if sized is not None else ()
    return "; ".join(f"{one.count} × {one.text}" if one.count > 1 else one.text for one in several)
