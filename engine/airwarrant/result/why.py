"""The reason tree of a line, a declined line, a hold or a finding: rendered from the result alone, never computed again."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import Fault, ResultError, nearest
from airwarrant.result.why_prices import PriceTree
from airwarrant.units import fixed

#: A chain of findings longer than this is cut and said so; policies have a handful.
DEEPEST = 24
#: What the whole price goes by.
TOTAL = "total"
_GOVERNED = {
    "table": "as policy says",
    "calculation": "as calculated",
    "proof": "the next one up that passes its proofs",
    "several": "several of equal size in place of one",
    "room": "the most there is room for",
}


@dataclass(frozen=True, slots=True)
class Row:
    """One row of the tree: `depth` from 0, the text, where it is written down, and what sort of row it is.

    `mark` is ``head, rule, clause, reading, limit, note``; a reader who sees no colour loses nothing by it.
    """

    depth: int
    text: str
    place: str = ""
    mark: str = "note"


def why(result: Mapping[str, Any], name: str) -> list[Row]:
    """Return the rows that explain `name`.

    Parameters
    ----------
    result : mapping
        A result document.
    name : str
        ``task@place`` of a line or declined line, the name of a hold, ``finding@place``, or ``total`` for the whole price.

    Raises
    ------
    ResultError
        If the result speaks of no such thing; the nearest name is given.
    """
    tree = _Tree(result)
    if name == TOTAL:
        return list(tree.total())
    for line in result["lines"]:
        if name in (line["id"], line["task"]):
            return list(tree.line(line))
    for entry in result["declined"]:
        if name == entry["line"]:
            return list(tree.declined(entry))
    for hold in result["holds"]:
        if name == hold["name"]:
            return list(tree.hold(hold))
    for finding in result["findings"]:
        if name in (f"{finding['finding']}@{finding['at']}", finding["finding"]):
            return list(tree.finding(finding))
    known = [line["id"] for line in result["lines"]] + [d["line"] for d in result["declined"]]
    known += [TOTAL] + [h["name"] for h in result["holds"]] + [f"{f['finding']}@{f['at']}" for f in result["findings"]]
    advice = nearest(name, known) or f"The lines of this result: {', '.join(line['id'] for line in result['lines'])}."
    raise ResultError([Fault("unknown-line", f"nothing called `{name}` in this result", advice=advice)])


class _Tree:
    """Walks one result."""

    def __init__(self, result: Mapping[str, Any]) -> None:
        self._result = result
        self._trace = result["trace"]
        self._verdicts = {v["id"]: v for v in result["verdicts"]}
        self._firings = {f["id"]: f for f in self._trace["firings"]}
        self._findings = {f"{f['finding']}@{f['at']}": f for f in result["findings"]}
        self._record = result["program"]["record"]
        self._shown: set[str] = set()
        self._judged: set[str] = set()
        self._prices = PriceTree(result, self._item, self._position)

    def line(self, line: Mapping[str, Any]) -> Iterator[Row]:
        state = {
            "scoped": "in the scope",
            "held": "held: it cannot be offered yet",
            "earlier": "scoped before the newest visit; its readings no longer ask for it",
        }[line["state"]]
        task = self._trace["tasks"].get(line["task"], {})
        yield Row(0, f"{line['id']} — {line['title']}", _place(task), "head")
        yield Row(1, f"{line['tier']}, {state}, number {line['order']} in the order of work")
        for size in line["sizes"]:
            yield from self._size(size)
        for hold in line["held_by"]:
            yield Row(1, f"held until: {hold['until']}", mark="note")
            yield from self._firing(hold["firing"], 2)
        for lift in line["lifted_by"]:
            yield Row(1, f"hold “{lift['hold']}” lifted: {lift['why']}")
            yield from self._firing(lift["firing"], 2)
        if line["round"] > 1:
            yield Row(1, f"asked for in round {line['round']}, after a prediction of the scope so far")
        yield Row(1, "asked for by")
        yield from self._firing(line["firing"], 2)
        for lost in line["lost"]:
            tier = f" ({lost['tier']})" if lost["tier"] else ""
            yield Row(1, f"also voted: {lost['firing']} says {lost['says']}{tier}, authority {lost['authority']}")
        if line["effect"]:
            alone, without = line["effect"]["alone"], line["effect"]["without"]
            for label, change in (("predicted alone", alone), ("if left out of this scope", without)):
                if said := _effect(change):
                    yield Row(1, f"{label}: {said}")
        for depth, text, place in self._prices.line({} if line["state"] == "held" else line["price"]):
            yield Row(depth, text, place)

    def total(self) -> Iterator[Row]:
        for depth, text, place in self._prices.total():
            yield Row(depth, text, place)

    def declined(self, entry: Mapping[str, Any]) -> Iterator[Row]:
        said = {
            "declined": "not needed: a rule says no",
            "left-out": "left out by the homeowner or the estimator",
            "no-gain": f"left out: predicted gain {entry.get('gain_pct')} % is under the policy's floor",
            "not-called-for": "not called for: no rule asked for it",
        }[entry["how"]]
        task = self._trace["tasks"].get(entry["task"], {})
        yield Row(0, f"{entry['line']} — {task.get('title', entry['task'])}", _place(task), "head")
        yield Row(1, said)
        if entry["because"]:
            yield Row(1, f"because {entry['because']}")
        if entry["readings"]:
            yield Row(1, "what was read")
            for verdict in entry["readings"]:
                yield from self._verdict(verdict, 2)
        if entry.get("firing"):
            yield Row(1, "declined by")
            yield from self._firing(entry["firing"], 2)
        for rule in entry["would_come_from"]:
            for missed in self._trace["not_fired"]:
                if missed["rule"] == rule and missed["subject"] in (entry["place"], "house") and "failed" in missed:
                    yield from self._missed(missed, 1)

    def hold(self, hold: Mapping[str, Any]) -> Iterator[Row]:
        yield Row(0, f"hold {hold['name']} — until {hold['until']}", mark="head")
        yield Row(1, f"keeps back: {', '.join(hold['lines']) or 'no line of this scope'}, speaks of {hold['of']}")
        yield from self._firing(hold["firing"], 1)

    def finding(self, finding: Mapping[str, Any]) -> Iterator[Row]:
        yield Row(0, f"{finding['finding']} at {finding['at']} — {finding['title']}", mark="head")
        for firing in finding["firings"]:
            yield from self._firing(firing, 1)

    def _firing(self, firing_id: str, depth: int) -> Iterator[Row]:
        name, _, subject = firing_id.rpartition("@")
        rule = self._trace["rules"].get(name)
        if rule is None:
            yield Row(depth, firing_id)
            return
        text = f"rule {name} for {subject} — {rule['title']} [{rule['authority']}]"
        firing = self._firings.get(firing_id)
        if firing is None:
            yield Row(depth, f"{text}; it fired in an earlier round or on an earlier visit", _place(rule), "rule")
            return
        yield Row(depth, text, _place(rule), "rule")
        if firing_id in self._shown or depth > DEEPEST:
            yield Row(depth + 1, "its clauses are shown above")
            return
        self._shown.add(firing_id)
        for field, word in firing["where"].items():
            yield Row(depth + 1, f"where {field} is {word}", self._item(subject, field), "clause")
        if not firing["clauses"] and not firing["where"]:
            yield Row(depth + 1, "no conditions: it holds on every job")
        for clause in firing["clauses"]:
            if clause["holds"] or clause["part"] == "unless":
                yield from self._clause(clause, depth + 1)

    def _size(self, size: Mapping[str, Any]) -> Iterator[Row]:
        many = f"{size['count']} × " if size["count"] > 1 else ""
        doubtful = ", doubtful" if size["doubtful"] else ""
        governed = f", {_GOVERNED[size['governed']]}" if "governed" in size else ""
        yield Row(
            1, f"size of {size['title'].lower()}: {many}{size['text'] or 'unknown'}{governed}{doubtful}", mark="limit"
        )
        shown: list[Any] = []
        if "policy" in size:
            yield from self._number(size["policy"], 2, "policy")
        if "calculated" in size:
            take = size["take"]
            yield Row(2, f"calculated: {take['key']} {take['value']:g} {take['unit']}", mark="reading")
            yield from self._calculated(size["calculated"], 3, shown)
        for proof in size["proofs"]:
            yield from self._proof(proof, 2, shown)
        for doubt in size["doubts"]:
            yield Row(2, f"doubt: {doubt}")

    def _proof(self, proof: Mapping[str, Any], depth: int, shown: list[Any]) -> Iterator[Row]:
        said = f" says {proof['word'].upper()}" if proof["word"] else ""
        value = f": {proof['take']} {proof['value']:g} {proof['unit']}" if "value" in proof else ""
        yield Row(depth, f"“{proof['title']}”{said}{value}", mark="clause")
        if "limit" in proof:
            yield from self._number(proof["limit"], depth + 1, f"limit, {proof['must_be']}")
        if "calculated" in proof:
            yield from self._calculated(proof["calculated"], depth + 1, shown)

    def _calculated(self, run: Mapping[str, Any], depth: int, shown: list[Any]) -> Iterator[Row]:
        """A calculation: how to run it again, what it gives, where its numbers come from unless that was shown already."""
        given = " ".join(f"{key}={_plain(value)}" for key, value in run["inputs"].items())
        gives = ", ".join(f"{key} {_plain(value)}" for key, value in run["outputs"].items())
        yield Row(depth, f"{run['calculation']} {given}", mark="reading")
        yield Row(depth, f"gives {gives}; {run['source']}", mark="note")
        for key, numbers in run["from"].items():
            for number in numbers:
                if number["form"] != "size" and number not in shown:
                    shown.append(number)
                    yield from self._number(number, depth + 1, key)

    def _missed(self, missed: Mapping[str, Any], depth: int) -> Iterator[Row]:
        rule = self._trace["rules"][missed["rule"]]
        yield Row(
            depth, f"rule {missed['rule']} did not fire for {missed['subject']} — {rule['title']}", _place(rule), "rule"
        )
        for clause in missed["failed"]:
            yield from self._clause(clause, depth + 1)

    def _clause(self, clause: Mapping[str, Any], depth: int) -> Iterator[Row]:
        state = "holds" if clause["holds"] else "does not hold"
        yield Row(depth, f"{clause['part']} {clause['said']}: {state}", _place(clause), "clause")
        for read in clause["reads"]:
            yield from self._read(read, depth + 1)

    def _read(self, read: Mapping[str, Any], depth: int) -> Iterator[Row]:
        if "verdict" in read:
            yield from self._verdict(read["verdict"], depth)
        elif "field" in read:
            yield Row(
                depth,
                f"{read['field']} of {read['subject']} is {read['word']}",
                self._item(read["subject"], read["field"]),
                "reading",
            )
        elif "finding" in read:
            there = self._findings.get(read["finding"])
            if there is None:
                yield Row(depth, f"finding {read['finding']}: nothing concluded it")
            else:
                yield Row(depth, f"finding {read['finding']}")
                for firing in there["firings"]:
                    yield from self._firing(firing, depth + 1)
        else:
            what = "line" if "line" in read else "carried"
            yield Row(depth, f"{what} {read[what]}: {'asked for' if read['present'] else 'not asked for'}")
            line = next((one for one in self._result["lines"] if what == "line" and one["id"] == read[what]), None)
            if read["present"] and line is not None:
                yield from self._firing(line["firing"], depth + 1)

    def _verdict(self, verdict_id: str, depth: int) -> Iterator[Row]:
        verdict = self._verdicts.get(verdict_id)
        if verdict is None:
            yield Row(
                depth,
                f"{verdict_id}: not predicted" if verdict_id.endswith("/predicted") else f"{verdict_id}: not judged",
            )
            return
        check = self._trace["checks"][verdict["check"]]
        time = "" if verdict["time"] == "found" else f", {verdict['time']}"
        at = "" if verdict["subject"] == "house" else f" of {verdict['subject']}"
        text = f"“{check['title']}”{at}{time} says {verdict['word'].upper()}"
        if "margin" in verdict and verdict["word"] != "unmeasured":
            text += f", {_margin(verdict)}"
        yield Row(depth, text, _place(check), "clause")
        if verdict_id in self._judged:
            yield Row(depth + 1, "its reading and limit are shown above")
            return
        self._judged.add(verdict_id)
        for missing in verdict.get("missing", ()):
            yield Row(depth + 1, f"missing: {missing}")
        if "reading" in verdict:
            yield from self._number(verdict["reading"], depth + 1, "reading")
        if "limit" in verdict:
            yield from self._number(verdict["limit"], depth + 1, f"limit, {check['must_be']}")
            others = [c for c in verdict.get("considered", ()) if c != verdict["limit"]]
            for other in others:
                yield from self._number(other, depth + 1, "also considered")

    def _number(self, number: Mapping[str, Any], depth: int, label: str) -> Iterator[Row]:
        value = f"{number['value']:g} {number['unit']}"
        form, name = number["form"], number["name"]
        if form in ("parameter", "table"):
            yield from self._policy(name, value, depth, label, number.get("row"))
            return
        place = ""
        if form == "reading":
            doubt = f" ± {number['plus_minus']:g}" if "plus_minus" in number else ""
            of = "" if number["subject"] == "house" else f" of {number['subject']}"
            by = f", {number['instrument']}" if "instrument" in number else ""
            text = f"{label}: {name}{of} {value}{doubt}, {number['state']}{by}"
            place = self._position(number.get("path", ""))
        elif form == "figure":
            doubt = f" ± {number['plus_minus']:g}" if "plus_minus" in number else ""
            text = f"{label}: {name} {value}{doubt}, {number['step'].replace('_', ' ')}"
        else:
            text = f"{label}: {value}"
        yield Row(depth, text, place, "reading" if form in ("reading", "figure") else "limit")
        doubt = self._trace["policy"].get(number.get("plus_minus_from", ""))
        if doubt is not None:
            at = next((i for i, row in enumerate(doubt["rows"]) if row[0] == name), None)
            yield Row(
                depth + 1,
                f"± from {doubt['title']} ({doubt['name']}), set by {doubt['layer']}",
                _row_place(doubt, at),
                "limit",
            )
        elif number.get("plus_minus_from") == "rule":
            yield Row(depth + 1, "± widened by a rule of this policy")
        if number.get("state") in ("predicted", "doubtful") and form == "reading":
            yield from self._predicted(f"{number['subject']}.{name}", depth + 1)
        for part in number.get("parts", ()):
            yield from self._number(part, depth + 1, "from")

    def _predicted(self, name: str, depth: int) -> Iterator[Row]:
        """Where the ± of a predicted reading comes from, the largest share first."""
        forecast = self._result["predictions"]
        for one in forecast["rests_on"].get(name, ()):
            known = self._trace["policy"].get(one["input"])
            place = _place(known) if known else self._position(one.get("path", ""))
            yield Row(depth, f"{100 * one['share']:.0f} % of its ± from {one['title']} ({one['input']})", place)

    def _policy(self, name: str, value: str, depth: int, label: str, row: int | None) -> Iterator[Row]:
        entry = self._trace["policy"].get(name)
        if entry is None:
            yield Row(depth, f"{label}: {name} {value}", mark="limit")
            return
        basis = entry["basis"].get("kind", "")
        cite = f", {entry['basis']['cite']}" if "cite" in entry["basis"] else ""
        where = f", row {row + 1}" if row is not None else ""
        text = f"{label}: {entry['title']} ({name}{where}) {value}, set by {entry['layer']}, {basis}{cite}"
        yield Row(depth, text, _row_place(entry, row), "limit")
        for old in entry["overrode"]:
            yield Row(depth + 1, f"overrode {old['value']} of {old['layer']}", _place(old))

    def _position(self, path: str) -> str:
        where = self._record["places"].get(path)
        return f"{self._record['file']}:{where}" if where else ""

    def _item(self, subject: str, field: str) -> str:
        where = self._record["places"].get(f"{subject}.{field}")
        return f"{self._record['file']}:{where}" if where else ""


def _place(entry: Mapping[str, Any]) -> str:
    return f"{entry['file']}:{entry['line']}:{entry['column']}" if "file" in entry else ""


def _row_place(entry: Mapping[str, Any], row: int | None) -> str:
    """Place of a value, or of the row of a table that answered."""
    if row is None or "rows_at" not in entry:
        return _place(entry)
    line, column = entry["rows_at"][row]
    return f"{entry['file']}:{line}:{column}"


def _margin(verdict: Mapping[str, Any]) -> str:
    unit, margin = verdict["reading"]["unit"], verdict["margin"]
    side = "inside" if margin >= 0 else "past"
    return f"{abs(margin):g} {unit} {side} the limit, band {verdict['band']:g}, chance it meets it {verdict['probability']:.2f}"


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
