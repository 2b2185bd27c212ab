"""Charges of a price book: what is on the bill besides the work of lines."""

from airwarrant.errors import nearest
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block
from airwarrant.policy.price_model import Charge
from airwarrant.policy.price_reading import PriceReading, book_fault, named
from airwarrant.policy.price_work import work_price

#: What each kind of charge has, and what it may have besides.
_CHARGES = {
    "work": (("hours", "crew"), ("factors", "with_tasks", "with_groups")),
    "at-cost": (("cost",), ("with_tasks", "with_groups")),
    "allowance": (("share", "tiers", "cap"), ("with_tasks", "with_groups")),
    "credit": (("share", "of_task"), ()),
    "discount": (("share", "tiers"), ("with_tasks", "with_groups")),
}
_ALWAYS = frozenset({"title", "kind", "edit", "basis", "note"})


def charge(reading: PriceReading, block: Block) -> Charge | None:
    """Read a charge; None after a fault that leaves nothing to charge."""
    kind = block.get("kind")
    must, may = _CHARGES[kind]
    missing = [key for key in must if key not in block.keys]
    for key in sorted(block.keys.keys() - _ALWAYS - set(must) - set(may)):
        book_fault(
            reading, "unknown-key", f"a charge of the kind {kind} has no `{key}`", words([*must, *may]), block.at(key)
        )
    if missing:
        found = f"`{block.name}` lacks {words(missing)}"
        book_fault(reading, "missing-key", found, f"a charge of the kind {kind} has {words(must)}", block.at("kind"))
        return None
    tiers = tuple(block.get("tiers", ()))
    if kind == "discount" and "required" in tiers:
        book_fault(
            reading,
            "required-discounted",
            "what law, listing or safety asks for is not discounted",
            "recommended, optional, included",
            block.at("tiers", tiers.index("required")),
        )
    share = reading.number(block, "share")
    if share > 100:
        book_fault(reading, "out-of-range", f"a share of {share} %", "0 to 100", block.at("share"))
    of_task = block.get("of_task", "")
    if of_task:
        reading.reader.known_task(of_task, block.at("of_task"))
    whole = {name: key.value for name, key in block.keys.items()}
    return Charge(
        *named(block),
        title=block.get("title"),
        kind=kind,
        basis=block.get("basis"),
        work=work_price(reading, block, whole, None, ()) if kind == "work" else None,
        cost=reading.number(block, "cost"),
        share=share,
        cap=reading.number(block, "cap") if "cap" in block.keys else None,
        of_task=of_task,
        tiers=tiers,
        tasks=_with(reading, block),
    )


def _with(reading: PriceReading, block: Block) -> tuple[str, ...] | None:
    """Tasks of which one must be on the scope; None where the charge always stands."""
    if not {"with_tasks", "with_groups"} & block.keys.keys():
        return None
    named = [
        name
        for index, name in enumerate(block.get("with_tasks", ()))
        if reading.reader.known_task(name, block.at("with_tasks", index))
    ]
    groups = {group for task in reading.tasks.values() for group in task.groups}
    for index, name in enumerate(block.get("with_groups", ())):
        if name not in groups:
            if not reading.layered.may_be(name):
                place = block.at("with_groups", index)
                found = f"no task is in the group `{name}`"
                book_fault(reading, "unknown-group", found, words(sorted(groups)), place, nearest(name, groups))
            continue
        named += [task.name for task in reading.tasks.values() if name in task.groups]
    return tuple(sorted(set(named)))
