"""Verdicts and the numbers behind them as rows of the reason tree, down to the reading and the policy value."""

from collections.abc import Iterator, Mapping
from typing import Any

from airwarrant.result.why_rows import RecordPlaces, Row, place, row_place
from airwarrant.result.why_words import ReasonWords


class NumberRows:
    """Writes verdicts and numbers of one result as rows.

    Parameters
    ----------
    result : mapping
    words : ReasonWords
    apart : bool
        Who set a policy value, its source and what it overrode are told apart from the tree, by its name.
    """

    def __init__(self, result: Mapping[str, Any], words: ReasonWords, apart: bool) -> None:
        self._w, self._apart = words, apart
        self._trace = result["trace"]
        self._verdicts = {v["id"]: v for v in result["verdicts"]}
        self._rests_on = result["predictions"]["rests_on"]
        self._places = RecordPlaces(result)
        self._judged: set[str] = set()
        self._made: set[tuple[object, ...]] = set()

    def verdict(self, verdict_id: str, depth: int) -> Iterator[Row]:
        """A verdict with its reading and limit; those only where it is first met."""
        verdict = self._verdicts.get(verdict_id)
        if verdict is None:
            what = "unpredicted" if verdict_id.endswith("/predicted") else "unjudged"
            yield Row(depth, self._w(f"verdict.{what}", id=verdict_id))
            return
        check = self._trace["checks"][verdict["check"]]
        yield Row(depth, self.headline(verdict), place(check), "clause")
        if verdict_id in self._judged:
            yield Row(depth + 1, self._w("verdict.shown"))
            return
        self._judged.add(verdict_id)
        for missing in verdict.get("missing", ()):
            yield Row(depth + 1, self._w("verdict.missing", missing=missing))
        limit = self._w("number.limit", must_be=self._w.of(check["must_be"]))
        if "reading" in verdict:
            yield from self.number(verdict["reading"], depth + 1, self._w("number.reading"))
        if "limit" in verdict:
            yield from self.number(verdict["limit"], depth + 1, limit)
            others = [c for c in verdict.get("considered", ()) if c != verdict["limit"]]
            for other in others:
                yield from self.number(other, depth + 1, self._w("number.considered"))

    def headline(self, verdict: Mapping[str, Any]) -> str:
        """Say a verdict in one row: check, place, time, word and margin."""
        text = self._w(
            "verdict.says",
            title=self._w.say(self._trace["checks"][verdict["check"]]["title"]),
            of=self._of(verdict["subject"]),
            time="" if verdict["time"] == "found" else f", {self._w.of(verdict['time'])}",
            word=self._w.of(verdict["word"]).upper(),
        )
        known = "margin" in verdict and verdict["word"] != "unmeasured"
        return text + self._margin(verdict) if known else text

    def number(self, number: Mapping[str, Any], depth: int, label: str) -> Iterator[Row]:
        """A number, what its ± is from, and the numbers it is made of."""
        value = (
            f"{number['value']:g}" if self._apart and number["unit"] == "1" else f"{number['value']:g} {number['unit']}"
        )
        form, name = number["form"], number["name"]
        if form in ("parameter", "table"):
            yield from self._policy(name, value, depth, label, number.get("row"))
            return
        at, doubt = "", self._trace["policy"].get(number.get("plus_minus_from", ""))
        give = {"label": label, "name": name, "value": value}
        give["doubt"] = f" ± {number['plus_minus']:g}" if "plus_minus" in number else ""
        if form == "reading":
            by = f", {number['instrument']}" if "instrument" in number else ""
            state = self._w.of(number["state"])
            text = self._w("number.shown", of=self._of(number["subject"]), state=state, by=by, **give)
            at = self._places.reading(number.get("path", ""))
        elif form == "figure":
            text = self._w("number.shown", of="", state=self._w.of(number["step"].replace("_", " ")), by="", **give)
        else:
            text = self._w("number.plain", label=label, value=value)
        of = (number["plus_minus_from"],) if doubt is not None and self._apart else ()
        if self._apart and self._repeated(number):
            yield Row(depth, text + self._w("number.above"), at, "reading", of)
            return
        yield Row(depth, text, at, "reading" if form in ("reading", "figure") else "limit", of)
        if doubt is not None and not self._apart:
            row = next((i for i, row in enumerate(doubt["rows"]) if row[0] == name), None)
            said = self._w("number.doubt_from", title=doubt["title"], name=doubt["name"], layer=doubt["layer"])
            yield Row(depth + 1, said, row_place(doubt, row), "limit")
        elif number.get("plus_minus_from") == "rule":
            yield Row(depth + 1, self._w("number.doubt_by_rule"))
        if number.get("state") in ("predicted", "doubtful") and form == "reading":
            yield from self._predicted(f"{number['subject']}.{name}", depth + 1)
        for part in number.get("parts", ()):
            yield from self.number(part, depth + 1, self._w("number.from"))

    def _repeated(self, number: Mapping[str, Any]) -> bool:
        """Whether this tree has shown what the number is made of."""
        made = bool(number.get("parts")) or number.get("state") in ("predicted", "doubtful")
        key = (number["form"], number["name"], number.get("subject"), number["value"], number.get("plus_minus"))
        if not made or key in self._made:
            return made
        self._made.add(key)
        return False

    def _predicted(self, name: str, depth: int) -> Iterator[Row]:
        """Where the ± of a predicted reading comes from, the largest share first."""
        for one in self._rests_on.get(name, ()):
            known = self._trace["policy"].get(one["input"])
            at = place(known) if known else self._places.reading(one.get("path", ""))
            share, of = f"{100 * one['share']:.0f}", (one["input"],) if known else ()
            yield Row(depth, self._w("number.share", share=share, title=one["title"], input=one["input"]), at, of=of)

    def _policy(self, name: str, value: str, depth: int, label: str, row: int | None) -> Iterator[Row]:
        entry = self._trace["policy"].get(name)
        if entry is None:
            yield Row(depth, self._w("number.plain", label=label, value=f"{name} {value}"), mark="limit")
            return
        where = self._w("number.row", row=row + 1) if row is not None else ""
        title = self._w.say(entry["title"])
        text = self._w("number.known", label=label, title=title, name=name, row=where, value=value)
        if self._apart:
            yield Row(depth, text, row_place(entry, row), "limit", (name,))
            return
        cite = f", {entry['basis']['cite']}" if "cite" in entry["basis"] else ""
        text += self._w("number.set_by", layer=entry["layer"], basis=entry["basis"].get("kind", ""), cite=cite)
        yield Row(depth, text, row_place(entry, row), "limit", (name,))
        for old in entry["overrode"]:
            said = self._w("number.overrode", value=old["value"], layer=old["layer"])
            yield Row(depth + 1, said, place(old))

    def _of(self, subject: str) -> str:
        return "" if subject == "house" else self._w("number.of", subject=subject)

    def _margin(self, verdict: Mapping[str, Any]) -> str:
        margin = verdict["margin"]
        return self._w(
            "verdict.margin",
            margin=f"{abs(margin):g}",
            unit=verdict["reading"]["unit"],
            side=self._w("verdict.inside" if margin >= 0 else "verdict.past"),
            band=f"{verdict['band']:g}",
            chance=f"{verdict['probability']:.2f}",
        )
