"""The scopes a homeowner may choose among: the whole one, a smaller that still keeps what was promised, a larger."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from typing import Any


def offers_json(
    predictions: Mapping[str, Any], totals: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]
) -> list[dict[str, Any]]:
    """Return the whole scope, and of those one line smaller and one larger the one of each that is fit to offer.

    A smaller scope is fit if it misses no target that the whole one meets and leaves out nothing that law, listing or safety
    requires, nor what another line made necessary; of several the one that saves most stands. A larger scope is fit if it misses
    nothing that the whole one meets.
    Each keeps its prerequisites, its own fan setting and its own price; where the whole has a price, one without is not offered.
    """
    whole = predictions["scope"]
    if whole is None:
        return []
    scoped = [line["id"] for line in lines if line["state"] in ("scoped", "earlier")]
    out = [_offer("whole", "", scoped, whole, whole["readings"].get("house", {}), totals.get("amount"), None)]
    # A line asked for only once the others were predicted is their consequence.
    kept = {
        line["id"] for line in lines if line["state"] == "scoped" and (line["tier"] == "required" or line["round"] > 1)
    }
    priced = zip(predictions["alternatives"], totals.get("alternatives") or _no_prices(predictions), strict=True)
    bare = totals.get("amount") is None
    fit = [(one, price) for one, price in priced if (bare or price["amount"] is not None) and _fit(one, whole, kept)]
    for kind in ("smaller", "larger"):
        of_kind = [(one, price) for one, price in fit if one["kind"] == kind]
        if of_kind:
            one, price = min(of_kind, key=lambda pair: (_amount(pair[1]), pair[0]["line"]))
            out.append(
                _offer(kind, one["line"], one["lines"], one, one["readings"], price["amount"], price["difference"])
            )
    return out


def _no_prices(predictions: Mapping[str, Any]) -> list[dict[str, Any]]:
    return [{"amount": None, "difference": None} for _ in predictions["alternatives"]]


def _fit(one: Mapping[str, Any], whole: Mapping[str, Any], kept: set[str]) -> bool:
    return set(one["misses"]) <= set(whole["misses"]) and (one["kind"] == "larger" or kept <= set(one["lines"]))


def _amount(price: Mapping[str, Any]) -> Decimal:
    return Decimal(price["amount"] or 0)


def _offer(
    kind: str,
    line: str,
    lines: Sequence[str],
    option: Mapping[str, Any],
    readings: Mapping[str, Any],
    amount: str | None,
    difference: str | None,
) -> dict[str, Any]:
    return {
        "kind": kind,
        "line": line,
        "lines": list(lines),
        "setting": option["setting"],
        "misses": list(option["misses"]),
        "close": list(option["close"]),
        "readings": readings,
        "amount": amount,
        "difference": difference,
    }
