"""A price book said back as sentences."""

from collections.abc import Iterable, Mapping
from decimal import Decimal

from airwarrant.policy.model import Named, Policy, WhereClause
from airwarrant.policy.price_model import (
    EACH,
    Charge,
    Crew,
    Factor,
    Item,
    Material,
    Price,
    PriceBook,
    Quantity,
    WordClause,
    WorkPrice,
)

#: Sections of a price book as an owner names them.
SECTIONS = ("crew", "item", "factor", "price", "charge")
_MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip


def book_blocks(book: PriceBook | None) -> dict[str, Mapping[str, Named]]:
    """Return the blocks of a price book by section."""
    if book is None:
        return {section: {} for section in SECTIONS}
    return {
        "crew": book.crews,
        "item": book.items,
        "factor": book.factors,
        "price": book.prices,
        "charge": book.charges,
    }


def readers(book: PriceBook | None, section: str, name: str) -> tuple[str, ...]:
    """Return the tasks whose price reads a crew, an item or a factor."""
    if book is None:
        return ()
    return tuple(task for task, price in book.prices.items() if any(_reads(w, section, name) for w in _works(price)))


def charges_reading(book: PriceBook | None, section: str, name: str) -> tuple[str, ...]:
    """Return the charges whose work reads a crew, an item or a factor."""
    charges = {} if book is None else book.charges
    return tuple(n for n, charge in charges.items() if charge.work is not None and _reads(charge.work, section, name))


def book_sentence(policy: Policy, section: str, name: str) -> str:
    """Say a block of the price book in plain English; empty where the policy has none of that name."""
    block = book_blocks(policy.prices)[section].get(name)
    match block:
        case Price():
            return _price(policy, block)
        case Charge():
            return _charge(policy, block)
        case Factor():
            return f"Hours take {plain_number(block.value)} times as long{factor_when(block)}."
        case Item():
            return _item(policy, block)
        case Crew():
            people = "1 person" if block.people == 1 else f"{block.people} people"
            return f"{block.title}: {people}, {money_text(policy, block.wage)} for one hour of one of them."
        case _:
            return ""


def _works(price: Price) -> Iterable[WorkPrice]:
    return (price.work, *(variant.work for variant in price.variants))


def _reads(work: WorkPrice, section: str, name: str) -> bool:
    if section == "crew":
        return work.crew == name
    return name in (work.factors if section == "factor" else [one.item for one in work.materials])


def _price(policy: Policy, price: Price) -> str:
    title = policy.tasks[price.name].title
    said = f"“{title}” takes {work_text(policy, price.work)}."
    for variant in price.variants:
        when = price_clauses(variant.when)
        said += f" {variant.title}, where {when}, it takes {work_text(policy, variant.work)}."
    if policy.tasks[price.name].unit_off:
        credit = policy.parameters["price_unit_off_credit"].value
        said += f" Where another line done with the unit off pays for the way in, {plain_number(credit)} % of the hours are saved."
    return f"{said} {_made(policy)}"


def _made(policy: Policy) -> str:
    value = {
        name: policy.parameters[name].value for name in ("price_labour_index", "price_material_index", "price_margin")
    }
    labour, material, margin = map(plain_number, value.values())
    step = money_text(policy, Decimal(plain_number(policy.parameters["price_round_to"].value)))
    return (
        f"Labour counts {labour} times and materials {material} times in this market; the sum divided by 1 − {margin} % is rounded "
        f"once, half up, to {step}."
    )


def work_text(policy: Policy, work: WorkPrice) -> str:
    """Say hours, crew, materials and factors of some work."""
    book = policy.prices or PriceBook()
    crew = book.crews[work.crew]
    parts = [f"{plain_number(work.hours)} person-hours of {crew.title.lower()} at {money_text(policy, crew.wage)}"]
    parts += [f"{material_text(policy, book, one)}" for one in work.materials]
    said = " and ".join(filter(None, [", ".join(parts[:-1]), parts[-1]]))
    if work.times is not None:
        said += f", all of it {quantity_text(work.times, '')}"
    if work.factors:
        factors = (book.factors[name] for name in work.factors)
        said += (
            f"; hours × {', '.join(f'{plain_number(f.value)} {f.title.lower()}' for f in factors)}, each where it holds"
        )
    return said


