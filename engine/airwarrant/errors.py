"""Every error of airwarrant.

AirwarrantError
├── InputError          the input or the call is wrong; exit status 2
│   ├── PolicyError     a policy file
│   ├── RecordError     a job record
│   ├── ResultError     a stored result file
│   ├── ArchiveError    the archive of kept jobs, or an export of one
│   └── CallError       the command line or a calculation's keys
├── EngineFault         a fault of the program; exit status 3
└── AirFault            the air network was not solved; exit status 3
"""

from collections.abc import Iterable
from dataclasses import dataclass
from difflib import get_close_matches

from airwarrant.source.place import Place


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

    def __str__(self) -> str:
        head = f"{self.place}: " if self.place else ""
        field = f"{self.field}: " if self.field else ""
        text = f"{head}{field}{self.found}"
        if self.allowed:
            text += f"; allowed: {self.allowed}"
        if self.advice:
            text += f". {self.advice}"
        return f"{text} [{self.code}]"


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
    """A page of a paper is not what a page must be; no file is written in its place."""
