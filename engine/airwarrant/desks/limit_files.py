"""Files of cases at every limit: marked as written by the program, so that what somebody edits by hand is never lost."""

from collections.abc import Collection
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

from airwarrant.desks.limit_cases import LimitCases
from airwarrant.desks.policy_save import save
from airwarrant.policy.cases import LIMITS
from airwarrant.policy.files import read_bytes

_HEAD = """# A reading at, just within and just beyond each limit, and what its check says of it: a limit that moves meets one of them.
# Written by `airwarrant policy cases`, which leaves alone a file that somebody has edited. Cases of your own: beside this folder.
"""
_MARK = "# mark "


@dataclass(frozen=True, slots=True)
class Written:
    """What became of one file.

    Attributes
    ----------
    file : str
    cases : int
    how : {"new", "changed", "same", "left", "replaced", "empty"}
        `left`: somebody edited it, so it was not written; `replaced`: that too, and it was; `empty`: on file, but no limit is left for it.
    otherwise : int
        Cases of it that were not on file in the same words.
    """

    file: str
    cases: int
    how: str
    otherwise: int = 0


def write_limits(folder: Path, found: LimitCases, layers: Collection[str], *, replace: bool) -> tuple[Written, ...]:
    """Write the files of some layers, all or none.

    Parameters
    ----------
    folder : Path
        Written below it, in ``cases/limits``.
    found : LimitCases
    layers : collection of str
        Whose files are written.
    replace : bool
        Whether a file that was edited by hand is written too.

    Raises
    ------
    CallError
        If they cannot be written; every file is then as it was.
    """
    texts, told = {}, []
    for file in found.files:
        if file.layer not in layers:
            continue
        new, path = marked(file.text), folder / file.name
        # A text that is damaged is one that somebody edited.
        old = read_bytes(folder, path).decode("utf-8", "replace") if path.is_file() else None
        by_hand = old is not None and edited(old)
        how = "same" if old == new else "new" if old is None else "changed"
        if by_hand:
            how = "replaced" if replace else "left"
        if how not in ("same", "left"):
            texts[file.name] = new
        told.append(Written(file.name, file.cases, how, _otherwise(new, old)))
    for path in sorted((folder / LIMITS).glob("*.toml")):
        name = f"{LIMITS}/{path.name}"
        if all(file.name != name for file in found.files):
            told.append(Written(name, 0, "empty"))
    save(folder, texts)
    return tuple(told)


def marked(text: str) -> str:
    """A file's text with the mark of what it says."""
    return f"{_HEAD}{_MARK}{_digest(text)}\n\n{text}"


def edited(text: str) -> bool:
    """Whether a text is not as it was written: changed below the mark, or with none."""
    _, found, after = text.partition(_MARK)
    mark, _, rest = after.partition("\n\n")
    return not found or mark != _digest(rest)


def _digest(text: str) -> str:
    return sha256(text.encode()).hexdigest()[:16]


def _otherwise(new: str, old: str | None) -> int:
    """How many cases say something that the file on disk does not."""
    known = _said(old) if old is not None else frozenset()
    return len(_said(new) - known)


def _said(text: str) -> frozenset[str]:
    # A comment says where a value stands: a line more above it changes no case.
    blocks = text.split("[[case]]\n")[1:]
    return frozenset("\n".join(line for line in block.splitlines() if line and line[0] != "#") for block in blocks)