def material_text(policy: Policy, book: PriceBook, one: Material) -> str:
    """Say how much of an item work takes."""
    item = book.items[one.item]
    unit = "" if item.per == EACH else f" {item.per}"
    size = f", by {quantity_text(one.size, item.size_unit)}" if one.size else ""
    waste = f" and {plain_number(one.waste)} % waste" if one.waste else ""
    cost = f" at {money_text(policy, item.cost)}" if item.cost is not None else ""
    return f"{quantity_text(one.quantity, unit.strip())}{waste} of {item.title.lower()}{size}{cost}"


def quantity_text(quantity: Quantity, unit: str) -> str:
    """Say a quantity, and what is taken where the record does not give it."""
    unit = f" {unit}" if unit and unit != EACH else ""
    if quantity.form == "number":
        return f"{plain_number(quantity.value)}{unit}"
    said = {
        "size": f"the size of the line{'' if quantity.index == 0 else f', number {quantity.index + 1}'}",
        "count": f"as many as there are {quantity.name} records",
        "house": f"the house's {quantity.name}",
        "field": f"its {quantity.name}",
    }[quantity.form]
    return said if quantity.otherwise is None else f"{said} (not known: {plain_number(quantity.otherwise)}{unit})"


def _item(policy: Policy, item: Item) -> str:
    per = "One" if item.per == EACH else f"1 {item.per}"
    if item.cost is not None:
        return f"{item.title}: {per.lower()} costs {money_text(policy, item.cost)}."
    rows = ", ".join(f"{plain_number(size)} {item.size_unit} {money_text(policy, cost)}" for size, cost in item.rows)
    return f"{item.title}: {per.lower()} costs, by its size: {rows}; a size between two takes the larger."


def _charge(policy: Policy, charge: Charge) -> str:
    where = "" if charge.tasks is None else f", where the scope has one of {', '.join(charge.tasks) or 'no task'}"
    tiers, share = ", ".join(charge.tiers), plain_number(charge.share)
    match charge.kind:
        case "work":
            what = work_text(policy, charge.work) if charge.work else ""
        case "at-cost":
            what = f"{money_text(policy, charge.cost)}, passed on at cost"
        case "allowance":
            cap = f", never more than {money_text(policy, charge.cap)}" if charge.cap is not None else ""
            what = f"{share} % of the lines that are {tiers}{cap}; what is not needed goes back"
        case "credit":
            what = f"{share} % of the line {charge.of_task} is given back when the job is sold"
        case _:
            what = f"{share} % is taken off the lines that are {tiers}"
    return f"{charge.title}: {what}{where}."


def factor_when(factor: Factor) -> str:
    """Say when a factor holds, beginning with ``where``; empty where it always does."""
    parts = []
    if factor.when:
        parts.append(" and ".join(_clause(one, "the house's") for one in factor.when))
    if factor.any:
        held = "; ".join(_clause(one, "the house's") for one in factor.any)
        parts.append(f"one of these holds: {held}" if len(factor.any) > 1 else held)
    parts += [f"the house's {name} is below {plain_number(bound)} {unit}" for name, bound, unit in factor.below]
    if factor.months is not None:
        months = " or ".join(_MONTHS[month - 1] for month in factor.months)
        parts.append(f"it is {months}" if months else "it is its season, which this market never has")
    return f" where {', and where '.join(parts)}" if parts else ""


def price_clauses(clauses: Iterable[WordClause]) -> str:
    """Say the clauses of a variant."""
    return " and ".join(_clause(one, "its") for one in clauses)


def _clause(clause: WordClause, whose: str) -> str:
    words = " and ".join(f"{name} is {' or '.join(closed)}" for name, closed in clause.where)
    if isinstance(clause, WhereClause):
        return f"{whose} {words}"
    same = [f"{its} is this place" if mine == "id" else f"{its} is its {mine}" for its, mine in clause.same]
    return f"there is a {clause.kind} whose {' and '.join(filter(None, [*same, words]))}"


def money_text(policy: Policy, amount: Decimal) -> str:
    """Write an amount in the currency of the market."""
    text = f"{amount:,}" if amount == amount.to_integral_value() else f"{amount:,.2f}"
    return f"{text.removesuffix('.0')} {policy.market.currency}"


def plain_number(number: Decimal | float | str) -> str:
    """Write a number without zeros at its end."""
    text = f"{number:f}" if isinstance(number, Decimal) else str(number)
    return text.rstrip("0").rstrip(".") if "." in text else text
