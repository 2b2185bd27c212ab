"""Prices in the result document: every amount as text with its decimals, every step to it with its place in the policy."""

from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from typing import Any

from airwarrant.policy.model import Named
from airwarrant.policy.price_reading import exact
from airwarrant.policy.prices import NEEDED
from airwarrant.pricing.exact import less_percent, money_text, number_text, total
from airwarrant.pricing.line import Bought, Multiplied, Worked
from airwarrant.pricing.place import Counted, ReadWord
from airwarrant.pricing.totals import Charged, Entry, Total
from airwarrant.result.texts import Texts
from airwarrant.result.trace import place_json
from airwarrant.run import Run

NO_PRICE = "No price book in this policy yet: lines carry no amount"
_HELD = "held: it cannot be offered yet"


def prices_read(run: Run) -> Iterable[str]:
    """Names of the policy's values that every price is made with."""
    return NEEDED if run.prices else ()


def price_json(run: Run, line: str, words: Texts) -> dict[str, Any]:
    """Return the price of a line with every step to it; empty without a price book, without amount for a held line."""
    if run.prices is None:
        return {}
    priced = run.prices.scope.get(line)
    if priced is None:
        return {"amount": None, "why": _HELD}
    out: dict[str, Any] = {"amount": _amount(priced.amount), "why": priced.why}
    if priced.amount is None or priced.worked is None or priced.price is None:
        return out
    worked = _worked(run, priced.worked, priced.price)
    if priced.variant:
        out |= {"variant": priced.variant, "variant_words": _words(priced.variant_words)}
    for bought in worked["materials"]:
        words.title("item", bought["item"], bought["title"])
    return out | worked | {"unrounded": money_text(priced.unrounded)}


def totals_json(run: Run, lines: Sequence[Mapping[str, Any]], words: Texts) -> dict[str, Any]:
    """Return what the offer comes to, and each fan setting and each scope one line smaller or larger.

    Parameters
    ----------
    lines : sequence of mapping
        The lines of the document: those of an earlier visit stay on the bill with the amount they had.
    """
    prices = run.prices
    if prices is None:
        return {"amount": None, "why": NO_PRICE}
    earlier = [_entry(line) for line in lines if line["state"] == "earlier"]
    whole = prices.total(earlier)
    alternatives = [prices.total_of(index, earlier) for index in range(len(prices.alternatives))]
    return {
        "amount": _amount(whole.amount),
        "why": _why(whole),
        "tiers": {tier: money_text(amount) for tier, amount in whole.tiers.items()},
        "charges": [_charge(run, one, words) for one in whole.charges],
        "unpriced": [{"line": one.line, "why": one.why} for one in whole.unpriced],
        "if_not_sold": money_text(whole.if_not_sold),
        "valid_until": str(prices.valid_until) if prices.valid_until else None,
        "margin": None if whole.margin is None else number_text(whole.margin),
        "owner_approval": whole.approval,
        "required_at_nothing": list(whole.at_nothing),
        # The lines of a scope cost the same at every fan setting.
        "options": [{"setting": one.setting, "amount": _amount(whole.amount)} for one in run.options],
        "alternatives": [
            {
                "kind": one.kind,
                "line": one.line,
                "setting": one.option.setting,
                "amount": _amount(other.amount),
                "difference": _difference(other, whole),
                "why": _why(other),
            }
            for one, other in zip(run.alternatives, alternatives, strict=True)
        ],
    }


def _entry(line: Mapping[str, Any]) -> Entry:
    """A line of an earlier result, as that one priced it."""
    price = line["price"]
    amount = price.get("amount")
    cost = Decimal(price.get("cost", "0"))
    why = price.get("why") or "the earlier result has no price of it"
    return Entry(line["id"], line["task"], line["tier"], None if amount is None else Decimal(amount), cost, why)


def _why(whole: Total) -> str:
    return "; ".join(f"{one.line}: {one.why}" for one in whole.unpriced)


