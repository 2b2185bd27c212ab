"""The whole analysis: what one market's policy shows by itself, and what only all markets together show."""

from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path

from airwarrant.desks.analysis.citations import vague_citations
from airwarrant.desks.analysis.codes import CODES
from airwarrant.desks.analysis.covered import kind_gaps, region_gaps, set_by_region
from airwarrant.desks.analysis.fires import Fires, Known
from airwarrant.desks.analysis.hazards import hazards_unknown
from airwarrant.desks.analysis.layers import layers_out_of_date
from airwarrant.desks.analysis.look_alikes import look_alikes
from airwarrant.desks.analysis.odd_limits import odd_limits
from airwarrant.desks.analysis.overrides import same_overrides
from airwarrant.desks.analysis.shadowed import shadowed
from airwarrant.desks.analysis.tables import table_gaps
from airwarrant.desks.analysis.unreachable import unreachable
from airwarrant.desks.analysis.unread import unread
from airwarrant.desks.contradictions import contradictions
from airwarrant.errors import Fault, PolicyError
from airwarrant.policy.files import SourceFile, Sources
from airwarrant.policy.model import Policy
from airwarrant.source.document import Document
from airwarrant.source.place import Place


class Analysis:
    """Looks at the markets of a folder one after the other, then at all of them together.

    Parameters
    ----------
    roots : sequence of Path
        Policy folders; only layers of the first are told of as unread, for the others are not the owner's to change.
    on : date, optional
        Day on which layers must have begun and not be overdue; without it neither is asked.

    Attributes
    ----------
    read : dict
        Files that were read; whoever composes the markets fills it.
    """

    def __init__(self, roots: Sequence[Path] = (), on: date | None = None) -> None:
        self._roots = tuple(roots)
        self._on = on
        self.read: dict[SourceFile, Document] = {}
        self._known = Known()
        self._unread: dict[tuple[str, Place], Fault] = {}
        self._seen: set[tuple[str, Place]] = set()
        self._regions: dict[str, tuple[Place, frozenset[str]]] = {}

    def market(self, policy: Policy, sources: Sources | None = None) -> tuple[Fault, ...]:
        """Return the warnings of one composed policy.

        Raises
        ------
        PolicyError
            With every error of it.
        """
        fires = Fires(policy, self._known)
        found = [
            *(one.fault() for one in contradictions(policy)),
            *unreachable(policy, fires, sources),
            *hazards_unknown(policy),
            *shadowed(policy, fires),
            *table_gaps(policy),
            *odd_limits(policy),
            *kind_gaps(policy),
            *same_overrides(policy),
            *vague_citations(policy),
            *look_alikes(policy),
        ]
        self._note_unread(policy)
        for layer, names in set_by_region(policy).items():
            self._regions.setdefault(layer, (policy.market.place, names))
        if errors := [fault for fault in found if CODES[fault.code] == "error"]:
            raise PolicyError(errors)
        return tuple(found)

    def layers(self, sources: Sources) -> tuple[Fault, ...]:
        """Return the warnings of the layers of a market; `sources` holds the files of every date."""
        return tuple(layers_out_of_date(sources, self._on, self.read)) if self._on is not None else ()

    def together(self) -> tuple[Fault, ...]:
        """Return the warnings that only all markets together show."""
        return (*self._unread.values(), *region_gaps(self._regions))

    def _note_unread(self, policy: Policy) -> None:
        """Keep as unread what no market so far reads."""
        now = {(fault.field, fault.place): fault for fault in unread(policy) if fault.place is not None}
        blocks: Iterable[tuple[str, Place, str]] = (
            (one.name, one.place, one.layer)
            for held in (policy.parameters, policy.tables, policy.figures, policy.checks)
            for one in held.values()
        )
        for name, place, layer in blocks:
            key = (name, place)
            if key not in self._seen:
                self._seen.add(key)
                if key in now and self._own(layer):
                    self._unread[key] = now[key]
            elif key not in now:
                self._unread.pop(key, None)

    def _own(self, layer: str) -> bool:
        return not self._roots or (self._roots[0] / layer).is_dir()
