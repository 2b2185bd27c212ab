"""What a check rests on: every value, table, figure and field below it."""

from collections import deque
from collections.abc import Iterable, Iterator

from airwarrant.policy.checks import limit_refs
from airwarrant.policy.model import Check, Policy, Ref

#: A block by the form of its references and its name: parameter, table, figure or field.
Key = tuple[str, str]


def check_refs(check: Check) -> tuple[Ref, ...]:
    """Every reference of a check: its reading, its limits and their share."""
    return (check.reading, *limits_refs(check))


def limits_refs(check: Check) -> tuple[Ref, ...]:
    """Every reference of the limits of a check, and of the share that multiplies them."""
    times = () if check.times is None else (check.times,)
    return tuple(ref for limit in check.limits for ref in limit_refs(limit)) + times


def percent(policy: Policy, ref: Ref) -> bool:
    """Whether a number is a percentage: of a limit it is taken as a share."""
    parameter = policy.parameters.get(ref.name) if ref.form == "parameter" else None
    return ref.unit == "%" if ref.form == "quantity" else parameter is not None and parameter.unit == "%"


def below(policy: Policy, refs: Iterable[Ref]) -> tuple[Key, ...]:
    """All that references rest on, each once: through figures of figures and the readings by which tables answer."""
    found: dict[Key, None] = {}
    left = deque(refs)
    while left:
        ref = left.popleft()
        key = key_of(policy, ref)
        if key in found or ref.form == "quantity":
            continue
        found[key] = None
        left += parts_of(policy, key)
    return tuple(found)


def key_of(policy: Policy, ref: Ref) -> Key:
    """The block that a reference names; one of the house's is a figure or a field."""
    if ref.form in ("field", "house", "figure"):
        return ("figure" if ref.name in policy.figures else "field"), ref.name
    return ref.form, ref.name


def parts_of(policy: Policy, key: Key) -> Iterator[Ref]:
    """What a figure is made of, or the reading by which a table answers."""
    form, name = key
    if form == "figure":
        figure = policy.figures[name]
        yield from figure.refs
        if figure.take:
            yield Ref("field", figure.take)
    elif form == "table" and name in policy.tables and policy.tables[name].by_unit:
        yield Ref("field", policy.tables[name].by)
