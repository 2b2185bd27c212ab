"""What the owner's figures are called, and how their numbers are written, in one place for terminal, page and pictures."""

from collections.abc import Mapping
from decimal import ROUND_HALF_EVEN, Decimal
from types import MappingProxyType

from airwarrant.season.company import ALL, MarketFigures
from airwarrant.season.counting import Share, Spread

#: Reading told before and after -> what it is called, its unit, its decimals.
READINGS: Mapping[str, tuple[str, str, int]] = MappingProxyType(
    {
        "external_static": ("Total external static pressure", "in. w.c.", 2),
        "airflow_per_ton": ("Airflow per ton", "cfm/ton", 0),
        "register_flow": ("Air at the registers", "cfm", 0),
        "leakage_25": ("Duct leakage at 25 Pa", "cfm", 0),
    }
)
#: Share of a market -> what it is called, the head of a column, and of what it is a share.
RATES: Mapping[str, tuple[str, str, str]] = MappingProxyType(
    {
        "measured_first": (
            "Measured first",
            "measured first",
            "of jobs: a test-in on the old unit with both statics measured",
        ),
        "no_work": ("No work needed", "no work needed", "of jobs: no line recommended or optional, held ones included"),
        "reread": ("To be read again before the sale", "read again", "of jobs"),
        "tested_out": ("Tested out", "tested out", "of jobs"),
        "passed_first": ("Passed at the first test-out", "passed", "of jobs tested out"),
        "conditional": ("On condition at the first test-out", "on condition", "of jobs tested out"),
        "failed": ("Failed at the first test-out", "failed", "of jobs tested out"),
        "made_safe": (
            "Safety targets that failed before and are met after",
            "made safe",
            "of those that failed before",
        ),
    }
)
_MINUS = "\N{MINUS SIGN}"


def name_of(one: MarketFigures) -> str:
    """A market's name as it is shown."""
    return "all markets" if one.market == ALL else one.market


def within(title: str) -> str:
    """A title inside a sentence: its first letter small, units as they are."""
    return title[:1].lower() + title[1:]


def number(value: float, decimals: int, *, sign: bool = False) -> str:
    """A number with its decimals, thousands apart, a true minus; with its sign where it is a difference."""
    text = f"{value:+,.{decimals}f}" if sign else f"{value:,.{decimals}f}"
    # A number too small for its decimals has no sign.
    return text.lstrip("+-") if not text.strip("+-0.") else text.replace("-", _MINUS)


def percent(one: Share) -> str:
    """``47 %``; a dash where there is nothing to take a share of."""
    return "\N{EN DASH}" if one.percent is None else f"{one.percent:.0f} %"


def share(one: Share) -> str:
    """``47 % (12 of 26)``; ``no jobs to count`` where there is nothing to take a share of."""
    return "no jobs to count" if one.percent is None else f"{one.percent:.0f} % ({one.some:,} of {one.of:,})"


def middle(one: Spread | None, decimals: int, *, sign: bool = False) -> str:
    """Median with the quartiles around it; empty where there is no number."""
    if one is None:
        return ""
    low, high = (number(value, decimals, sign=sign) for value in (one.low, one.high))
    return f"{number(one.median, decimals, sign=sign)} ({low} to {high})"


def error_decimals(unit: str) -> int:
    """Decimals of a prediction's error in a unit."""
    return {"in. w.c.": 3, "Pa": 1}.get(unit, 0)


def money(amount: Decimal | None, currency: str) -> str:
    """An amount in whole units of money, with its currency."""
    if amount is None:
        return "in several currencies"
    whole = amount.quantize(Decimal(1), ROUND_HALF_EVEN)
    return f"{whole:,} {currency}".rstrip().replace("-", _MINUS)


def hours(amount: Decimal) -> str:
    """Hours to a tenth."""
    return f"{amount.quantize(Decimal('0.1'), ROUND_HALF_EVEN):,}"
