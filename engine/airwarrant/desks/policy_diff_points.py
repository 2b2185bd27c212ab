"""One point in which two policies differ, and the block it belongs to."""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import Literal, TypeVar

from airwarrant.desks.policy_diff_voice import Side, Source, Voice, source_of_key
from airwarrant.policy.model import Named
from airwarrant.policy.readers import Readers

Group = Literal["market", "limits", "rules", "work", "prices", "sources", "wording"]
#: Groups by what they mean for a job, most important first; `FOLDED` change nothing on a job.
GROUPS: tuple[Group, ...] = ("market", "limits", "rules", "work", "prices", "sources", "wording")
FOLDED: tuple[Group, ...] = ("sources", "wording")
Kind = Literal["changed", "added", "removed"]
T = TypeVar("T")
_NO_READERS = Readers()


@dataclass(frozen=True, slots=True)
class Point:
    """One thing that differs: `what`, its text on either side (empty where a side has none) with source, and a sentence."""

    what: str
    a: str
    b: str
    a_from: Source | None
    b_from: Source | None
    says: str


@dataclass(frozen=True, slots=True)
class Difference:
    """A block that differs: ``added`` is only on the second side, ``removed`` only on the first.

    `edit` is the stricter right of the two sides. `points` say what a job may notice, `about` what a block says of itself: its
    title, source, right, note and review.
    """

    group: Group
    section: str
    name: str
    title: str
    kind: Kind
    edit: str
    points: tuple[Point, ...]
    about: tuple[Point, ...] = ()
    readers: Readers = _NO_READERS
    #: the strictest authority of the rules that read it; empty where no rule does
    authority: str = ""

    @property
    def sentence(self) -> str:
        return " ".join(point.says for point in self.points or self.about)


def two(voice: Voice, what: str, subject: str, a: tuple[str, Source], b: tuple[str, Source], verb: str = "is") -> Point:
    """A point that both sides have, each with its text and source."""
    return Point(what, a[0], b[0], a[1], b[1], voice.differs(subject, a[0], b[0], a[1], b[1], verb))


def both(
    voice: Voice, what: str, subject: str, texts: tuple[str, str], a: Named, b: Named, *keys: str, verb: str = "is"
) -> Point:
    """A point of two blocks, each with the source of the first of these keys that it has."""
    sources = source_of_key(a, *keys), source_of_key(b, *keys)
    return two(voice, what, subject, (texts[0], sources[0]), (texts[1], sources[1]), verb)


def one(voice: Voice, what: str, side: Side, text: str, source: Source | None, says: str = "") -> Point:
    """A point that only one side has."""
    said = voice.only(side, says or text, source)
    if side is voice.a:
        return Point(what, text, "", source, None, said)
    return Point(what, "", text, None, source, said)


def members(
    voice: Voice,
    what: str,
    a: Iterable[T],
    b: Iterable[T],
    say: Callable[[Side, T], str],
    sources: tuple[Source, Source],
) -> Iterator[Point]:
    """Points for the members of two lists that only one of them has, in the order of the lists."""
    first, second = list(a), list(b)
    for member in second:
        if member not in first:
            yield one(voice, what, voice.b, say(voice.b, member), sources[1])
    for member in first:
        if member not in second:
            yield one(voice, what, voice.a, say(voice.a, member), sources[0])
