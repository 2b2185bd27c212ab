"""Figures and checks of a composed policy, every reference resolved and every unit held against the other."""

from collections.abc import Mapping
from typing import Literal

from airwarrant.errors import nearest
from airwarrant.job.dictionary import KINDS
from airwarrant.policy.dimensions import step_fault
from airwarrant.policy.faults import Faults, words
from airwarrant.policy.layers import LIMITS, STEPS, Block, Layered
from airwarrant.policy.model import Check, Figure, Limit, Ref
from airwarrant.policy.references import References
from airwarrant.policy.values import check_basis, check_unit
from airwarrant.source.place import Place
from airwarrant.units import UNITS

_CHOOSE: Mapping[str, Literal["limit", "strictest_limit", "loosest_limit"]] = {
    "limit": "limit",
    "strictest_limit": "strictest_limit",
    "loosest_limit": "loosest_limit",
}


def known_kind(kind: str, place: Place, faults: Faults) -> bool:
    """Whether a kind is in the dictionary; a fault if it is not."""
    if kind in KINDS:
        return True
    faults.note("unknown-kind", f"there is no kind `{kind}`", words(KINDS), place=place, advice=nearest(kind, KINDS))
    return False


def figures(layered: Layered, references: References, faults: Faults) -> dict[str, Figure]:
    """Build every figure, in name order."""
    blocks = layered.blocks["figure"]
    built = [_figure(blocks[name], references, faults) for name in sorted(blocks)]
    _no_circle(blocks, {figure.name: figure for figure in built if figure}, faults)
    return {figure.name: figure for figure in built if figure}


def checks(layered: Layered, references: References, faults: Faults) -> dict[str, Check]:
    """Build every check, in name order."""
    blocks = layered.blocks["check"]
    built = [_check(blocks[name], references, faults) for name in sorted(blocks)]
    return {check.name: check for check in built if check}


def fields_read(ref: Ref, figures_: Mapping[str, Figure]) -> frozenset[str]:
    """Return the fields a reference reads in the end, through figures."""
    figure = figures_.get(ref.name) if ref.form in ("figure", "house") else None
    if figure is None:
        return frozenset({ref.name}) if ref.form in ("field", "house") else frozenset()
    through = (fields_read(part, figures_) for part in figure.refs)
    return frozenset({figure.take} if figure.take else ()).union(*through)


def _figure(block: Block, references: References, faults: Faults) -> Figure | None:
    each, unit = str(block.get("each")), str(block.get("unit"))
    unit_known = check_unit(unit, block.at("unit"), faults)
    if not known_kind(each, block.at("each"), faults):
        return None
    if block.name in KINDS[each].fields:
        faults.note(
            "duplicate-name",
            f"the figure `{block.name}` has the name of a field of a {each}",
            "a name of its own",
            place=block.place,
        )
    step = next(step for step in STEPS if step in block.keys)
    over = take = ""
    refs: tuple[Ref, ...] = ()
    if step == "sum_over":
        over, take = str(block.get("sum_over")), str(block.get("take", ""))
        if not known_kind(over, block.at("sum_over"), faults):
            return None
        field = KINDS[over].fields.get(take)
        if field is None or field.form not in ("reading", "number"):
            numbers = [name for name, f in KINDS[over].fields.items() if f.form in ("reading", "number")]
            faults.note(
                "unknown-field",
                f"`take` names {f'`{take}`' if take else 'nothing'}",
                f"a number of a {over}: {words(numbers)}",
                place=block.at("take"),
                advice=nearest(take, numbers),
            )
            return None
        units = [field.unit]
    else:
        raw = block.get(step)
        texts = [raw] if isinstance(raw, str) else raw
        places = [block.at(step)] if isinstance(raw, str) else [block.at(step, i) for i in range(len(texts))]
        found = [references.resolve(text, each, place) for text, place in zip(texts, places, strict=True)]
        refs = tuple(ref for ref in found if ref is not None)
        if len(refs) < len(found):
            return None
        units = [references.unit(ref, each) for ref in refs]
    if unit_known and all(part in UNITS for part in units):
        wrong = step_fault(step, units, unit)
        if wrong:
            faults.note(
                "unit-mismatch",
                f"figure `{block.name}`: {wrong}",
                f"parts and a unit that fit `{step}`",
                place=block.at(step),
            )
    return Figure(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        title=str(block.get("title")),
        each=each,
        unit=unit,
        step=step,
        refs=refs,
        over=over,
        take=take,
    )


def _no_circle(blocks: Mapping[str, Block], built: Mapping[str, Figure], faults: Faults) -> None:
    reads = {name: [r.name for r in figure.refs if r.name in built] for name, figure in built.items()}
    for name in circles(reads):
        faults.note(
            "cycle",
            f"the figure `{name}` is made from itself",
            "figures that do not go in a circle",
            place=blocks[name].place,
        )


def circles(edges: Mapping[str, list[str]]) -> list[str]:
    """Return, sorted, the names that lead back to themselves."""
    out = []
    for start in sorted(edges):
        seen: set[str] = set()
        todo = list(edges[start])
        while todo:
            name = todo.pop()
            if name not in seen:
                seen.add(name)
                todo += edges.get(name, [])
        if start in seen:
            out.append(start)
    return out


def _check(block: Block, references: References, faults: Faults) -> Check | None:
    check_basis(block, faults)
    each, text = str(block.get("each")), str(block.get("reading"))
    if not known_kind(each, block.at("each"), faults):
        return None
    reading = references.resolve(text, each, block.at("reading"))
    if reading is None:
        return None
    if reading.form not in ("field", "figure"):
        faults.note(
            "not-a-reading",
            f"the reading of `{block.name}` is `{text}`",
            f"a number or figure of the {each} itself",
            place=block.at("reading"),
        )
        return None
    unit = references.unit(reading, each)
    times = references.share(block.get("times"), each, block.at("times")) if "times" in block.keys else None
    choose = next(key for key in LIMITS if key in block.keys)
    raw = block.get(choose)
    given = [raw] if choose == "limit" else raw
    places = [block.at(choose)] if choose == "limit" else [block.at(choose, i) for i in range(len(given))]
    found = [references.limit(one, each, unit, times, place) for one, place in zip(given, places, strict=True)]
    limits = tuple(limit for limit in found if limit is not None)
    if len(limits) < len(found):
        return None
    return Check(
        block.name,
        block.place,
        block.layer,
        block.sourced(),
        title=str(block.get("title")),
        each=each,
        reading=reading,
        must_be=block.get("must_be"),
        limits=limits,
        choose=_CHOOSE[choose],
        times=times,
        needs=tuple(block.get("needs", ())),
        doubt=block.get("doubt", "retest"),
        acceptance=block.get("acceptance", False),
        retest_when=block.get("retest_when", ""),
    )


def limit_refs(limit: Limit) -> tuple[Ref, ...]:
    """Return every reference of a limit."""
    return tuple(ref for ref in (limit.of, limit.less, limit.more) if ref is not None)
