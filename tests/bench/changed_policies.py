"""Shipped policy files with one value changed, without writing a file: whatever composes a policy meanwhile sees the change.

Files are read once. Policies are composed from what was read; engines of rules that did not change are kept.
"""

import hashlib
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import replace
from typing import Any

import pytest
from mutants import Mutant, Source

import airwarrant.policy.cache as caching
import airwarrant.policy.compose as composing
import airwarrant.policy.layers as layering
import airwarrant.rules.concluding as concluding
from airwarrant.errors import Fault, InputError, PolicyError
from airwarrant.policy.compose import compose_sources
from airwarrant.policy.faults import Faults
from airwarrant.policy.files import Sources
from airwarrant.policy.model import Parameter, Policy, Rule
from airwarrant.policy.rights import check_floors
from airwarrant.rules.engine import Engine
from airwarrant.source.document import Document

_COMPOSE = compose_sources


class ChangedPolicies:
    """Stands between policy files and what reads them; one value at a time is another.

    Parameters
    ----------
    files : tuple of Source
        The shipped files; a file with other bytes is read as ever.
    """

    def __init__(self, files: tuple[Source, ...]) -> None:
        # By name too: two files may say the same, each with its own places.
        self._read = {(one.file, one.text): one.document for one in files}
        self._known_texts = {one.text for one in files}
        self._texts = {one.file: one.text for one in files}
        self._whole: set[int] = {id(one.document) for one in files}
        self._engines: dict[str, Engine] = {}
        self._known: dict[int, Engine] = {}
        self._composed: dict[str, Policy] = {}
        self._changed: dict[bytes, Document] = {}
        self._mutant: Mutant | None = None

    @contextmanager
    def installed(self) -> Iterator[None]:
        """Read policy files through this."""
        with pytest.MonkeyPatch.context() as patch:
            plain_loads = tomllib.loads
            plain_read, plain_drop = layering.read_toml, layering._drop_broken

            def read(text: bytes, file: str, *, error: type[InputError]) -> Document:
                changed = self._changed.get(text) if self._mutant and file == self._mutant.file else None
                known = changed or self._read.get((file, text))
                return known or plain_read(text, file, error=error)

            def drop(document: Document, layered: layering.Layered, faults: Faults) -> None:
                if id(document) not in self._whole:
                    plain_drop(document, layered, faults)

            def loads(text: str, **given: Any) -> dict[str, Any]:
                changed = self._changed.get(text.encode())
                return changed.data if changed is not None else plain_loads(text, **given)

            patch.setattr(tomllib, "loads", loads)
            patch.setattr(layering, "read_toml", read)
            patch.setattr(layering, "_drop_broken", drop)
            patch.setattr(composing, "digested", _named)
            for module in (composing, caching):
                patch.setattr(module, "compose_sources", self._compose)
            patch.setattr(concluding, "Engine", self._engine)
            yield

    @contextmanager
    def with_(self, mutant: Mutant) -> Iterator[None]:
        """One value is another."""
        text = self._texts[mutant.file]
        document = self._read[mutant.file, text]
        self._changed, self._mutant = {text: replace(document, data=mutant.data(document))}, mutant
        kept = dict(self._engines)
        try:
            yield
        finally:
            self._changed, self._mutant = {}, None
            for digest in self._engines.keys() - kept.keys():
                # An engine of unchanged rules may have been built meanwhile: it is asked again.
                if mutant.section == "rule" and self._engines[digest] not in self._known.values():
                    self._engines.pop(digest).shut()  # type: ignore[attr-defined]

    @contextmanager
    def unchanged(self) -> Iterator[None]:
        """For a moment every value is itself."""
        kept = self._changed, self._mutant
        self._changed, self._mutant = {}, None
        try:
            yield
        finally:
            self._changed, self._mutant = kept

    def _compose(self, sources: Sources) -> Policy:
        """Compose; a number of a parameter or table is put into the policy as it was, which takes a hundredth of the time."""
        mutant = self._mutant
        plain = all(one.text in self._known_texts for one in sources.files)
        if plain and sources.digest not in self._composed and (mutant is None or mutant.path[2] in ("value", "rows")):
            kept, self._changed = self._changed, {}
            self._composed[sources.digest] = _COMPOSE(sources)
            self._changed = kept
        known = self._composed.get(sources.digest) if plain else None
        if known is None or not (mutant is None or self._simple(mutant)):
            return _COMPOSE(sources)
        if mutant is None or mutant.file not in {one.file for one in sources.files}:
            return known
        return self._with_number(known, mutant)

    @staticmethod
    def _simple(mutant: Mutant) -> bool:
        return (
            mutant.section in ("parameter", "table")
            and mutant.path[2] in ("value", "rows")
            and not isinstance(mutant.now, str | list)
        )

    def _with_number(self, policy: Policy, mutant: Mutant) -> Policy:
        block = (policy.parameters if mutant.section == "parameter" else policy.tables).get(mutant.name)
        if block is None or block.keys[str(mutant.path[2])].place.file != mutant.file:
            return policy  # a later layer has replaced it
        parameters, tables = policy.parameters, policy.tables
        if isinstance(block, Parameter):
            parameters = {**parameters, mutant.name: replace(block, value=float(mutant.now))}
        else:
            rows = [list(row) for row in block.rows]
            rows[int(mutant.path[3])][int(mutant.path[4])] = float(mutant.now)
            keys = [row[0] for row in rows if not isinstance(row[0], str)]
            if keys != sorted(set(keys)):
                raise PolicyError(
                    [Fault("row-order", f"the rows of `{mutant.name}` are out of order", place=mutant.place)]
                )
            tables = {**tables, mutant.name: replace(block, rows=tuple((row[0], float(row[1])) for row in rows))}
        faults = Faults()
        check_floors(parameters, tables, faults)
        if faults:
            raise PolicyError(faults)
        return replace(policy, parameters=parameters, tables=tables)

    def _engine(self, rules: Mapping[str, Rule]) -> Engine:
        if id(rules) in self._known:
            return self._known[id(rules)]
        digest = hashlib.sha256(repr(sorted(rules.items())).encode()).hexdigest()
        if digest not in self._engines:
            self._engines[digest] = _Kept(rules)
        if any(policy.rules is rules for policy in self._composed.values()):
            self._known[id(rules)] = self._engines[digest]
        return self._engines[digest]


class _Kept(Engine):
    """An engine that outlives its evaluator."""

    def close(self) -> None:
        pass

    def shut(self) -> None:
        super().close()


def _named(policy: Policy) -> Policy:
    """A policy with a digest that says no value: a result that repeats the digest has noticed nothing."""
    text: Any = (policy.market.name, policy.layers)
    return replace(policy, digest=hashlib.sha256(repr(text).encode()).hexdigest())
