"""One result as the papers read it: nothing here computes, it looks up what the result holds and says it in one language."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.papers.numbers import amount, span
from airwarrant.papers.words import Words

HOUSE = "house"
_MONEY = "money"
STANDING = ("scoped", "earlier")
#: Authorities of the rules, what weighs most first.
AUTHORITIES = ("safety", "code", "listing", "data", "exclusion", "practice")


@dataclass(frozen=True, slots=True)
class Whose:
    """Whose limit a number is: `kind` a word of ``whose``, `cite` where policy has one, and whether it is yet to be confirmed."""

    kind: str
    cite: str
    unconfirmed: bool


def ends(one: Mapping[str, Any]) -> tuple[float, float]:
    """Return the ends of a predicted reading: of its draws where they were made, else of its ±."""
    value, wide = one["value"], one["plus_minus"]
    return one.get("low", value - wide), one.get("high", value + wide)


def cited(basis: Mapping[str, Any]) -> str:
    """Return what a value of policy is cited from, with its edition; empty where it has no source."""
    return ", ".join(filter(None, (basis.get("cite", ""), basis.get("edition", ""))))


class Sheet:
    """A result and a language.

    Parameters
    ----------
    result : mapping
        A result document, as `airwarrant.result.serial.read_result` gives it.
    words : Words
    """

    def __init__(self, result: Mapping[str, Any], words: Words) -> None:
        self.result = result
        self.words = words
        self._said: Mapping[str, str] = result["languages"].get(words.language, {})
        self._verdicts = {one["id"]: one for one in result["verdicts"]}
        self.currency = str(result["market"]["currency"])

    @property
    def offered(self) -> str:
        """Day of the offer; empty where the record names none or nothing may be offered."""
        dates = self.result["dates"]
        if self.result["sellable"]["answer"] != "yes" or "proposal" in dates.get("fell_back_to_survey", ()):
            return ""
        return str(dates["proposal"])

    def say(self, text: str) -> str:
        """Return a text of the result in the papers' language; as it stands where the policy has no other."""
        return self._said.get(text, text)

    def text(self, name: str) -> str:
        """Return a wording of the papers from policy; empty where the policy has none."""
        return self.say(self.result["texts"].get(name, ""))

    def place(self, key: str) -> str:
        """Return what people call a place: its own name, else its id with spaces."""
        if key == HOUSE:
            return self.words("place.house")
        item = self.result["record"]["items"].get(key)
        return str(item["name"]) if item and item["name"] else key.replace("-", " ")

    def places(self, keys: Iterable[str]) -> list[str]:
        """Return what people call places, once each; none for the whole house."""
        return list(dict.fromkeys(self.place(key) for key in keys if key != HOUSE))

    def at(self, keys: Iterable[str]) -> str:
        """Return them in brackets, to stand behind a sentence; empty for the whole house."""
        places = self.places(keys)
        return f" ({', '.join(places)})" if places else ""

    def fact(self, key: str, field: str) -> str:
        """Return the closed word of a fact; empty where the record does not say."""
        item = self.result["record"]["items"].get(key, {})
        return str(item.get("facts", {}).get(field, {}).get("word", ""))

    def number(self, key: str, field: str) -> str:
        """Return a number of the record with its unit; empty where the record does not say."""
        fact = self.result["record"]["items"].get(key, {}).get("facts", {}).get(field, {})
        return amount(fact["value"], fact["unit"]) if "value" in fact else ""

    def verdict(self, check: str, place: str = HOUSE, time: str = "found") -> Mapping[str, Any] | None:
        """Return a verdict, None where that check was not judged."""
        return self._verdicts.get(f"{check}@{place}/{time}")

    def offer_line(self, id: str) -> str:
        """Return what a line is called, also one that does not stand: by its task's title and place."""
        if any(line["id"] == id for line in self.result["lines"]):
            return self.line_name(id)
        task, _, place = id.partition("@")
        title = self.say(self.result["trace"]["tasks"].get(task, {}).get("title", task))
        return title if place == HOUSE else f"{title}, {self.place(place)}"

    def verdicts_on(self, key: str, field: str) -> list[Mapping[str, Any]]:
        """Return the verdicts on one reading as it was found."""
        return [
            one
            for one in self.verdicts_at(key)
            if (reading := one.get("reading")) and (reading["name"], reading.get("subject")) == (field, key)
        ]

    def verdict_on(self, key: str, field: str) -> Mapping[str, Any] | None:
        """Return the first verdict with a limit on one reading as it was found."""
        return next((one for one in self.verdicts_on(key, field) if one.get("limit")), None)

    def verdicts_at(self, key: str) -> list[Mapping[str, Any]]:
        """Return the verdicts of a place on what was found."""
        return [one for one in self.result["verdicts"] if one["subject"] == key and one["time"] == "found"]

    def promised(self, key: str) -> list[Mapping[str, Any]]:
        """Return, as it was found, each thing of a place that test-out is held to."""
        found = (self.verdict(one["check"], key) for one in self.result["acceptance"] if one["place"] == key)
        return [one for one in found if one is not None and one.get("reading")]

    def line_name(self, id: str) -> str:
        """Return what a line is called: its title, and its place where it is not the whole house."""
        line = self.line(id)
        title = self.say(line["title"])
        return title if line["place"] == HOUSE else f"{title}, {self.place(line['place'])}"

    def reading(self, verdict: Mapping[str, Any]) -> str:
        """Return the reading of a verdict with its unit."""
        one = verdict["reading"]
        return amount(one["value"], one["unit"])

    def limit(self, verdict: Mapping[str, Any]) -> str:
        """Return the limit of a verdict with its unit."""
        one = verdict["limit"]
        return amount(one["value"], one["unit"])

    def whose(self, verdict: Mapping[str, Any]) -> Whose:
        """Say whose limit a verdict was judged by: the maker's label, a published text, the company's own."""
        return self._whose(verdict.get("limit") or {})

    def _whose(self, number: Mapping[str, Any]) -> Whose:
        """A value of the policy is whose its basis says; a number of the equipment is its label's; any other is the house's own."""
        held = self.result["trace"]["policy"].get(str(number.get("name", "")))
        if held is not None:
            basis = held["basis"]
            kind = "law" if held["layer"].startswith("codes/") else str(basis["kind"])
            return Whose(kind, cited(basis), basis.get("unconfirmed") == str(True))
        parts = [self._whose(part) for part in number.get("parts", ())]
        if parts:
            return min(parts, key=lambda one: (one.kind == "record", one.kind == "label"))
        path = str(number.get("path", ""))
        return Whose("label" if path.startswith(("old.", "new.")) else "record", "", False)

    def lines(self, *states: str) -> list[Mapping[str, Any]]:
        """Return the lines in these states, in the order of work."""
        return [line for line in self.result["lines"] if line["state"] in states]

    def line(self, id: str) -> Mapping[str, Any]:
        """Return a line by its id."""
        return next(line for line in self.result["lines"] if line["id"] == id)

    def predicted(self, option: Mapping[str, Any] | None, key: str, field: str) -> str:
        """Return a predicted reading as a range; empty where it is not predicted."""
        readings = (option or {}).get("readings", {})
        return self.range(readings.get(key, {}).get(field))

    def range(self, one: Mapping[str, Any] | None) -> str:
        """Return a predicted reading as a range; empty where it is not predicted."""
        if one is None:
            return ""
        unit = self.currency if one["unit"] == _MONEY else one["unit"]
        return span(*ends(one), unit, to=self.words("base.to"))

    def visits(self, *kinds: str) -> Iterator[Mapping[str, Any]]:
        """Visits of these kinds, all without any, in the order of their dates."""
        for visit in self.result["record"]["visits"]:
            if not kinds or visit["kind"] in kinds:
                yield visit
