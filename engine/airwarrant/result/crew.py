"""What only the crew reads: dangers the record names or is silent on, what to have ready and what to leave, what to load."""

from collections.abc import Iterable, Iterator, Mapping
from decimal import ROUND_CEILING, Decimal
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.record import JobRecord
from airwarrant.job.words_house import ACCESS, HAZARDS
from airwarrant.pricing.exact import number_text, product, total
from airwarrant.pricing.line import Bought
from airwarrant.result.texts import Texts
from airwarrant.run import Run

#: Words policy has for the crew beside those of a line; it words each as ``<caution, task or fact>.<part>``.
READY, LEAVE = "ready", "leave"
#: What a task changes whose line is a damper of its place.
_DAMPER = "damper"
_STANDING = ("scoped", "earlier")

#: A word of danger where it is not ``yes``.
_DANGER = {"attic_floor": "no"}
#: What the form of the unit and the spaces the ducts run through must be for an unanswered hazard to be a question at all.
_ONLY_WITH = {
    "roof_edge": ("package-roof",),
    "attic_floor": ("attic", "split-attic"),
    "crawl_water": ("crawl",),
}
_WHERE = ("form", "return_path_space", "supply_path_space")
#: Asked only of paint that is, or may be, cut.
_PAINT, _CUT = "lead_paint", "paint_cut"
#: Fields of a place, by kind, with the words that are a danger to whoever works there.
AT_PLACES: Mapping[str, Mapping[str, tuple[str, ...]]] = {
    "material": {"suspect_asbestos": ("yes", "unknown")},
    "leak": {"state": ("wet", "mould-like", "suspect-wrap")},
    "platform": {"moisture": ("yes",), "pipes_through": ("yes",)},
    "plenum": {"dry": ("no",)},
    "return": {"wet": ("yes",)},
    "trunk": {"wet": ("yes",)},
    "run": {"wet": ("yes",)},
    "zone": {"open_draft": ("yes",)},
    "appliance": {"flame_moves": ("yes",), "exchanger_cracked": ("yes",)},
}


def crew_json(
    run: Run, words: Texts, lines: Iterable[Mapping[str, Any]], cautions: Iterable[Mapping[str, Any]]
) -> dict[str, Any]:
    """Return what the crew's order holds beside its lines.

    Parameters
    ----------
    lines, cautions : iterable of mapping
        Those of the document.
    """
    standing = [line for line in lines if line["state"] in _STANDING]
    scoped = [line["id"] for line in standing if line["state"] == "scoped"]
    asked = [
        *(one["name"] for one in cautions),
        *dict.fromkeys(line["task"] for line in standing),
        *_answered(run.record),
    ]
    return {
        "hazards": [*_of_house(run.record), *_of_places(run.record)],
        **{part: list(_told(words, asked, part)) for part in (READY, LEAVE)},
        "dampers": [line["place"] for line in standing if run.policy.tasks[line["task"]].changes == _DAMPER],
        "materials": {
            "together": _materials(run, scoped),
            "lines": [{"line": line, "materials": several} for line in scoped if (several := _materials(run, [line]))],
        },
    }


def _told(words: Texts, names: Iterable[str], part: str) -> Iterator[dict[str, str]]:
    for name in dict.fromkeys(names):
        said = words.say((f"{name}.{part}",))
        if said:
            yield {"of": name, "said": said}


def _answered(record: JobRecord) -> list[str]:
    """Facts of danger or access that the record says hold: policy may say what they call for."""
    facts = record.items[HOUSE_KEY].words
    return [
        one.name.replace("_", "-")
        for one in (*HAZARDS, *ACCESS)
        if one.name in facts and facts[one.name] == _DANGER.get(one.name, "yes")
    ]


def _of_house(record: JobRecord) -> Iterator[dict[str, str]]:
    facts = record.items[HOUSE_KEY].words
    for field in HAZARDS:
        if not field.words:
            continue
        word = facts.get(field.name, "unknown")
        if word == _DANGER.get(field.name, "yes") or (word == "unknown" and _is_asked(record, field.name)):
            yield {"key": HOUSE_KEY, "field": field.name, "title": field.title, "word": word}


def _is_asked(record: JobRecord, hazard: str) -> bool:
    """Whether a hazard can be there; what the record is silent on can be anything."""
    facts = record.items[HOUSE_KEY].words
    if hazard == _PAINT:
        return facts.get(_CUT) != "no"
    wanted = _ONLY_WITH.get(hazard)
    if wanted is None:
        return True
    said = {facts.get(name, "unknown") for name in _WHERE}
    said |= {item.words["space"] for item in record.items.values() if "space" in item.words}
    return "unknown" in said or bool(said & set(wanted))


def _of_places(record: JobRecord) -> Iterator[dict[str, str]]:
    for key, item in record.items.items():
        for name, danger in AT_PLACES.get(item.kind, {}).items():
            word = item.words.get(name, "unknown")
            if word in danger:
                yield {"key": key, "field": name, "title": KINDS[item.kind].fields[name].title, "word": word}


def _materials(run: Run, lines: Iterable[str]) -> list[dict[str, Any]]:
    """Materials of the scoped lines added up, waste within: by item, by its size, and by the piece where a piece is a size."""
    together: dict[tuple[str, ...], list[tuple[str, Bought, Decimal]]] = {}
    for line in lines:
        priced = run.prices.scope.get(line) if run.prices else None
        if priced is None or priced.amount is None or priced.worked is None:
            continue
        worked = priced.worked
        often = worked.times.value if worked.times and worked.times.value is not None else Decimal(1)
        for bought in worked.bought:
            together.setdefault(_piece(bought), []).append((line, bought, product(Decimal(bought.count), often)))
    return [_added(several) for _, several in sorted(together.items(), key=lambda one: _by_size(one[0]))]


def _piece(bought: Bought) -> tuple[str, ...]:
    """What may be added up: one item of one size. A piece whose quantity is its size, such as a grille, is never cut from more."""
    sized = bought.sized.value if bought.sized is not None else None
    size = number_text(sized) if sized is not None else ""
    return (bought.item.name, size, number_text(bought.with_waste) if _is_size(bought) else "")


def _by_size(piece: tuple[str, ...]) -> tuple[str, list[Decimal]]:
    name, *sizes = piece
    return name, [Decimal(size or 0) for size in sizes]


def _is_size(bought: Bought) -> bool:
    return bought.counted.quantity.form == "size"


def _added(several: list[tuple[str, Bought, Decimal]]) -> dict[str, Any]:
    first = several[0][1]
    size = first.sized
    pieces = _is_size(first)
    quantity = total(many if pieces else product(many, one.with_waste) for _, one, many in several)
    whole = pieces or first.item.per == "each"
    return {
        "item": first.item.name,
        "title": first.item.title,
        "size": number_text(size.value) if size is not None and size.value is not None else "",
        "size_unit": first.item.size_unit if size is not None else "",
        "piece": number_text(first.with_waste) if pieces else "",
        "piece_unit": first.item.per if pieces else "",
        "quantity": number_text(quantity.to_integral_value(ROUND_CEILING) if whole else quantity),
        "unit": "each" if whole else first.item.per,
        "waste": any(one.material.waste for _, one, _ in several),
        "assumed": any(one.counted.assumed or bool(one.sized and one.sized.assumed) for _, one, _ in several),
        "lines": list(dict.fromkeys(line for line, _, _ in several)),
    }
