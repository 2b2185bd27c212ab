"""Every error of airwarrant.

AirwarrantError
├── InputError          the input or the call is wrong; exit status 2
│   ├── PolicyError     a policy file
│   ├── RecordError     a job record
│   ├── ResultError     a stored result file
│   ├── ArchiveError    the archive of kept jobs, or an export of one
│   └── CallError       the command line or a calculation's keys
├── EngineFault         a fault of the program; exit status 3
├── AirFault            the air network was not solved; exit status 3
└── PaperFault          a page of a paper is not what it must be; exit status 3
"""

import errno
from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from airwarrant.source.place import Place

#: A list of allowed words is shown up to so many characters, if it has so many words.
_LONGEST_LIST, _FEWEST, _LONGEST_WORD = 80, 6, 30
#: Why a file is not read, as a person says it.
_UNREAD = {
    errno.ENOENT: "there is no such file",
    errno.EISDIR: "it is a folder",
    errno.ENOTDIR: "a part of its path is a file",
    errno.EACCES: "it may not be read with these rights",
    errno.EPERM: "it may not be read with these rights",
    errno.ENAMETOOLONG: "its name is too long",
    errno.ELOOP: "it is a link that leads to itself",
}


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong with an input.

    Attributes
    ----------
    code : str
        Short, stable name of the kind of fault, such as ``unknown-name``.
    found : str
        What stands there.
    allowed : str
        What may stand there.
    place : Place or None
        Where it stands.
    field : str
        Dotted name of the field, such as ``visit[0].room[bed-2].flow``.
    advice : str
        What to do about it.
    """

    code: str
    found: str
    allowed: str = ""
    place: Place | None = None
    field: str = ""
    advice: str = ""

    def sentence(self) -> str:
        """What is wrong, what may stand there and what to do, in whole sentences; without place, field and code."""
        text = self.found + (f"; allowed: {_shortened(self.allowed)}" if self.allowed else "")
        parts = [_ended(text if self.field else _begun(text)), *([_ended(_begun(self.advice))] if self.advice else [])]
        return " ".join(parts)

    def __str__(self) -> str:
        head = f"{self.place}: " if self.place else ""
        field = f"{self.field}: " if self.field else ""
        return f"{head}{field}{self.sentence()} [{self.code}]"


def _begun(text: str) -> str:
    """With a capital, unless it begins with a name of the record or the policy."""
    first = text.split(maxsplit=1)[0] if text.split() else ""
    return text[0].upper() + text[1:] if first.removesuffix(",").removesuffix(":").isalpha() else text


def _ended(text: str) -> str:
    return text if text.endswith((".", "?", "!", "…")) else f"{text}."


def _shortened(allowed: str) -> str:
    """A long list of plain words cut to its beginning, with their number."""
    words = allowed.split(", ")
    if len(allowed) <= _LONGEST_LIST or len(words) < _FEWEST or max(map(len, words)) > _LONGEST_WORD:
        return allowed
    shown = [word for number, word in enumerate(words) if len(", ".join(words[: number + 1])) <= _LONGEST_LIST]
    return f"{', '.join(shown)} and {len(words) - len(shown)} more"


class AirwarrantError(Exception):
    """Base of all errors that airwarrant raises on purpose."""

    exit_status = 3


class InputError(AirwarrantError):
    """The input or the call is wrong; carries every fault that was found."""

    exit_status = 2

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(
            sorted(set(faults), key=lambda f: (f.place is None, f.place or Place("", 0, 0), f.field, f.code, f.found))
        )
        super().__init__("\n".join(map(str, self.faults)))


class PolicyError(InputError):
    """A policy file is wrong."""


class RecordError(InputError):
    """A job record is wrong."""


class ResultError(InputError):
    """A stored result cannot be read."""


class ArchiveError(InputError):
    """The archive of kept jobs, or an export of one, cannot be used."""


class CallError(InputError):
    """The command line, or a key of a calculation, is wrong."""


class EngineFault(AirwarrantError):
    """The rule engine did something that must not happen; nothing it said is used.

    Attributes
    ----------
    code : str
        Stable name: ``facts-dropped``, ``duplicate-id``, ``runaway``, ``evaluators-differ``, ``engine-refused``.
    """

    def __init__(self, code: str, text: str) -> None:
        self.code = code
        super().__init__(f"{text} [{code}]")


def nearest(word: str, known: Iterable[str]) -> str:
    """Return advice that names the nearest known word, or an empty string."""
    match = get_close_matches(word, list(known), n=1, cutoff=0.6)
    return f"Did you mean `{match[0]}`?" if match else ""


def unread(error: OSError) -> str:
    """Why a file cannot be read, in plain words."""
    return _UNREAD.get(error.errno or 0, "the disk does not give it")


class AirFault(AirwarrantError):
    """The air network of a house was not solved; no number stands in its place.

    Attributes
    ----------
    code : str
        ``network-not-solved``.
    network : object
        The network as it was given to the solver.
    """

    def __init__(self, code: str, text: str, network: object) -> None:
        self.code = code
        self.network = network
        super().__init__(f"{text} [{code}]")


class PaperFault(AirwarrantError):
    """A page of a paper is not what a page must be; no file is written in its place.

    Attributes
    ----------
    code : str
        ``page-refers-outside``.
    """

    def __init__(self, code: str, text: str) -> None:
        self.code = code
        self._text = text
        super().__init__(f"{text} [{code}]")

    def __reduce__(self) -> tuple[type["PaperFault"], tuple[str, str]]:
        # Pages are printed in processes of their own.
        return type(self), (self.code, self._text)
