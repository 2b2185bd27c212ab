"""Composing: what the layers of a market say together at given dates."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from datetime import date
from pathlib import Path
from types import MappingProxyType

from airwarrant.errors import Fault, PolicyError
from airwarrant.policy import checks as checking
from airwarrant.policy import rulebook, tasks, values
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.conclusions import concluded
from airwarrant.policy.digest import digested
from airwarrant.policy.faults import Faults
from airwarrant.policy.files import SourceFile, Sources, read_sources
from airwarrant.policy.layers import Layered, read_layers
from airwarrant.policy.model import Policy
from airwarrant.policy.prices import price_book
from airwarrant.policy.references import References
from airwarrant.policy.rights import check_floors, check_rights
from airwarrant.policy.sizes import read_beside
from airwarrant.source.document import Document


def compose(root: Path | Sequence[Path], market: str, dates: Mapping[str, date | None]) -> Policy:
    """Compose the policy of a market.

    Parameters
    ----------
    root : Path or sequence of Path
        The policies folder; of several, a market or layer is taken from the first that holds it.
    market : str
        Name of the market.
    dates : mapping
        ``survey``, ``proposal`` and ``permit`` dates of the job. A missing one falls back to ``survey``; with none
        at all every dated folder applies.

    Returns
    -------
    Policy

    Raises
    ------
    PolicyError
        With every fault of every file that takes part.
    """
    roots = (root,) if isinstance(root, Path) else tuple(root)
    return compose_sources(read_sources(roots, market, dates))


def compose_sources(sources: Sources, read: dict[SourceFile, Document] | None = None, *, digest: bool = True) -> Policy:
    """Compose a policy from files that were read already; otherwise as `compose`. `read` is as for `read_layers`.

    A policy that is only looked at may go without its digest.
    """
    faults = Faults()
    layered = read_layers(sources.files, faults, read)
    policy = _resolved(sources, layered, faults)
    if faults:
        raise PolicyError(faults)
    return digested(policy) if digest else policy


def overdue(sources: Sources, on: date, read: dict[SourceFile, Document] | None = None) -> tuple[Fault, ...]:
    """Return a warning for each file, check and rule whose `review_by` lies before a day. `read` is as for `read_layers`."""
    layered = read_layers(sources.files, Faults(), read)
    dated = list(layered.reviews)
    for section in ("check", "rule"):
        dated += [
            (b.at("review_by"), b.get("review_by")) for b in layered.blocks[section].values() if "review_by" in b.keys
        ]
    return tuple(
        Fault("review-overdue", f"the review was due by {by}", "a later day", place, advice="Review it first.")
        for place, by in sorted(dated)
        if by < on
    )


def _resolved(sources: Sources, layered: Layered, faults: Faults) -> Policy:
    blocks = layered.blocks
    parameters = values.parameters(blocks["parameter"], faults)
    tables = values.tables(blocks["table"], faults)
    for name in sorted(parameters.keys() & tables.keys()):
        faults.note(
            "duplicate-name",
            f"`{name}` is a parameter and a table, also at {parameters[name].place}",
            "one of them",
            place=tables[name].place,
        )
    references = References(parameters, tables, layered, faults)
    beside = read_beside(blocks["table"], tables, references, faults)
    tables |= {name: replace(tables[name], beside=proofs) for name, proofs in beside.items()}
    figures = checking.figures(layered, references, faults)
    checks = checking.checks(layered, references, faults)
    known = concluded((blocks["rule"][name] for name in sorted(blocks["rule"])), blocks["task"])
    reader = ClauseReader(checks, known, layered, faults)
    rules = rulebook.rules(blocks["rule"], reader, references, figures)
    built_tasks = tasks.tasks(blocks["task"], tables, blocks["said"], reader, references)
    said = tasks.wording(blocks["said"], reader)
    prices = price_book(layered, parameters, built_tasks, reader)
    check_rights(layered.changes, blocks, faults)
    check_floors(parameters, tables, faults)
    applied = tuple(dict.fromkeys((file.layer, file.effective) for file in sources.files))
    return Policy(
        market=sources.market,
        parameters=MappingProxyType(parameters),
        tables=MappingProxyType(tables),
        figures=MappingProxyType(figures),
        checks=MappingProxyType(checks),
        rules=MappingProxyType(rules),
        tasks=MappingProxyType(built_tasks),
        said=MappingProxyType({name: MappingProxyType(texts) for name, texts in said.items()}),
        layers=applied,
        digest="",
        prices=prices,
    )
