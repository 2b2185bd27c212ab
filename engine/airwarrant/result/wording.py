"""Words for the homeowner and the crew, from policy, with numbers from the verdict table and nothing else."""

import re
from collections.abc import Callable, Mapping

from airwarrant.policy.model import Sourced

_HOLE = re.compile(r"\{([a-z][a-z0-9.-]*?)\.(reading|limit|margin)\}")

#: (check, part) -> text of the number, or nothing where it was not judged
Numbers = Callable[[str, str], str | None]


def say(
    said: Mapping[str, Mapping[str, Sourced]],
    ids: tuple[str, ...],
    numbers: Numbers,
    language: str = "en",
    otherwise: str = "",
) -> str:
    """Return the text of the first of `ids` that has one, its holes filled.

    A hole whose check was not judged reads ``not measured``. The result is plain text; whoever shows it escapes it.
    """
    for name in ids:
        texts = said.get(name)
        if texts and language in texts:
            return _HOLE.sub(lambda hole: numbers(hole[1], hole[2]) or "not measured", str(texts[language].value))
    return otherwise
