"""What a policy says without having been verified: from memory, from one source, or cited too thinly to be found."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields
from typing import Any

from airwarrant.policy.model import Named, Policy
from airwarrant.source.place import Place


@dataclass(frozen=True, slots=True)
class Unverified:
    """A block of policy whose basis is to be verified.

    `lacks` says what: ``unconfirmed``, ``no cite``, ``no edition``; `code` whether it is adopted law.
    """

    section: str
    name: str
    title: str
    lacks: tuple[str, ...]
    cite: str
    code: bool
    layer: str
    place: Place


def unverified(policy: Policy) -> tuple[Unverified, ...]:
    """Return every value, check, rule or price of a policy whose basis is to be verified, by where the basis stands."""
    found = [one for section, block in _blocks(policy) if (one := _look(section, block)) is not None]
    return tuple(sorted(found, key=lambda one: (one.place, one.section, one.name)))


def _blocks(policy: Policy) -> Iterator[tuple[str, Named]]:
    for part in fields(policy):
        held = getattr(policy, part.name)
        if isinstance(held, Mapping):
            for block in held.values():
                if isinstance(block, Named):
                    yield part.name.removesuffix("s"), block


def _look(section: str, block: Named) -> Unverified | None:
    given = block.keys.get("basis")
    if given is None:
        return None
    basis: Mapping[str, Any] = given.value
    lacks: tuple[str, ...] = ("unconfirmed",) if basis.get("unconfirmed") else ()
    if basis.get("kind") == "published":
        lacks += tuple(f"no {key}" for key in ("cite", "edition") if not basis.get(key))
    if not lacks:
        return None
    return Unverified(
        section,
        block.name,
        str(getattr(block, "title", "")),
        lacks,
        str(basis.get("cite", "")),
        "adopted" in basis or given.layer.startswith("codes/"),
        given.layer,
        given.place,
    )
