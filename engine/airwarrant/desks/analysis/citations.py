"""Citations that nobody could look up: an edition without a year or number, a place in a text that is not named."""

from collections.abc import Iterator, Mapping
from typing import Any

from airwarrant.errors import Fault
from airwarrant.policy.basis_shape import UNFILLED
from airwarrant.policy.faults import shown
from airwarrant.policy.model import Policy
from airwarrant.policy.show_prices import book_blocks

#: In an edition: what was read bears no date.
UNDATED = "undated"


def vague_citations(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each published basis whose edition holds no number, or whose citation names no place in a text.

    That a published value has a citation at all, and an adopted one its date, is held when the files are composed. What is
    marked `unconfirmed` says so itself, and `policy check --unverified` lists it.
    """
    sections: dict[str, Mapping[str, Any]] = {
        "parameter": policy.parameters,
        "table": policy.tables,
        "check": policy.checks,
        "rule": policy.rules,
        **book_blocks(policy.prices),
    }
    for section, blocks in sections.items():
        for name, block in blocks.items():
            held = block.keys.get("basis")
            if held is None or held.value.get("kind") != "published" or held.value.get("unconfirmed"):
                continue
            cite, edition = str(held.value.get("cite", "")), str(held.value.get("edition", ""))
            if UNFILLED in (cite, edition):  # told of as unfilled
                continue
            if UNDATED not in edition and not any(sign.isdigit() for sign in edition):
                found = f"the {section} `{name}` cites an edition without a year or number: {shown(edition)}"
                allowed = f'such as edition = "2021", or "page as read, {UNDATED}" of what bears no date'
                yield Fault("vague-citation", found, allowed, held.place, name)
            elif len(cite.split()) < 2 or cite == edition:
                found = f"the {section} `{name}` cites {shown(cite)}, which names no place in a text"
                yield Fault("vague-citation", found, "the text and the section, table or page in it", held.place, name)
