"""A kept policy composed again from its files' texts, which are data: a name that is no policy file's is refused."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory

from airwarrant.errors import ArchiveError, Fault
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy

_NAME = "[a-z0-9][a-z0-9-]{0,59}"
_FILE = re.compile(
    rf"markets/{_NAME}\.toml|(?:trade|(?:codes|regions|companies)/{_NAME})/\d{{4}}-\d{{2}}-\d{{2}}/[^/\\:\x00-\x1f]{{1,100}}\.toml"
)


def compose_again(texts: Mapping[str, str], market: str, dates: Mapping[str, date | None]) -> Policy:
    """Compose a policy of its files' texts.

    Raises
    ------
    ArchiveError
        If a name is not that of a policy file.
    PolicyError
        If the files do not compose.
    """
    with policy_folder(texts) as folder:
        return compose(folder, market, dates)


@contextmanager
def policy_folder(texts: Mapping[str, str]) -> Iterator[Path]:
    """Lay the files out in a folder of their own for a while."""
    for name, text in texts.items():
        if not _FILE.fullmatch(name) or not isinstance(text, str):
            raise ArchiveError([Fault("damaged-entry", f"`{name[:80]}` is no name of a policy file, or holds no text")])
    with TemporaryDirectory(prefix="airwarrant-") as held:
        folder = Path(held)
        for name, text in texts.items():
            target = folder / name
            target.parent.mkdir(parents=True, exist_ok=True)
            target.write_text(text, encoding="utf-8", newline="")
        yield folder
