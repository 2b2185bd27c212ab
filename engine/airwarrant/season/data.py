"""The owner's figures as plain data for another program."""

from dataclasses import asdict
from datetime import date
from decimal import Decimal
from typing import Any

from airwarrant.season.company import NOT_TOLD, Figures

FORMAT = "airwarrant/season/1"


def data_of(figures: Figures, past_review: tuple[str, ...], on: date) -> dict[str, Any]:
    """Return everything that was counted; money as texts, so that no digit is lost."""
    body = asdict(figures)
    told = {
        "format": FORMAT,
        **body,
        "never_fires": [one.rule for one in figures.never],
        "always_fires": [one.rule for one in figures.always],
        "past_review": {"on": on.isoformat(), "values": list(past_review)},
        "not_told": [{"what": what, "why": why} for what, why in NOT_TOLD],
    }
    plain: dict[str, Any] = _plain(told)
    return plain


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(one) for one in value]
    if isinstance(value, Decimal):
        return str(value)
    return value.isoformat() if isinstance(value, date) else value
