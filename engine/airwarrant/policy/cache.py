"""Composed policies kept in the process, by the digest of the bytes they were made from."""

from collections import OrderedDict
from collections.abc import Mapping, Sequence
from datetime import date
from pathlib import Path
from threading import Lock

from airwarrant.policy.compose import compose_sources
from airwarrant.policy.files import read_sources
from airwarrant.policy.model import Policy


class PolicyCache:
    """Composes policies of the folders it is given; the same bytes are composed once.

    Parameters
    ----------
    root : Path or sequence of Path
        As for `compose`.
    most : int
        How many composed policies are kept; the one used longest ago goes first.
    """

    def __init__(self, root: Path | Sequence[Path], most: int = 32) -> None:
        self._roots = (root,) if isinstance(root, Path) else tuple(root)
        self._most = most
        self._kept: OrderedDict[str, Policy] = OrderedDict()
        self._lock = Lock()

    def policy(self, market: str, dates: Mapping[str, date | None]) -> Policy:
        """Return the policy of a market at these dates; raises as `compose` does."""
        sources = read_sources(self._roots, market, dates)
        with self._lock:
            kept = self._kept.get(sources.digest)
            if kept is not None:
                self._kept.move_to_end(sources.digest)
                return kept
        policy = compose_sources(sources)
        with self._lock:
            self._kept[sources.digest] = policy
            while len(self._kept) > self._most:
                self._kept.popitem(last=False)
        return policy
