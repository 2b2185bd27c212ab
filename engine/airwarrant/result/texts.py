"""Texts of one run: policy wording with the run's own numbers in its holes."""

from collections.abc import Mapping

from airwarrant.policy.tasks import READERS
from airwarrant.result.wording import say
from airwarrant.rules.numbers import Number
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Run
from airwarrant.units import fixed

#: The language a result is written in, and those its texts are carried in beside it.
FIRST, OTHERS = "en", ("es",)
#: Blocks of wording that belong to no line, finding or caution: what every paper of a job may say.
_OF_PAPERS = ("heading-", "term-", "paper-")
_TITLE = "title"


class Texts:
    """Texts of one run, filled from its verdicts; it remembers what each reads in the other languages."""

    def __init__(self, run: Run) -> None:
        self._run = run
        self._also: dict[str, dict[str, str]] = {language: {} for language in OTHERS}

    def say(self, ids: tuple[str, ...], place: str = "house", otherwise: str = "") -> str:
        """Return the text of the first of `ids` that has one, else `otherwise`."""
        text = self._say(ids, place, otherwise, FIRST)
        for language, known in self._also.items():
            other = self._say(ids, place, "", language)
            if text and other:
                known.setdefault(text, other)
        return text

    def listing(self, ids: tuple[str, ...], items: Mapping[str, str], otherwise: str = "") -> str:
        """Return a text that ends in a list; each item stands with what it is called in every other language."""
        base = self.say(ids, otherwise=otherwise)
        text = f"{base.rstrip('.')}: {'; '.join(items)}."
        for known in self._also.values():
            if base in known:
                known.setdefault(text, f"{known[base].rstrip('.')}: {'; '.join(dict.fromkeys(items.values()))}.")
        return text

    def readers(self, ids: tuple[str, ...]) -> str:
        """Return whom the first of `ids` that has a text is for: ``crew``, ``homeowner``, or empty for everybody."""
        block = next((self._run.policy.said[one] for one in ids if one in self._run.policy.said), {})
        return str(block[READERS].value) if READERS in block else ""

    def title(self, section: str, name: str, title: str) -> str:
        """Return a title as it is; what it is called in another language stands in ``title.<section>.<name>``."""
        return self.say((f"{_TITLE}.{section}.{name}",), otherwise=title)

    def of_papers(self) -> dict[str, str]:
        """Wording of the papers, by id."""
        return {name: self.say((name,)) for name in self._run.policy.said if name.startswith(_OF_PAPERS)}

    def languages(self) -> dict[str, dict[str, str]]:
        """Texts said so far: by language, from the text in the first language."""
        return {language: dict(sorted(known.items())) for language, known in self._also.items()}

    def _say(self, ids: tuple[str, ...], place: str, otherwise: str, language: str) -> str:
        def numbers(check: str, part: str) -> str | None:
            verdicts = self._run.verdicts
            verdict = verdicts.get((check, "found", place)) or verdicts.get((check, "found", "house"))
            return self._part(verdict, part)

        item = self._run.record.items.get(place)
        name = item.name if item is not None and item.name else place.replace("-", " ")
        return say(self._run.policy.said, ids, numbers, name, language, otherwise)

    def _part(self, verdict: Verdict | None, part: str) -> str | None:
        if verdict is None or verdict.reading is None:
            return None
        if part == "reading":
            return verdict.reading.text()
        if part == "date":
            return self._date(verdict.reading)
        if verdict.limit is None or verdict.margin is None:
            return None
        value = verdict.limit.value if part == "limit" else abs(verdict.margin)
        return f"{fixed(value, verdict.reading.unit)} {verdict.reading.unit}"

    def _date(self, number: Number) -> str | None:
        """Day of the visit of a reading; of a figure, of its first part that was read on a visit."""
        index = number.reading.visit if number.reading is not None else None
        if index is not None:
            return next(str(visit.date) for visit in self._run.record.visits if visit.index == index)
        return next((day for part in number.parts if (day := self._date(part))), None)
