"""The price of one line: hours of a crew, what is bought, the market's indices, the margin, rounded once."""

from collections.abc import Sequence
from dataclasses import dataclass
from decimal import Decimal

from airwarrant.policy.model import Parameter, Policy
from airwarrant.policy.price_model import Crew, Factor, Item, Material, Price, PriceBook, WorkPrice
from airwarrant.policy.price_reading import exact
from airwarrant.policy.prices import NEEDED
from airwarrant.pricing.exact import less_percent, more_percent, product, rounded_quotient, shown_quotient, total
from airwarrant.pricing.place import Counted, JobPlaces, ReadWord
from airwarrant.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class Multiplied:
    """What multiplied the hours: a factor of the book, with the words of the record that made it hold."""

    factor: Factor
    words: tuple[ReadWord, ...]
    month: int


@dataclass(frozen=True, slots=True)
class Bought:
    """Some of an item: `amount` is `count` × quantity with waste × `cost`, before the index."""

    item: Item
    material: Material
    counted: Counted
    count: int
    with_waste: Decimal
    cost: Decimal
    amount: Decimal
    sized: Counted | None = None


@dataclass(frozen=True, slots=True)
class Worked:
    """The cost of some work, with every step to it.

    Attributes
    ----------
    hours : Decimal
        Person-hours paid: those of the book × how often × factors, less the credit of an access that is priced already.
    times : Counted or None
        How often the work is done, where the book says so.
    count : int
        How many equal ones the line is.
    credit : Parameter or None
        The credit, where it was taken.
    labour, materials, cost : Decimal
        With the market's indices; the cost is their sum.
    missing : tuple of str
        What is not known; then the numbers mean nothing.
    """

    work: WorkPrice
    crew: Crew
    times: Counted | None
    count: int
    factors: tuple[Multiplied, ...]
    credit: Parameter | None
    hours: Decimal
    labour: Decimal
    bought: tuple[Bought, ...]
    materials: Decimal
    cost: Decimal
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class LinePrice:
    """The price of a line.

    `amount` is None where there is none, and `why` says why; `unrounded` is shown, and nothing is calculated from it.
    """

    line: str
    task: str
    tier: str
    amount: Decimal | None
    why: str = ""
    price: Price | None = None
    variant: str = ""
    variant_words: tuple[ReadWord, ...] = ()
    worked: Worked | None = None
    unrounded: Decimal = Decimal(0)

    @property
    def cost(self) -> Decimal:
        return self.worked.cost if self.worked is not None and self.amount is not None else Decimal(0)


class LinePricer:
    """Prices work under one book for one job."""

    def __init__(self, policy: Policy, book: PriceBook, places: JobPlaces) -> None:
        self._policy, self._book, self._places = policy, book, places
        self._values = {name: exact(float(policy.parameters[name].value)) for name in NEEDED}
        self._factor_words = {name: places.factor(factor) for name, factor in book.factors.items()}

    def line(self, line: str, task: str, place: str, tier: str, sized: Sized | None, *, shared: bool) -> LinePrice:
        """Price a line; `shared` where another line pays the access already."""
        price = self._book.prices.get(task)
        if price is None:
            return LinePrice(line, task, tier, None, f"the price book has no price of {task}")
        for variant in price.variants:
            words = self._places.holds(variant.when, place)
            if words is not None:
                return self._priced(line, task, place, tier, price, variant.work, sized, shared, variant.title, words)
        return self._priced(line, task, place, tier, price, price.work, sized, shared)

    def work(self, work: WorkPrice, place: str, sized: Sized | None, *, shared: bool) -> Worked:
        """What some work costs."""
        count = sized.count if sized else 1
        missing: list[str] = []
        times = self._places.counted(work.times, place, sized) if work.times else None
        if times is not None and times.value is None:
            missing.append(times.said)
        often = times.value if times and times.value is not None else Decimal(1)
        factors = self._factors(work.factors)
        hours = product(work.hours, Decimal(count), often, *(one.factor.value for one in factors))
        credit = self._policy.parameters["price_unit_off_credit"] if shared and work.hours else None
        if credit is not None:
            hours = less_percent(hours, self.value("price_unit_off_credit"))
        crew = self._book.crews[work.crew]
        labour = product(hours, crew.wage, self.value("price_labour_index"))
        bought = []
        for material in work.materials:
            one = self._bought(material, place, sized, count, often, missing)
            if one is not None:
                bought.append(one)
        materials = product(total(one.amount for one in bought), self.value("price_material_index"))
        cost = total((labour, materials))
        return Worked(
            work, crew, times, count, factors, credit, hours, labour, tuple(bought), materials, cost, tuple(missing)
        )

    def amount(self, cost: Decimal) -> Decimal:
        """A cost with the margin, rounded to the policy's step, half up."""
        return rounded_quotient(cost, self._kept(), self.value("price_round_to"))

    def unrounded(self, cost: Decimal) -> Decimal:
        """A cost with the margin, at hundredths, to be shown."""
        return shown_quotient(cost, self._kept())

    def value(self, name: str) -> Decimal:
        """A value of the price book."""
        return self._values[name]

    def _kept(self) -> Decimal:
        """The cost's share of the price."""
        return less_percent(Decimal(1), self.value("price_margin"))

    def _priced(
        self,
        line: str,
        task: str,
        place: str,
        tier: str,
        price: Price,
        work: WorkPrice,
        sized: Sized | None,
        shared: bool,
        variant: str = "",
        words: tuple[ReadWord, ...] = (),
    ) -> LinePrice:
        worked = self.work(work, place, sized, shared=shared)
        if worked.missing:
            return LinePrice(line, task, tier, None, "; ".join(worked.missing), price, variant, words, worked)
        amount, unrounded = self.amount(worked.cost), self.unrounded(worked.cost)
        return LinePrice(line, task, tier, amount, "", price, variant, words, worked, unrounded)

    def _factors(self, names: Sequence[str]) -> tuple[Multiplied, ...]:
        out = []
        for name in names:
            factor, words = self._book.factors[name], self._factor_words[name]
            if words is not None:
                out.append(Multiplied(factor, words, self._places.month if factor.months is not None else 0))
        return tuple(out)

    def _bought(
        self, material: Material, place: str, sized: Sized | None, count: int, often: Decimal, missing: list[str]
    ) -> Bought | None:
        item = self._book.items[material.item]
        counted = self._places.counted(material.quantity, place, sized)
        size = self._places.counted(material.size, place, sized) if material.size else None
        for one in (counted, size):
            if one is not None and one.value is None:
                missing.append(f"{item.title}: {one.said}")
        if counted.value is None or (size is not None and size.value is None):
            return None
        cost = item.cost
        if size is not None and size.value is not None:
            wanted = size.value
            cost = next((row[1] for row in item.rows if row[0] >= wanted), None)
            if cost is None:
                missing.append(f"{item.title}: no price of {wanted:f} {item.size_unit}")
        if cost is None:
            return None
        # A size of its own, such as a grille beside two equal ducts, is as many as that size says.
        of = next((q.index for q in (material.quantity, material.size) if q is not None and q.form == "size"), 0)
        many = sized.sizes[of].count if sized and of < len(sized.sizes) else count
        with_waste = more_percent(counted.value, material.waste)
        amount = product(Decimal(many), often, with_waste, cost)
        return Bought(item, material, counted, many, with_waste, cost, amount, size)
