"""How the price books of two policies differ."""

from collections.abc import Iterator
from dataclasses import fields

from airwarrant.desks.policy_diff_points import Point, both, members, one, two
from airwarrant.desks.policy_diff_voice import Side, Source, Voice, source_of_key
from airwarrant.policy.digest import ORIGIN
from airwarrant.policy.model import Named
from airwarrant.policy.price_model import Charge, Crew, Factor, Item, Price, PriceBook, WorkPrice
from airwarrant.policy.show_prices import (
    book_sentence,
    factor_when,
    material_text,
    money_text,
    plain_number,
    price_clauses,
    work_text,
)

#: Keys that say when a factor holds.
_WHEN = ("months", "when", "any", "below")


def price_points(voice: Voice, section: str, a: Named, b: Named) -> Iterator[Point]:
    """Each amount, row, material or factor that differs; what has no words of its own is said whole on either side."""
    if isinstance(a, Crew) and isinstance(b, Crew):
        yield from _crew(voice, a, b)
    elif isinstance(a, Item) and isinstance(b, Item):
        yield from _item(voice, a, b)
    elif isinstance(a, Factor) and isinstance(b, Factor):
        yield from _factor(voice, a, b)
    elif isinstance(a, Price) and isinstance(b, Price):
        yield from _price(voice, a, b)
    elif isinstance(a, Charge) and isinstance(b, Charge):
        yield from _charge(voice, a, b)


def _crew(voice: Voice, a: Crew, b: Crew) -> Iterator[Point]:
    if a.wage != b.wage:
        texts = money_text(voice.a.policy, a.wage), money_text(voice.b.policy, b.wage)
        yield both(voice, "wage", f"an hour of one of “{b.title}”", texts, a, b, "wage", verb="costs")
    if a.people != b.people:
        yield both(
            voice, "people", f"the crew “{b.title}”", (str(a.people), str(b.people)), a, b, "people", verb="counts"
        )


def _item(voice: Voice, a: Item, b: Item) -> Iterator[Point]:
    if (a.per, a.size_unit) != (b.per, b.size_unit) or (a.cost is None) != (b.cost is None):
        yield from _whole(voice, "item", a, b, "cost", "by_size", "per")
        return
    if a.cost is not None and b.cost is not None and a.cost != b.cost:
        texts = money_text(voice.a.policy, a.cost), money_text(voice.b.policy, b.cost)
        yield both(voice, "cost", f"one {b.per} of “{b.title}”", texts, a, b, "cost", verb="costs")
    first, second = dict(a.rows), dict(b.rows)
    for size in sorted({*first, *second}):
        at = f"one {b.per} of “{b.title}” at {plain_number(size)} {b.size_unit}"
        if size in first and size in second:
            if first[size] != second[size]:
                texts = money_text(voice.a.policy, first[size]), money_text(voice.b.policy, second[size])
                yield both(voice, f"row {plain_number(size)}", at, texts, a, b, "by_size", verb="costs")
            continue
        side, item, cost = (voice.b, b, second[size]) if size in second else (voice.a, a, first[size])
        said = f"{at} costs {money_text(side.policy, cost)}"
        yield one(voice, f"row {plain_number(size)}", side, said, source_of_key(item, "by_size"))


def _factor(voice: Voice, a: Factor, b: Factor) -> Iterator[Point]:
    if a.value != b.value:
        texts = plain_number(a.value), plain_number(b.value)
        yield both(voice, "value", f"the factor on hours “{b.title}”", texts, a, b, "value")
    when = factor_when(a).strip() or "always", factor_when(b).strip() or "always"
    if when[0] != when[1]:
        sources = _newest(a, _WHEN), _newest(b, _WHEN)
        yield two(voice, "when", f"the factor “{b.title}”", (when[0], sources[0]), (when[1], sources[1]), "holds")


def _price(voice: Voice, a: Price, b: Price) -> Iterator[Point]:
    title = voice.b.policy.tasks[b.name].title if b.name in voice.b.policy.tasks else b.name
    yield from _work(voice, f"“{title}”", a, b, a.work, b.work)
    yield from members(
        voice,
        "variant",
        a.variants,
        b.variants,
        lambda side, v: f"“{title}” {v.title}, where {price_clauses(v.when)}, takes {work_text(side.policy, v.work)}",
        (source_of_key(a, "variant"), source_of_key(b, "variant")),
    )


def _work(voice: Voice, title: str, a: Named, b: Named, first: WorkPrice, second: WorkPrice) -> Iterator[Point]:
    if first.hours != second.hours:
        texts = f"{plain_number(first.hours)} person-hours", f"{plain_number(second.hours)} person-hours"
        yield both(voice, "hours", title, texts, a, b, "hours", verb="takes")
    if first.crew != second.crew:
        yield both(voice, "crew", title, (first.crew, second.crew), a, b, "crew", verb="is work for")
    if first.times != second.times:
        yield from _whole(voice, "price", a, b, "times")
    yield from members(
        voice,
        "factors",
        first.factors,
        second.factors,
        lambda side, name: f"the hours of {title} follow the factor {name}",
        (source_of_key(a, "factors"), source_of_key(b, "factors")),
    )
    yield from members(
        voice,
        "materials",
        first.materials,
        second.materials,
        lambda side, m: f"{title} takes {material_text(side.policy, side.policy.prices or PriceBook(), m)}",
        (source_of_key(a, "materials"), source_of_key(b, "materials")),
    )


def _charge(voice: Voice, a: Charge, b: Charge) -> Iterator[Point]:
    moved = [f.name for f in fields(a) if f.name not in ORIGIN and getattr(a, f.name) != getattr(b, f.name)]
    told = [name for name in moved if name not in ("title", "basis")]
    if told == ["cost"]:
        texts = money_text(voice.a.policy, a.cost), money_text(voice.b.policy, b.cost)
        yield both(voice, "cost", f"“{b.title}”", texts, a, b, "cost", verb="costs")
    elif told == ["share"]:
        texts = f"{plain_number(a.share)} %", f"{plain_number(b.share)} %"
        yield both(voice, "share", f"the share of “{b.title}”", texts, a, b, "share")
    elif told:
        yield from _whole(voice, "charge", a, b, *told, "kind")


def _newest(block: Named, keys: tuple[str, ...]) -> Source:
    """The source of the key, of several, that the newest folder set."""
    return max(
        (source_of_key(block, key) for key in keys if key in block.keys),
        key=lambda s: s.effective,
        default=source_of_key(block),
    )


def _whole(voice: Voice, section: str, a: Named, b: Named, *keys: str) -> Iterator[Point]:
    for side, block in ((voice.b, b), (voice.a, a)):
        yield one(voice, section, side, book_text(side, section, block), source_of_key(block, *keys))


def book_text(side: Side, section: str, block: Named) -> str:
    """Say a block of a price book that only one side has."""
    return book_sentence(side.policy, section, block.name)
