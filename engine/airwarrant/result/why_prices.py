"""The arithmetic of a price as rows of the reason tree: rendered from the result alone, never computed again."""

from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Any

from airwarrant.result.why_rows import RecordPlaces, Row, place
from airwarrant.result.why_words import ReasonWords


class PriceTree:
    """Writes prices of one result as rows."""

    def __init__(self, result: Mapping[str, Any], words: ReasonWords) -> None:
        self._w = words
        self._totals: Mapping[str, Any] = result["totals"]
        self._policy: Mapping[str, Any] = result["trace"]["policy"]
        self._currency = result["market"]["currency"]
        self._lines = result["lines"]
        self._places = RecordPlaces(result)

    def line(self, price: Mapping[str, Any]) -> Iterator[Row]:
        """Hours, wage, factors, materials, indices, margin and rounding of a line's price."""
        w = self._w
        if not price:
            return
        if price["amount"] is None:
            yield Row(1, w("price.none", why=w.say(price["why"])))
            return
        yield Row(1, w("price.amount", amount=self._money(price["amount"])))
        if price.get("variant"):
            yield Row(2, w("price.variant", variant=w.say(price["variant"]).lower()))
            for word in price["variant_words"]:
                yield self._word(word, 3)
        yield from self._work(price, 2)

    def total(self) -> Iterator[Row]:
        """The whole offer."""
        w, totals = self._w, self._totals
        said = w.say(totals["why"]) if totals["amount"] is None else self._money(totals["amount"])
        yield Row(0, w("price.total", amount=said), mark="head")
        for tier, amount in totals.get("tiers", {}).items():
            if Decimal(amount):
                yield Row(1, w("price.tier", tier=w.of(tier), amount=self._money(amount)))
                for line in self._lines:
                    if line["tier"] == tier and line["price"].get("amount") is not None and line["state"] != "held":
                        kept = w("price.kept") if line["state"] == "earlier" else ""
                        give = {"line": line["id"], "amount": self._money(line["price"]["amount"]), "kept": kept}
                        yield Row(2, w("price.line", **give))
        for charge in totals.get("charges", ()):
            yield from self._charge(charge)
        if "margin" in totals and totals["margin"] is not None:
            least, at, of = self._said("price_least_margin", w("price.least"))
            flag = w("price.owner") if totals["owner_approval"] else ""
            yield Row(1, w("price.margin_left", margin=totals["margin"], least=least, flag=flag), at, of=of)
        for line in totals.get("required_at_nothing", ()):
            yield Row(1, w("price.at_nothing", line=line))

    def _charge(self, charge: Mapping[str, Any]) -> Iterator[Row]:
        w = self._w
        said = w("price.charge", title=w.say(charge["title"]), amount=self._money(charge["amount"]))
        yield Row(1, said, place(charge["at"]))
        if charge["kind"] == "at-cost":
            yield Row(2, w("price.at_cost", layer=charge["at"]["layer"]))
        elif charge["kind"] == "work":
            yield from self._work(charge, 2)
        else:
            of = charge["of_task"] or ", ".join(w.of(tier) for tier in charge["of_tiers"])
            yield Row(2, w("price.share", share=charge["share"], amount=self._money(charge["of"]), of=of))
            if "cap" in charge:
                bounds = w("price.bounds") if charge["capped"] else ""
                yield Row(2, w("price.cap", amount=self._money(charge["cap"]), bounds=bounds))

    def _work(self, price: Mapping[str, Any], depth: int) -> Iterator[Row]:
        w, crew = self._w, price["crew"]
        many = w("price.many", count=price["count"]) if price["count"] > 1 else ""
        hours = w("price.hours", hours=price["book_hours"], crew=w.say(crew["title"]).lower(), many=many)
        yield Row(depth, hours, place(price["hours_at"]))
        times = price["times"]
        if times:
            said = w("price.times", quantity=times["quantity"], **{"from": times["from"]})
            yield Row(depth, said, self._places.reading(times["path"]))
        for factor in price["factors"]:
            month = w("price.month", month=factor["month"]) if "month" in factor else ""
            give = {"value": factor["value"], "title": w.say(factor["title"]), "factor": factor["factor"]}
            said = w("price.factor", layer=factor["at"]["layer"], month=month, **give)
            yield Row(depth, said, place(factor["at"]))
            for word in factor["words"]:
                yield self._word(word, depth + 1)
        if price["unit_off_credit"] is not None:
            yield self._value("price_unit_off_credit", w("price.less"), depth)
        wage = w("price.wage", hours=price["hours"], wage=self._money(crew["wage"]), layer=crew["at"]["layer"])
        yield Row(depth, wage, place(crew["at"]))
        yield self._value("price_labour_index", "×", depth)
        yield Row(depth, w("price.labour", amount=self._money(price["labour"])))
        for one in price["materials"]:
            yield from self._material(one, times["quantity"] if times else "", depth)
        if price["materials"]:
            yield self._value("price_material_index", "×", depth)
            yield Row(depth, w("price.materials", amount=self._money(price["material_cost"])))
        yield Row(depth, w("price.cost", amount=self._money(price["cost"])))
        margin, step = self._known("price_margin"), self._known("price_round_to")
        left = {"divisor": price["divisor"], "margin": price["margin"], "from": margin[0]}
        yield Row(depth, w("price.divisor", **left), margin[1], of=margin[2])
        rounded = {"unrounded": price["unrounded"], "round_to": price["round_to"], "from": step[0]}
        said = w("price.rounded", amount=self._money(price["amount"]), **rounded)
        yield Row(depth, said, step[1], of=step[2])

    def _material(self, one: Mapping[str, Any], times: str, depth: int) -> Iterator[Row]:
        w, unit = self._w, "" if one["per"] == "each" else f" {one['per']}"
        give = {"title": w.say(one["title"]).lower(), "quantity": one["quantity"], "unit": unit}
        give["of"] = w("price.material_of", **_sized(one["size"])) if "size" in one else ""
        give["many"] = "".join(f"{count} × " for count in (one["count"], times) if str(count) not in ("", "1"))
        waste = {"waste": one["waste"], "with_waste": one["with_waste"], "unit": unit}
        give["waste"] = w("price.waste", **waste) if one["waste"] != "0" else ""
        said = w("price.material", cost=self._money(one["cost"]), amount=self._money(one["amount"]), **give)
        yield Row(depth, said, place(one["at"]))
        for known in (one, one.get("size")):
            if known is not None and known["from"]:
                of = {"quantity": known["quantity"], "from": known["from"]}
                yield Row(depth + 1, w("price.quantity", **of), self._places.reading(known["path"]))

    def _value(self, name: str, label: str, depth: int) -> Row:
        text, at, of = self._said(name, label)
        return Row(depth, text, at, of=of)

    def _said(self, name: str, label: str) -> tuple[str, str, tuple[str, ...]]:
        entry = self._policy.get(name)
        if entry is None:
            return f"{label} {name}", "", ()
        unit = {"money": self._currency, "1": ""}.get(entry["unit"], entry["unit"])
        value, title = f"{entry['value']:g} {unit}".strip(), self._w.say(entry["title"]).lower()
        give = {"label": label, "value": value, "title": title, "name": name, "layer": entry["layer"]}
        return self._w("price.value", **give), place(entry), (name,)

    def _known(self, name: str) -> tuple[str, str, tuple[str, ...]]:
        entry = self._policy.get(name)
        if entry is None:
            return name, "", ()
        return self._w("price.set_by", name=name, layer=entry["layer"]), place(entry), (name,)

    def _word(self, word: Mapping[str, str], depth: int) -> Row:
        if not word["field"]:
            return Row(depth, self._w("rule.there_is", subject=word["subject"]))
        at = self._places.word(word["subject"], word["field"])
        return Row(depth, self._w("rule.word", field=word["field"], subject=word["subject"], word=word["word"]), at)

    def _money(self, amount: str) -> str:
        return f"{money_shown(amount)} {self._currency}"


def _sized(size: Mapping[str, Any]) -> dict[str, Any]:
    return {"quantity": size["quantity"], "unit": size["unit"]}


def money_shown(amount: str) -> str:
    """An amount as a person reads it: thousands parted, no cents where there are none."""
    value = Decimal(amount)
    text = f"{value:,}"
    return text.removesuffix(".00")
