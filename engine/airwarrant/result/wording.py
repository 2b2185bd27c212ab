"""Words for the homeowner and the crew, from policy, with numbers from the verdict table and nothing else."""

import re
from collections.abc import Callable, Mapping
from functools import partial

from airwarrant.policy.model import Sourced

# The full stop after a hole belongs to it: units such as in. w.c. end in one already.
_HOLE = re.compile(r"\{(?:(name)|([a-z][a-z0-9.-]*?)\.(reading|limit|margin|date))\}(\.?)")

#: Wording of a number that was not judged.
_MISSING = "not-measured"
#: (check, part) -> text of the number, or nothing where it was not judged
Numbers = Callable[[str, str], str | None]


def say(
    said: Mapping[str, Mapping[str, Sourced]],
    ids: tuple[str, ...],
    numbers: Numbers,
    name: str,
    language: str = "en",
    otherwise: str = "",
) -> str:
    """Return the text of the first of `ids` that has one, its holes filled.

    ``{name}`` is `name`, the place spoken of; ``{check.reading}``, ``.limit``, ``.margin`` and ``.date`` come from `numbers`.

    A hole whose check was not judged reads as the policy's ``not-measured`` says. The result is plain text; whoever shows it
    escapes it.
    """
    for one in ids:
        texts = said.get(one)
        if texts and language in texts:
            missing = say(said, (_MISSING,), numbers, name, language, "not measured") if one != _MISSING else ""
            fill = partial(_fill, numbers=numbers, name=name, missing=missing)
            return _HOLE.sub(fill, str(texts[language].value))
    return otherwise


def _fill(hole: re.Match[str], numbers: Numbers, name: str, missing: str) -> str:
    text = name if hole[1] else numbers(hole[2], hole[3]) or missing
    return text if text.endswith(".") else text + hole[4]
