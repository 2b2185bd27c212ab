"""The walk over one result that makes the reason trees: from what is asked about to the rules, clauses and numbers behind it."""

from collections.abc import Iterator, Mapping
from typing import Any

from airwarrant.result.why_numbers import NumberRows
from airwarrant.result.why_prices import PriceTree
from airwarrant.result.why_rows import RecordPlaces, Row, place
from airwarrant.result.why_words import ReasonWords
from airwarrant.units import fixed

#: A chain of findings longer than this is cut and said so; policies have a handful.
DEEPEST = 24


class Tree:
    """One reason tree of a result; what it has shown once it names only.

    Parameters
    ----------
    result : mapping
    words : ReasonWords
    apart : bool
        As in `NumberRows`.
    """

    def __init__(self, result: Mapping[str, Any], words: ReasonWords, apart: bool = False) -> None:
        self._result, self._w = result, words
        self._trace = result["trace"]
        self._firings = {f["id"]: f for f in self._trace["firings"]}
        self._findings = {f"{f['finding']}@{f['at']}": f for f in result["findings"]}
        self._places = RecordPlaces(result)
        self._numbers = NumberRows(result, words, apart)
        self._prices = PriceTree(result, words)
        self._shown: set[str] = set()

    @property
    def shown(self) -> frozenset[str]:
        """Firings whose clauses this tree has shown."""
        return frozenset(self._shown)

    def line(self, line: Mapping[str, Any]) -> Iterator[Row]:
        """Why a line stands, or what it waits for; its sizes, its effect and its price."""
        w = self._w
        task = self._trace["tasks"].get(line["task"], {})
        yield Row(0, w("line.head", id=line["id"], title=w.say(line["title"])), place(task), "head")
        state = w(f"line.state.{line['state']}")
        yield Row(1, w("line.stands", tier=w.of(line["tier"]), state=state, order=line["order"]))
        for size in line["sizes"]:
            yield from self._size(size)
        for hold in line["held_by"]:
            yield Row(1, w("line.held_until", until=hold["until"]), mark="note")
            yield from self.firing(hold["firing"], 2)
        for lift in line["lifted_by"]:
            yield Row(1, w("line.lifted", hold=lift["hold"], why=lift["why"]))
            yield from self.firing(lift["firing"], 2)
        if line["round"] > 1:
            yield Row(1, w("line.round", round=line["round"]))
        yield Row(1, w("line.asked"))
        yield from self.firing(line["firing"], 2)
        for lost in line["lost"]:
            tier = w("line.lost_tier", tier=w.of(lost["tier"])) if lost["tier"] else ""
            give = {"firing": lost["firing"], "says": w.of(lost["says"]), "authority": w.of(lost["authority"])}
            yield Row(1, w("line.lost", tier=tier, **give))
        if line["effect"]:
            for label in ("alone", "without"):
                if said := _effect(line["effect"][label]):
                    yield Row(1, w(f"line.{label}", change=said))
        yield from self._prices.line({} if line["state"] == "held" else line["price"])

    def total(self) -> Iterator[Row]:
        """How the price of the whole offer adds up."""
        yield from self._prices.total()

    def declined(self, entry: Mapping[str, Any]) -> Iterator[Row]:
        """Why a line was left out: what was read, the rule that declined it, or the clauses that kept it off."""
        w = self._w
        task = self._trace["tasks"].get(entry["task"], {})
        title = w.say(task.get("title", entry["task"]))
        yield Row(0, w("line.head", id=entry["line"], title=title), place(task), "head")
        yield Row(1, w(f"declined.{entry['how']}", gain=entry.get("gain_pct")))
        if entry["because"]:
            yield Row(1, w("declined.because", because=entry["because"]))
        if entry["readings"]:
            yield Row(1, w("declined.read"))
            for verdict in entry["readings"]:
                yield from self._numbers.verdict(verdict, 2)
        if entry.get("firing"):
            yield Row(1, w("declined.by"))
            yield from self.firing(entry["firing"], 2)
        for rule in entry["would_come_from"]:
            for missed in self._trace["not_fired"]:
                if missed["rule"] == rule and missed["subject"] in (entry["place"], "house") and "failed" in missed:
                    yield from self._missed(missed, 1)

    def hold(self, hold: Mapping[str, Any]) -> Iterator[Row]:
        """What a hold keeps back and why."""
        w = self._w
        yield Row(0, w("hold.head", name=hold["name"], until=hold["until"]), mark="head")
        yield Row(1, w("hold.keeps", lines=", ".join(hold["lines"]) or w("hold.no_line"), of=hold["of"]))
        yield from self.firing(hold["firing"], 1)

    def finding(self, finding: Mapping[str, Any]) -> Iterator[Row]:
        """What concluded a finding."""
        title = self._w.say(finding["title"])
        yield Row(0, self._w("finding.head", finding=finding["finding"], at=finding["at"], title=title), mark="head")
        for firing in finding["firings"]:
            yield from self.firing(firing, 1)

    def firing(self, firing_id: str, depth: int) -> Iterator[Row]:
        """A rule that fired, and every clause that carried it; those only where it is first met."""
        w = self._w
        name, _, subject = firing_id.rpartition("@")
        rule = self._trace["rules"].get(name)
        if rule is None:
            yield Row(depth, firing_id)
            return
        authority, title = w.of(rule["authority"]), w.say(rule["title"])
        text = w("rule.fired", name=name, subject=subject, title=title, authority=authority)
        firing = self._firings.get(firing_id)
        if firing is None:
            yield Row(depth, text + w("rule.earlier"), place(rule), "rule", (name,))
            return
        yield Row(depth, text, place(rule), "rule", (name,))
        if firing_id in self._shown or depth > DEEPEST:
            yield Row(depth + 1, w("rule.shown"))
            return
        self._shown.add(firing_id)
        for field, word in firing["where"].items():
            yield Row(depth + 1, w("rule.where", field=field, word=word), self._places.word(subject, field), "clause")
        if not firing["clauses"] and not firing["where"]:
            yield Row(depth + 1, w("rule.none"))
        for clause in firing["clauses"]:
            if clause["holds"] or clause["part"] == "unless":
                yield from self._clause(clause, depth + 1)

    def _size(self, size: Mapping[str, Any]) -> Iterator[Row]:
        w = self._w
        give = {
            "title": w.say(size["title"]).lower(),
            "many": f"{size['count']} × " if size["count"] > 1 else "",
            "text": w.say(size["text"]) if size["text"] else w("size.unknown"),
            "governed": f", {w('size.governed.' + size['governed'])}" if "governed" in size else "",
            "doubtful": w("size.doubtful") if size["doubtful"] else "",
        }
        yield Row(1, w("size.head", **give), mark="limit")
        shown: list[Any] = []
        if "policy" in size:
            yield from self._numbers.number(size["policy"], 2, w("number.policy"))
        if "calculated" in size:
            take = size["take"]
            said = w("size.calculated", key=take["key"], value=f"{take['value']:g}", unit=take["unit"])
            yield Row(2, said, mark="reading")
            yield from self._calculated(size["calculated"], 3, shown)
        for proof in size["proofs"]:
            yield from self._proof(proof, 2, shown)
        for doubt in size["doubts"]:
            yield Row(2, w("size.doubt", doubt=doubt))

    def _proof(self, proof: Mapping[str, Any], depth: int, shown: list[Any]) -> Iterator[Row]:
        w = self._w
        said = w("size.proof_says", word=w.of(proof["word"]).upper()) if proof["word"] else ""
        value = f": {proof['take']} {proof['value']:g} {proof['unit']}" if "value" in proof else ""
        yield Row(depth, w("size.proof", title=w.say(proof["title"]), said=said, value=value), mark="clause")
        if "limit" in proof:
            label = w("number.limit", must_be=w.of(proof["must_be"]))
            yield from self._numbers.number(proof["limit"], depth + 1, label)
        if "calculated" in proof:
            yield from self._calculated(proof["calculated"], depth + 1, shown)

    def _calculated(self, run: Mapping[str, Any], depth: int, shown: list[Any]) -> Iterator[Row]:
        """A calculation: how to run it again, what it gives, where its numbers come from unless that was shown already."""
        given = " ".join(f"{key}={_plain(value)}" for key, value in run["inputs"].items())
        gives = ", ".join(f"{key} {_plain(value)}" for key, value in run["outputs"].items())
        yield Row(depth, f"{run['calculation']} {given}", mark="reading")
        yield Row(depth, self._w("size.gives", gives=gives, source=run["source"]), mark="note")
        for key, numbers in run["from"].items():
            for number in numbers:
                if number["form"] != "size" and number not in shown:
                    shown.append(number)
                    yield from self._numbers.number(number, depth + 1, key)

    def _missed(self, missed: Mapping[str, Any], depth: int) -> Iterator[Row]:
        rule = self._trace["rules"][missed["rule"]]
        give = {"name": missed["rule"], "subject": missed["subject"], "title": self._w.say(rule["title"])}
        yield Row(depth, self._w("rule.missed", **give), place(rule), "rule", (missed["rule"],))
        for clause in missed["failed"]:
            yield from self._clause(clause, depth + 1)

    def _clause(self, clause: Mapping[str, Any], depth: int) -> Iterator[Row]:
        state = self._w("rule.holds" if clause["holds"] else "rule.fails")
        said = self._w("rule.clause", part=self._w.of(clause["part"]), said=clause["said"], state=state)
        yield Row(depth, said, place(clause), "clause")
        for read in clause["reads"]:
            yield from self._read(read, depth + 1)

    def _read(self, read: Mapping[str, Any], depth: int) -> Iterator[Row]:
        w = self._w
        if "verdict" in read:
            yield from self._numbers.verdict(read["verdict"], depth)
        elif "field" in read:
            field, subject = read["field"], read["subject"]
            said = w("rule.word", field=field, subject=subject, word=read["word"])
            yield Row(depth, said, self._places.word(subject, field), "reading")
        elif "finding" in read:
            there = self._findings.get(read["finding"])
            if there is None:
                yield Row(depth, w("finding.nothing", finding=read["finding"]))
            else:
                yield Row(depth, w("finding.stands", finding=read["finding"]))
                for firing in there["firings"]:
                    yield from self.firing(firing, depth + 1)
        else:
            what = "line" if "line" in read else "carried"
            state = w("rule.present" if read["present"] else "rule.absent")
            yield Row(depth, w(f"rule.{what}", line=read[what], state=state))
            line = next((one for one in self._result["lines"] if what == "line" and one["id"] == read[what]), None)
            if read["present"] and line is not None:
                yield from self.firing(line["firing"], depth + 1)


def _plain(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else str(value)


def _effect(change: Mapping[str, Any]) -> str:
    """Changes of house readings, each with its ±; those that do not move are left out."""
    moved = []
    for name, one in change.items():
        if one["value"]:
            ahead, unit = fixed(one["value"], one["unit"]), one["unit"]
            moved.append(
                f"{name} {'' if ahead.startswith('-') else '+'}{ahead} {unit} ± {fixed(one['plus_minus'], unit)}"
            )
    return ", ".join(moved)
