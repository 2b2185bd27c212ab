"""A subject: one thing of the job that rules speak of."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

from airwarrant.job.dictionary import UNKNOWN


@dataclass(frozen=True, slots=True)
class Subject:
    """One thing of the job: the house or an item of the record.

    `words` holds its closed-word fields; `links` the keys of the items it names. An absent word reads ``unknown``.
    """

    kind: str
    key: str
    words: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))
    links: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def word(self, name: str) -> str:
        return self.words.get(name, UNKNOWN)
