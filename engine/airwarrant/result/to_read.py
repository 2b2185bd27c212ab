"""What is read at test-out for a target: the readings of a visit that its check rests on, followed through figures."""

from collections.abc import Iterator
from typing import Any

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.record import JobRecord
from airwarrant.policy.model import Check, Policy, Ref

#: A room's design airflow, where the record does not write it, is its share of what the registers give.
_TARGET, _REGISTERS = "target", "register_flow"


def to_read(policy: Policy, record: JobRecord, check: Check, key: str) -> list[dict[str, Any]]:
    """Return the readings, each once, in the order in which the check names them."""
    refs = [check.reading, *(ref for limit in check.limits for ref in (limit.of, limit.less, limit.more) if ref)]
    refs += [check.times] if check.times else []
    found = {asked: None for ref in refs for asked in _of(policy, record, ref, check.each, key)}
    out = []
    for owner, name in found:
        field = KINDS[HOUSE_KEY if owner == HOUSE_KEY else record.items[owner].kind].fields[name]
        out.append({"key": owner, "field": name, "title": field.title, "unit": field.unit})
    return out


def _of(policy: Policy, record: JobRecord, ref: Ref, kind: str, key: str) -> Iterator[tuple[str, str]]:
    if ref.form not in ("field", "house", "figure"):
        return
    if ref.form == "house":
        kind, key = HOUSE_KEY, HOUSE_KEY
    for owner, at in ((kind, key), (HOUSE_KEY, HOUSE_KEY)):
        field = KINDS[owner].fields.get(ref.name)
        if field is not None:
            if field.section == "visit" and field.form == "reading":
                yield at, field.name
            elif field.name == _TARGET and at in record.items and _TARGET not in record.items[at].numbers:
                yield HOUSE_KEY, _REGISTERS
            return
    figure = policy.figures.get(ref.name)
    if figure is None:
        return
    at = key if figure.each == kind else HOUSE_KEY
    for part in figure.refs:
        yield from _of(policy, record, part, figure.each, at)
    if figure.over:
        for other, item in record.items.items():
            if item.kind == figure.over:
                yield from _of(policy, record, Ref("field", figure.take), figure.over, other)
