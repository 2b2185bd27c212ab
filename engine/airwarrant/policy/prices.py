"""The price book of a composed policy: every name, word, unit and sign held against what it speaks of."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType
from typing import Any

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import FactClause, Parameter, Task, WhereClause
from airwarrant.policy.price_model import (
    EACH,
    PREFIX,
    Charge,
    Crew,
    Factor,
    Item,
    Material,
    Price,
    PriceBook,
    Quantity,
    Variant,
    WordClause,
    WorkPrice,
)
from airwarrant.policy.values import check_basis
from airwarrant.source.place import Place
from airwarrant.units import UNITS, parse_quantity, same_dimension

#: Values every price book needs: name -> unit, least, and what it stays under.
NEEDED: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "price_labour_index": ("1", 0.01, 100.0),
        "price_material_index": ("1", 0.01, 100.0),
        "price_margin": ("%", 0.0, 100.0),
        "price_least_margin": ("%", 0.0, 100.0),
        "price_round_to": ("money", 0.01, 1e5),
        "price_unit_off_credit": ("%", 0.0, 100.0),
        "price_valid": ("d", 1.0, 1000.0),
    }
)
#: Exact sums need a bound on how long a number of a price book may be.
_MOST, _PLACES = Decimal(10) ** 9, 6
#: What each kind of charge has, and what it may have besides.
_CHARGES = {
    "work": (("hours", "crew"), ("factors", "with_tasks", "with_groups")),
    "at-cost": (("cost",), ("with_tasks", "with_groups")),
    "allowance": (("share", "tiers", "cap"), ("with_tasks", "with_groups")),
    "credit": (("share", "of_task"), ()),
    "discount": (("share", "tiers"), ("with_tasks", "with_groups")),
}
_UNKNOWN = {"crew": "unknown-crew", "factor": "unknown-factor", "item": "unknown-item"}
_ALWAYS = frozenset({"title", "kind", "edit", "basis", "note"})


def price_book(
    layered: Layered, parameters: Mapping[str, Parameter], tasks: Mapping[str, Task], reader: ClauseReader
) -> PriceBook | None:
    """Build the price book; None where no layer says anything of prices.

    Parameters
    ----------
    tasks : mapping
        The composed tasks: a price speaks of one, its quantities of the sizes of that one.
    reader : ClauseReader
        Reads words of the record; it also knows for which kinds of place a task is asked for, and receives the faults.
    """
    blocks = layered.blocks
    if not any(blocks[section] for section in ("crew", "item", "factor", "price", "charge")):
        return None
    return _Reading(layered, parameters, tasks, reader).book()


def exact(value: float) -> Decimal:
    """Return a number as it was written: of up to fifteen digits the shortest text of a float is what stood in the file."""
    return Decimal(repr(value)) if isinstance(value, float) else Decimal(value)


class _Reading:
    """One price book under way."""

    def __init__(
        self, layered: Layered, parameters: Mapping[str, Parameter], tasks: Mapping[str, Task], reader: ClauseReader
    ) -> None:
        self._layered, self._blocks = layered, layered.blocks
        self._parameters, self._tasks = parameters, tasks
        self._reader, self._faults = reader, reader.faults

    def book(self) -> PriceBook:
        for section in ("crew", "item", "factor", "price", "charge"):
            for block in self._blocks[section].values():
                check_basis(block, self._faults)
        crews = {name: self._crew(block) for name, block in self._sorted("crew")}
        items = {name: self._item(block) for name, block in self._sorted("item")}
        factors = {name: self._factor(block) for name, block in self._sorted("factor")}
        prices = {name: self._price(block) for name, block in self._sorted("price")}
        charges = {name: self._charge(block) for name, block in self._sorted("charge")}
        if self._blocks["price"]:
            self._needed(next(block.place for _, block in self._sorted("price")))
        return PriceBook(
            MappingProxyType(crews),
            MappingProxyType(items),
            MappingProxyType(factors),
            MappingProxyType({name: price for name, price in prices.items() if price is not None}),
            MappingProxyType({name: charge for name, charge in charges.items() if charge is not None}),
        )

    def _sorted(self, section: str) -> Iterable[tuple[str, Block]]:
        return sorted(self._blocks[section].items())

    def _needed(self, place: Place) -> None:
        for name, (unit, least, under) in NEEDED.items():
            held = self._parameters.get(name)
            if held is None:
                if not self._layered.may_be(name):
                    known = [one for one in self._parameters if one.startswith(PREFIX)]
                    found = f"there are prices and no parameter `{name}`"
                    self._note("missing-value", found, f"a value in {unit}", place, nearest(name, known))
                continue
            at = held.keys["value"].place
            if held.unit != unit:
                self._note("unit-mismatch", f"`{name}` is in {held.unit}", f"a value in {unit}", at)
            elif isinstance(held.value, str) or self._money(held.value, at) is None:
                continue
            elif not least <= held.value < under:
                self._note("out-of-range", f"`{name}` is {held.value:g} {unit}", f"{least:g} to {under:g}", at)

    def _crew(self, block: Block) -> Crew:
        people = block.get("people")
        if not 1 <= people <= 20:
            self._note("out-of-range", f"a crew of {people}", "1 to 20 people", block.at("people"))
        wage = self._number(block, "wage")
        return Crew(*_named(block), title=block.get("title"), people=people, wage=wage, basis=block.get("basis"))

    def _item(self, block: Block) -> Item:
        per, unit = block.get("per"), block.get("size_unit", "")
        self._unit(per, block.at("per"), of_piece=True)
        if ("by_size" in block.keys) != bool(unit):
            what = f"`{block.name}` has {'a `size_unit` and no `by_size`' if unit else '`by_size` and no `size_unit`'}"
            self._note("missing-key", what, "both or neither", block.at("size_unit" if unit else "by_size"))
        if unit:
            self._unit(unit, block.at("size_unit"))
        rows: list[tuple[Decimal, Decimal]] = []
        for index, (size, cost) in enumerate(block.get("by_size", ())):
            place = block.at("by_size", index)
            row = (self._money(size, place) or Decimal(0), self._money(cost, place) or Decimal(0))
            if rows and row[0] <= rows[-1][0]:
                found = f"the size {size:g} of `{block.name}` follows {rows[-1][0]:g}"
                self._note("not-increasing", found, "sizes that grow from row to row", place)
            rows.append(row)
        cost = self._number(block, "cost") if "cost" in block.keys else None
        return Item(*_named(block), block.get("title"), per, cost, tuple(rows), unit, block.get("basis"))

    def _factor(self, block: Block) -> Factor:
        months = block.get("months")
        for index, month in enumerate(months or ()):
            if not 1 <= month <= 12:
                self._note("out-of-range", f"month {month}", "1 to 12", block.at("months", index))
        below = (self._below(block, name, text) for name, text in sorted(block.get("below", {}).items()))
        return Factor(
            *_named(block),
            title=block.get("title"),
            value=self._number(block, "value"),
            when=self._clauses(block, block.get("when", ()), HOUSE_KEY, "when"),
            any=self._clauses(block, block.get("any", ()), HOUSE_KEY, "any"),
            below=tuple(one for one in below if one is not None),
            months=None if months is None else tuple(months),
            basis=block.get("basis"),
        )

    def _below(self, block: Block, name: str, text: str) -> tuple[str, Decimal, str] | None:
        place = block.at("below", name)
        field = KINDS[HOUSE_KEY].fields.get(name)
        if field is None or field.form != "number":
            known = [one.name for one in KINDS[HOUSE_KEY].fields.values() if one.form == "number"]
            self._note("unknown-field", f"the house has no number `{name}`", words(known), place, nearest(name, known))
            return None
        try:
            value, unit = parse_quantity(text)
        except ValueError:
            self._note("bad-quantity", f"`{text}`", f'a number, a space and a unit, such as "24 {field.unit}"', place)
            return None
        if not same_dimension(unit, field.unit):
            self._mismatch(f"`{text}` against `{name}`", unit, field.unit, place)
            return None
        bound = self._money(value, place)
        return None if bound is None else (name, bound, unit)

    def _clauses(self, block: Block, raw: Iterable[Any], each: str, *path: str | int) -> tuple[WordClause, ...]:
        out: list[WordClause] = []
        for index, one in enumerate(raw):
            at = (*path, index)
            clause = self._reader.clause(one, each, block, *at)
            if isinstance(clause, WhereClause | FactClause):
                out.append(clause)
            elif clause is not None:
                found = "a price reads words of the record and nothing that was judged"
                self._note("not-here", found, "a clause with `where` or `fact`", block.at(str(path[0]), *at[1:]))
        return tuple(out)

    def _price(self, block: Block) -> Price | None:
        if not self._reader.known_task(block.name, block.place):
            return None
        task = self._tasks.get(block.name)
        kinds = tuple(sorted(self._reader.concluded.lines.get(block.name, frozenset()) & KINDS.keys()))
        whole = {name: key.value for name, key in block.keys.items()}
        variants = []
        for index, raw in enumerate(block.get("variant", ())):
            # A clause that a kind of place cannot answer has its fault; without a rule that asks for the task there is no kind.
            path = ("variant", index)
            tests = [self._clauses(block, raw["when"], kind, *path, "when") for kind in kinds]
            work = self._work(block, {**whole, **raw}, task, kinds, *path)
            if tests:
                variants.append(Variant(raw["title"], tests[0], work))
        work = self._work(block, whole, task, kinds)
        return Price(*_named(block), work=work, variants=tuple(variants), basis=block.get("basis"))

    def _work(
        self, block: Block, raw: Mapping[str, Any], task: Task | None, kinds: tuple[str, ...], *path: str | int
    ) -> WorkPrice:
        def at(key: str, *deeper: str | int) -> Place:
            """Place of a key: a variant's own, else the block's."""
            own = path and key in _inner(block, path)
            return block.at(str(path[0]), *path[1:], key, *deeper) if own else block.at(key, *deeper)

        crew = raw["crew"]
        self._known("crew", crew, at("crew"))
        for index, name in enumerate(raw.get("factors") or ()):
            self._known("factor", name, at("factors", index))
        materials = [
            self._material(
                one, task, kinds, at("materials", index), lambda *deeper, i=index: at("materials", i, *deeper)
            )
            for index, one in enumerate(raw.get("materials") or ())
        ]
        times = None
        if raw.get("times") is not None:
            otherwise = self._given(raw, "times_otherwise", at)
            times = self._quantity(raw["times"], EACH, otherwise, task, kinds, at("times"))
        elif raw.get("times_otherwise") is not None:
            self._note("missing-key", "`times_otherwise` without `times`", "both or neither", at("times_otherwise"))
        hours = self._money(raw["hours"], at("hours")) or Decimal(0)
        factors = tuple(raw.get("factors") or ())
        return WorkPrice(hours, crew, factors, tuple(one for one in materials if one is not None), times)

    def _material(
        self, raw: Mapping[str, Any], task: Task | None, kinds: tuple[str, ...], place: Place, at: Any
    ) -> Material | None:
        per = raw["per"]
        if not self._known("item", raw["item"], at("item")) or not self._unit(per, at("per"), of_piece=True):
            return None
        block = self._blocks["item"].get(raw["item"])
        if block is None:
            return None
        own, by_size = block.get("per"), str(block.get("size_unit", ""))
        if per != own:
            self._note(
                "unit-mismatch", f"`{raw['item']}` is bought per {own}, not per {per}", f'per = "{own}"', at("per")
            )
            return None
        if bool(by_size) != ("size" in raw):
            found = f"`{raw['item']}` costs {'by its size' if by_size else 'the same in every size'}"
            self._note("missing-key", found, "a `size` with it" if by_size else "no `size`", place)
            return None
        quantity = self._quantity(raw["quantity"], per, self._given(raw, "otherwise", at), task, kinds, at("quantity"))
        size = None
        if by_size:
            otherwise = self._given(raw, "size_otherwise", at)
            size = self._quantity(raw["size"], by_size, otherwise, task, kinds, at("size"))
        waste = self._given(raw, "waste", at) or Decimal(0)
        if quantity is None or (by_size and size is None):
            return None
        return Material(raw["item"], quantity, waste, size)

    def _given(self, raw: Mapping[str, Any], key: str, at: Any) -> Decimal | None:
        return None if raw.get(key) is None else self._money(raw[key], at(key))

    def _quantity(
        self,
        raw: float | str,
        unit: str,
        otherwise: Decimal | None,
        task: Task | None,
        kinds: tuple[str, ...],
        place: Place,
    ) -> Quantity | None:
        """Resolve how much there is of something, in `unit`; None after a fault."""
        if not isinstance(raw, str):
            value = self._money(raw, place)
            return None if value is None else Quantity("number", str(value), value=value, unit=unit)
        head, _, tail = raw.partition(".")
        if head == "count":
            if tail not in KINDS:
                self._note(
                    "unknown-kind", f"`{raw}`", words(f"count.{one}" for one in KINDS), place, nearest(tail, KINDS)
                )
                return None
            return self._fits(Quantity("count", raw, tail, unit=unit, otherwise=otherwise), EACH, place)
        if raw == "size" or raw.startswith("size-"):
            return self._size(raw, unit, otherwise, task, place)
        where, kinds = ("house", (HOUSE_KEY,)) if tail and head == HOUSE_KEY else ("field", kinds)
        name = tail if where == "house" else raw
        fields = {kind: KINDS[kind].fields.get(name) for kind in kinds}
        units = [field.unit for field in fields.values() if field is not None and field.form == "number"]
        lacking = [kind for kind, field in fields.items() if field is None or field.form != "number"]
        # Of several kinds of place one may lack it: then the book says what to take there.
        if lacking and (not units or otherwise is None):
            known = [one.name for one in KINDS[lacking[0]].fields.values() if one.form == "number"]
            allowed = words(["a number", "size", "count.KIND", "house.NAME", *known])
            found = f"a {lacking[0]} has no number `{name}`"
            advice = nearest(name, known) or "Give an `otherwise` for it." if units else nearest(name, known)
            self._note("unknown-field", found, allowed, place, advice)
            return None
        own = units[0] if units else ""
        return self._fits(Quantity(where, raw, name, unit=unit, otherwise=otherwise), own, place)  # type: ignore[arg-type]

    def _size(self, raw: str, unit: str, otherwise: Decimal | None, task: Task | None, place: Place) -> Quantity | None:
        number = raw.removeprefix("size").removeprefix("-") or "1"
        index = int(number) - 1 if number.isdecimal() and len(number) < 3 else -1
        sizes = task.sizes if task is not None else ()
        if not 0 <= index < len(sizes):
            if task is not None and (sizes or not self._layered.may_be(task.name)):
                allowed = words(f"size-{i + 1} ({one.title})" for i, one in enumerate(sizes)) or "none: it has no size"
                self._note("unknown-size", f"`{raw}` of the task `{task.name}`", allowed, place)
            return None
        own = Quantity("size", raw, index=index, unit=unit, otherwise=otherwise)
        return self._fits(own, sizes[index].unit, place)

    def _fits(self, quantity: Quantity, own: str, place: Place) -> Quantity | None:
        """Hold the unit a quantity comes in against the one it is wanted in; pieces are counted, the rest is measured."""
        pieces = (EACH, "1")
        if own and quantity.unit in UNITS and own in UNITS and quantity.unit not in pieces:
            if not same_dimension(own, quantity.unit):
                self._mismatch(f"`{quantity.said}`", own, quantity.unit, place)
                return None
        elif own and (quantity.unit in pieces) != (own in pieces):
            self._mismatch(f"`{quantity.said}`", own, quantity.unit, place)
            return None
        return quantity

    def _charge(self, block: Block) -> Charge | None:
        kind = block.get("kind")
        must, may = _CHARGES[kind]
        missing = [key for key in must if key not in block.keys]
        for key in sorted(block.keys.keys() - _ALWAYS - set(must) - set(may)):
            self._note(
                "unknown-key", f"a charge of the kind {kind} has no `{key}`", words([*must, *may]), block.at(key)
            )
        if missing:
            found = f"`{block.name}` lacks {words(missing)}"
            self._note("missing-key", found, f"a charge of the kind {kind} has {words(must)}", block.at("kind"))
            return None
        tiers = tuple(block.get("tiers", ()))
        if kind == "discount" and "required" in tiers:
            self._note(
                "required-discounted",
                "what law, listing or safety asks for is not discounted",
                "recommended, optional, included",
                block.at("tiers", tiers.index("required")),
            )
        share = self._number(block, "share")
        if share > 100:
            self._note("out-of-range", f"a share of {share} %", "0 to 100", block.at("share"))
        of_task = block.get("of_task", "")
        if of_task:
            self._reader.known_task(of_task, block.at("of_task"))
        whole = {name: key.value for name, key in block.keys.items()}
        return Charge(
            *_named(block),
            title=block.get("title"),
            kind=kind,
            basis=block.get("basis"),
            work=self._work(block, whole, None, ()) if kind == "work" else None,
            cost=self._number(block, "cost"),
            share=share,
            cap=self._number(block, "cap") if "cap" in block.keys else None,
            of_task=of_task,
            tiers=tiers,
            tasks=self._with(block),
        )

    def _with(self, block: Block) -> tuple[str, ...] | None:
        """Tasks of which one must be on the scope; None where the charge always stands."""
        if not {"with_tasks", "with_groups"} & block.keys.keys():
            return None
        named = [
            name
            for index, name in enumerate(block.get("with_tasks", ()))
            if self._reader.known_task(name, block.at("with_tasks", index))
        ]
        groups = {group for task in self._tasks.values() for group in task.groups}
        for index, name in enumerate(block.get("with_groups", ())):
            if name not in groups:
                if not self._layered.may_be(name):
                    place = block.at("with_groups", index)
                    found = f"no task is in the group `{name}`"
                    self._note("unknown-group", found, words(sorted(groups)), place, nearest(name, groups))
                continue
            named += [task.name for task in self._tasks.values() if name in task.groups]
        return tuple(sorted(set(named)))

    def _known(self, section: str, name: str, place: Place) -> bool:
        known = self._blocks[section]
        if name in known:
            return True
        if not self._layered.may_be(name):
            found = f"there is no {section} `{name}`"
            self._note(_UNKNOWN[section], found, words(known) or "none", place, nearest(name, known))
        return False

    def _unit(self, unit: str, place: Place, *, of_piece: bool = False) -> bool:
        if unit in UNITS or (of_piece and unit == EACH):
            return True
        known = [EACH, *UNITS] if of_piece else list(UNITS)
        self._note("unknown-unit", f"there is no unit `{unit}`", words(known), place, nearest(unit, known))
        return False

    def _number(self, block: Block, key: str) -> Decimal:
        """A number of a block, 0 where it has none or it is at fault."""
        if key not in block.keys:
            return Decimal(0)
        return self._money(block.get(key), block.at(key)) or Decimal(0)

    def _money(self, value: float, place: Place) -> Decimal | None:
        """A number of the book as it was written; None after a fault."""
        number = exact(value)
        if number < 0:
            self._note("negative", f"{number:f}", "0 or more", place)
            return None
        exponent = number.normalize().as_tuple().exponent
        if number > _MOST or (isinstance(exponent, int) and exponent < -_PLACES):
            allowed = f"up to {_MOST:,f}, with at most {_PLACES} decimals"
            self._note("out-of-range", f"{number.normalize()}", allowed, place)
            return None
        return number

    def _mismatch(self, what: str, one: str, other: str, place: Place) -> None:
        a, b = (UNITS[unit].dimension if unit in UNITS else "count" for unit in (one, other))
        self._note("unit-mismatch", f"{what}: {a} ({one}) against {b} ({other})", f"a {b}", place)

    def _note(self, code: str, found: str, allowed: str, place: Place, advice: str = "") -> None:
        self._faults.note(code, found, allowed, place=place, advice=advice)


def _named(block: Block) -> tuple[str, Place, str, Mapping[str, Any]]:
    return block.name, block.place, block.layer, block.sourced()


def _inner(block: Block, path: tuple[str | int, ...]) -> Mapping[str, Any]:
    held = block.get(str(path[0]))
    for part in path[1:]:
        held = held[part]
    return held if isinstance(held, Mapping) else {}
