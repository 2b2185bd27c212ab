"""A kept policy's files laid out again from their texts, which are data: a name that is no policy file's is refused."""

import re
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from airwarrant.errors import ArchiveError, Fault

_NAME = "[a-z0-9][a-z0-9-]{0,59}"
_FILE = re.compile(
    rf"markets/{_NAME}\.toml|(?:trade|(?:codes|regions|companies)/{_NAME})/\d{{4}}-\d{{2}}-\d{{2}}/[^/\\:\x00-\x1f]{{1,100}}\.toml"
)


@contextmanager
def policy_folder(texts: Mapping[str, str]) -> Iterator[Path]:
    """Lay the files out in a folder of their own for a while.

    Raises
    ------
    ArchiveError
        If a name is not that of a policy file.
    """
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
