"""What an offer comes to: its lines by tier, and what stands beside them on the bill."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from airwarrant.job.dictionary import HOUSE_KEY
from airwarrant.policy.model import TIERS
from airwarrant.policy.price_model import Charge, PriceBook
from airwarrant.pricing.exact import HUNDRED, percent_of, product, rounded_quotient, total
from airwarrant.pricing.line import LinePricer, Worked


@dataclass(frozen=True, slots=True)
class Entry:
    """A line as a total sees it; `cost` is what its amount was made from."""

    line: str
    task: str
    tier: str
    amount: Decimal | None
    cost: Decimal = Decimal(0)
    why: str = ""


@dataclass(frozen=True, slots=True)
class Charged:
    """A charge with its amount, negative where it is given back.

    `base` is what a share was taken of, `capped` whether the cap bounded it, `worked` the work behind it.
    """

    charge: Charge
    amount: Decimal
    base: Decimal = Decimal(0)
    capped: bool = False
    worked: Worked | None = None
    unrounded: Decimal = Decimal(0)


@dataclass(frozen=True, slots=True)
class Total:
    """What an offer comes to.

    Attributes
    ----------
    amount : Decimal or None
        None while a line has no price.
    tiers : mapping of tier to Decimal
        Lines alone; what is required stands by itself and no discount reaches it.
    charges : tuple of Charged
    unpriced : tuple of Entry
    if_not_sold : Decimal
        What is owed for the lines whose amount is credited when the job is sold.
    margin : Decimal or None
        Percent that the lines leave after discounts, at hundredths; None without lines.
    approval : bool
        The margin lies under the policy's least: the owner decides.
    at_nothing : tuple of str
        Required lines that cost nothing: the book's doing, never a discount's.
    """

    amount: Decimal | None
    tiers: Mapping[str, Decimal]
    charges: tuple[Charged, ...]
    unpriced: tuple[Entry, ...]
    if_not_sold: Decimal
    margin: Decimal | None
    approval: bool
    at_nothing: tuple[str, ...]


class Totaller:
    """Adds up offers of one job."""

    def __init__(self, book: PriceBook, pricer: LinePricer) -> None:
        self._book, self._pricer = book, pricer

    def total(self, entries: Sequence[Entry]) -> Total:
        """Add up lines and what stands beside them."""
        tiers: dict[str, Decimal] = {tier: _sum(entries, (tier,)) for tier in TIERS}
        charges = tuple(
            charged
            for charge in self._book.charges.values()
            if self._stands(charge, entries) and (charged := self._charged(charge, entries)) is not None
        )
        unpriced = tuple(entry for entry in entries if entry.amount is None)
        lines = total(tiers.values())
        taken_off = total(one.amount for one in charges if one.charge.kind == "discount")
        left, cost = total((lines, taken_off)), total(entry.cost for entry in entries if entry.amount is not None)
        known = not unpriced and left > 0
        margin = None
        if known:
            percent = product(total((left, -cost)), HUNDRED)
            sign = -1 if percent < 0 else 1
            margin = sign * rounded_quotient(abs(percent), left, Decimal("0.01"))
        least = self._pricer.value("price_least_margin")
        credited = [one for one in charges if one.charge.kind == "credit"]
        return Total(
            None if unpriced else total((lines, *(one.amount for one in charges))),
            tiers,
            charges,
            unpriced,
            total(one.base for one in credited),
            margin,
            margin is not None and margin < least,
            tuple(entry.line for entry in entries if entry.tier == "required" and entry.amount == 0),
        )

    def _stands(self, charge: Charge, entries: Sequence[Entry]) -> bool:
        return charge.tasks is None or any(entry.task in charge.tasks for entry in entries)

    def _charged(self, charge: Charge, entries: Sequence[Entry]) -> Charged | None:
        """What a charge comes to; None where it comes to nothing."""
        if charge.kind == "at-cost":
            return Charged(charge, charge.cost)
        if charge.work is not None:
            worked = self._pricer.work(charge.work, HOUSE_KEY, None, shared=False)
            amount, unrounded = self._pricer.amount(worked.cost), self._pricer.unrounded(worked.cost)
            return Charged(charge, amount, worked=worked, unrounded=unrounded)
        if charge.kind == "credit":
            base = total(e.amount for e in entries if e.task == charge.of_task and e.amount is not None)
        else:
            base = _sum(entries, charge.tiers)
        share = percent_of(base, charge.share)
        if not share:
            return None
        # A whole line given back is given back as it was charged; any other share is rounded as a line is.
        step = self._pricer.value("price_round_to")
        amount = share if charge.kind == "credit" and share == base else rounded_quotient(share, Decimal(1), step)
        capped = charge.cap is not None and amount > charge.cap
        if charge.cap is not None and capped:
            amount = charge.cap
        # Rounding up never gives back more than there is.
        amount = min(amount, base)
        return Charged(charge, -amount if charge.kind in ("credit", "discount") else amount, base, capped)


def _sum(entries: Sequence[Entry], tiers: Sequence[str]) -> Decimal:
    return total(entry.amount for entry in entries if entry.tier in tiers and entry.amount is not None)
