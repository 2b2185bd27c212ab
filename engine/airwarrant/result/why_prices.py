"""The arithmetic of a price as rows of the reason tree: rendered from the result alone, never computed again."""

from collections.abc import Callable, Iterator, Mapping
from decimal import Decimal
from typing import Any

#: Depth, text and place of a row.
PriceRow = tuple[int, str, str]
#: Where the record has a word of a subject, and where it has a number of a path.
WordPlace = Callable[[str, str], str]
PathPlace = Callable[[str], str]


class PriceTree:
    """Writes prices of one result as rows."""

    def __init__(self, result: Mapping[str, Any], word_place: WordPlace, path_place: PathPlace) -> None:
        self._totals: Mapping[str, Any] = result["totals"]
        self._policy: Mapping[str, Any] = result["trace"]["policy"]
        self._currency = result["market"]["currency"]
        self._lines = result["lines"]
        self._word_place, self._path_place = word_place, path_place

    def line(self, price: Mapping[str, Any]) -> Iterator[PriceRow]:
        """Hours, wage, factors, materials, indices, margin and rounding of a line's price."""
        if not price:
            return
        if price["amount"] is None:
            yield 1, f"no price: {price['why']}", ""
            return
        yield 1, f"price: {self._money(price['amount'])}", ""
        if price.get("variant"):
            yield 2, f"done so: {price['variant'].lower()}", ""
            for word in price["variant_words"]:
                yield self._word(word, 3)
        yield from self._work(price, 2)

    def total(self) -> Iterator[PriceRow]:
        """The whole offer."""
        totals = self._totals
        said = totals["why"] if totals["amount"] is None else self._money(totals["amount"])
        yield 0, f"total — {said}", ""
        for tier, amount in totals.get("tiers", {}).items():
            if Decimal(amount):
                yield 1, f"{tier}: {self._money(amount)}", ""
                for line in self._lines:
                    if line["tier"] == tier and line["price"].get("amount") is not None and line["state"] != "held":
                        kept = ", from an earlier visit" if line["state"] == "earlier" else ""
                        yield 2, f"{line['id']}: {self._money(line['price']['amount'])}{kept}", ""
        for charge in totals.get("charges", ()):
            yield from self._charge(charge)
        if "margin" in totals and totals["margin"] is not None:
            least = self._said("price_least_margin", "the least is")
            flag = "; the owner approves it first" if totals["owner_approval"] else ""
            yield 1, f"the lines leave {totals['margin']} % after discounts; {least[0]}{flag}", least[1]
        for line in totals.get("required_at_nothing", ()):
            yield 1, f"{line} is required and the book prices it at nothing", ""

    def _charge(self, charge: Mapping[str, Any]) -> Iterator[PriceRow]:
        yield 1, f"{charge['title']}: {self._money(charge['amount'])}", _place(charge["at"])
        if charge["kind"] == "at-cost":
            yield 2, f"passed on at cost, set by {charge['at']['layer']}", ""
        elif charge["kind"] == "work":
            yield from self._work(charge, 2)
        else:
            of = charge["of_task"] or ", ".join(charge["of_tiers"])
            yield 2, f"{charge['share']} % of {self._money(charge['of'])} ({of})", ""
            if "cap" in charge:
                yield (
                    2,
                    f"never more than {self._money(charge['cap'])}{': it bounds it' if charge['capped'] else ''}",
                    "",
                )

    def _work(self, price: Mapping[str, Any], depth: int) -> Iterator[PriceRow]:
        crew = price["crew"]
        many = f" × {price['count']} of them" if price["count"] > 1 else ""
        yield depth, f"{price['book_hours']} person-hours, {crew['title'].lower()}{many}", _place(price["hours_at"])
        times = price["times"]
        if times:
            yield depth, f"× {times['quantity']}, {times['from']}", self._path_place(times["path"])
        for factor in price["factors"]:
            month = f", month {factor['month']}" if "month" in factor else ""
            said = f"× {factor['value']} {factor['title']} ({factor['factor']}), set by {factor['at']['layer']}{month}"
            yield depth, said, _place(factor["at"])
            for word in factor["words"]:
                yield self._word(word, depth + 1)
        if price["unit_off_credit"] is not None:
            yield depth, *self._said("price_unit_off_credit", "less")
        hours = (
            f"= {price['hours']} person-hours × {self._money(crew['wage'])}, burdened wage set by {crew['at']['layer']}"
        )
        yield depth, hours, _place(crew["at"])
        yield depth, *self._said("price_labour_index", "×")
        yield depth, f"= {self._money(price['labour'])} labour", ""
        for one in price["materials"]:
            yield from self._material(one, times["quantity"] if times else "", depth)
        if price["materials"]:
            yield depth, *self._said("price_material_index", "×")
            yield depth, f"= {self._money(price['material_cost'])} materials", ""
        yield depth, f"cost {self._money(price['cost'])}", ""
        margin, step = self._known("price_margin"), self._known("price_round_to")
        yield depth, f"÷ {price['divisor']}, what a margin of {price['margin']} % leaves ({margin[0]})", margin[1]
        rounded = f"= {price['unrounded']}, rounded once, half up, to {price['round_to']} ({step[0]})"
        yield depth, f"{rounded}: {self._money(price['amount'])}", step[1]

    def _material(self, one: Mapping[str, Any], times: str, depth: int) -> Iterator[PriceRow]:
        of = f" of {one['size']['quantity']} {one['size']['unit']}" if "size" in one else ""
        many = "".join(f"{count} × " for count in (one["count"], times) if str(count) not in ("", "1"))
        unit = "" if one["per"] == "each" else f" {one['per']}"
        waste = f" + {one['waste']} % waste = {one['with_waste']}{unit}" if one["waste"] != "0" else ""
        said = f"{one['title'].lower()}{of}: {many}{one['quantity']}{unit}{waste} × {self._money(one['cost'])}"
        yield depth, f"+ {said} = {self._money(one['amount'])}", _place(one["at"])
        for known in (one, one.get("size")):
            if known is not None and known["from"]:
                yield depth + 1, f"{known['quantity']}: {known['from']}", self._path_place(known["path"])

    def _said(self, name: str, label: str) -> tuple[str, str]:
        entry = self._policy.get(name)
        if entry is None:
            return f"{label} {name}", ""
        unit = {"money": self._currency, "1": ""}.get(entry["unit"], entry["unit"])
        value = f"{entry['value']:g} {unit}".strip()
        return f"{label} {value} {entry['title'].lower()} ({name}), set by {entry['layer']}", _place(entry)

    def _known(self, name: str) -> tuple[str, str]:
        entry = self._policy.get(name)
        return (name, "") if entry is None else (f"{name}, set by {entry['layer']}", _place(entry))

    def _word(self, word: Mapping[str, str], depth: int) -> PriceRow:
        if not word["field"]:
            return depth, f"there is {word['subject']}", ""
        place = self._word_place(word["subject"], word["field"])
        return depth, f"{word['field']} of {word['subject']} is {word['word']}", place

    def _money(self, amount: str) -> str:
        return f"{money_shown(amount)} {self._currency}"


def money_shown(amount: str) -> str:
    """An amount as a person reads it: thousands parted, no cents where there are none."""
    value = Decimal(amount)
    text = f"{value:,}"
    return text.removesuffix(".00")


def _place(entry: Mapping[str, Any]) -> str:
    return f"{entry['file']}:{entry['line']}:{entry['column']}"
