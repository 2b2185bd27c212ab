"""Exact arithmetic of money: nothing is rounded but where a price is."""

from collections.abc import Iterable
from decimal import ROUND_HALF_EVEN, Context, Decimal, DivisionByZero, Inexact, InvalidOperation, Overflow

#: Wide enough for any product of a price, whose factors the policy's reader bounds; a result that is not exact is an error.
_EXACT = Context(prec=400, traps=[Inexact, InvalidOperation, DivisionByZero, Overflow])
_SHOWN = Context(prec=60, rounding=ROUND_HALF_EVEN)
_CENT = Decimal("0.01")
HUNDRED = Decimal(100)


def product(*factors: Decimal) -> Decimal:
    """Multiply."""
    out = Decimal(1)
    for factor in factors:
        out = _EXACT.multiply(out, factor)
    return out


def total(parts: Iterable[Decimal]) -> Decimal:
    """Add up."""
    out = Decimal(0)
    for part in parts:
        out = _EXACT.add(out, part)
    return out


def less_percent(value: Decimal, percent: Decimal) -> Decimal:
    """Take a percentage off."""
    return product(value, total((HUNDRED, -percent)), _CENT)


def more_percent(value: Decimal, percent: Decimal) -> Decimal:
    """Add a percentage."""
    return product(value, total((HUNDRED, percent)), _CENT)


def percent_of(value: Decimal, percent: Decimal) -> Decimal:
    """Return a percentage of a value."""
    return product(value, percent, _CENT)


def rounded_quotient(value: Decimal, divisor: Decimal, step: Decimal) -> Decimal:
    """Divide and round to whole steps, half up; a value that divides into no finite decimal is rounded as exactly.

    Parameters
    ----------
    value : Decimal
        Not negative.
    divisor, step : Decimal
        Above 0.
    """
    unit = product(divisor, step)
    steps = _EXACT.divide_int(total((value, value, unit)), product(Decimal(2), unit))
    return product(steps, step)


def shown_quotient(value: Decimal, divisor: Decimal) -> Decimal:
    """Return a quotient at hundredths, to be shown; nothing is calculated from it."""
    return _SHOWN.divide(value, divisor).quantize(_CENT, context=_SHOWN)


def money_text(amount: Decimal) -> str:
    """Return an amount as text with two decimals; finer ones, of a cost before rounding, stay."""
    shortest = amount.normalize(_SHOWN)
    exponent = shortest.as_tuple().exponent
    decimals = max(2, -exponent if isinstance(exponent, int) else 2)
    return format(shortest + 0, f".{decimals}f")


def number_text(number: Decimal) -> str:
    """Return a number that is no money as text, without trailing zeros."""
    return format(number.normalize(_SHOWN) + 0, "f")