def _difference(one: Total, other: Total) -> str | None:
    if one.amount is None or other.amount is None:
        return None
    return money_text(total((one.amount, -other.amount)))


def _charge(run: Run, one: Charged, words: Texts) -> dict[str, Any]:
    charge = one.charge
    out: dict[str, Any] = {
        "charge": charge.name,
        "title": words.title("charge", charge.name, charge.title),
        "said": words.say((charge.name,), otherwise=charge.title),
        "kind": charge.kind,
        "amount": money_text(one.amount),
        "at": _place(charge, "cost" if charge.kind == "at-cost" else "hours" if one.worked else "share"),
    }
    if one.worked is not None:
        return out | _worked(run, one.worked, charge) | {"unrounded": money_text(one.unrounded)}
    if charge.kind == "at-cost":
        return out
    out |= {"share": number_text(charge.share), "of": money_text(one.base), "of_task": charge.of_task}
    out["of_tiers"] = list(charge.tiers)
    if charge.cap is not None:
        out |= {"cap": money_text(charge.cap), "capped": one.capped}
    return out


def _worked(run: Run, worked: Worked, block: Named) -> dict[str, Any]:
    crew = worked.crew
    return {
        "hours": number_text(worked.hours),
        "book_hours": number_text(worked.work.hours),
        "hours_at": _place(block, "hours"),
        "count": worked.count,
        "times": _counted(worked.times) if worked.times else None,
        "crew": {
            "crew": crew.name,
            "title": crew.title,
            "people": crew.people,
            "wage": money_text(crew.wage),
            "at": _place(crew, "wage"),
        },
        "factors": [_factor(one) for one in worked.factors],
        "unit_off_credit": _value(run, worked.credit.name) if worked.credit else None,
        "labour_index": _value(run, "price_labour_index"),
        "labour": money_text(worked.labour),
        "materials": [_bought(one) for one in worked.bought],
        "material_index": _value(run, "price_material_index"),
        "material_cost": money_text(worked.materials),
        "cost": money_text(worked.cost),
        "margin": _value(run, "price_margin"),
        "divisor": number_text(less_percent(Decimal(1), Decimal(_value(run, "price_margin")))),
        "round_to": _value(run, "price_round_to"),
    }


def _factor(one: Multiplied) -> dict[str, Any]:
    factor = one.factor
    out = {
        "factor": factor.name,
        "title": factor.title,
        "value": number_text(factor.value),
        "words": _words(one.words),
        "at": _place(factor, "value"),
    }
    return out | ({"month": one.month} if one.month else {})


def _bought(one: Bought) -> dict[str, Any]:
    item, material = one.item, one.material
    out = {
        "item": item.name,
        "title": item.title,
        "per": item.per,
        "count": one.count,
        **_counted(one.counted),
        "waste": number_text(material.waste),
        "with_waste": number_text(one.with_waste),
        "cost": money_text(one.cost),
        "amount": money_text(one.amount),
        "at": _place(item, "by_size" if item.rows else "cost"),
    }
    if one.sized is not None:
        out["size"] = {**_counted(one.sized), "unit": item.size_unit}
    return out


def _counted(one: Counted) -> dict[str, Any]:
    value = "0" if one.value is None else number_text(one.value)
    return {"quantity": value, "assumed": one.assumed, "from": one.said, "path": one.path}


def _words(words: Sequence[ReadWord]) -> list[dict[str, str]]:
    return [{"subject": one.subject, "field": one.field, "word": one.word} for one in words]


def _place(block: Named, key: str) -> dict[str, Any]:
    held = block.keys.get(key)
    return place_json(block.layer, block.place) if held is None else place_json(held.layer, held.place)


def _value(run: Run, name: str) -> str:
    return number_text(exact(float(run.policy.parameters[name].value)))


def _amount(amount: Decimal | None) -> str | None:
    return None if amount is None else money_text(amount)
