"""Every reason tree that the audit sheet shows, as nested lists, and which rules and values they rest on."""

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import Any

from airwarrant.papers.audit_tree import Branch, branches
from airwarrant.result.why_rows import Row
from airwarrant.result.why_tree import Tree
from airwarrant.result.why_words import ReasonWords

NOT_CALLED = "not-called-for"
#: Lines of one task that one rule rules out whose trees are shown; more of them say the same of another place.
MOST_ALIKE = 12
Told = tuple[Mapping[str, Any], list[Branch]]


class Trees:
    """The trees of one result, each beside what it explains.

    Attributes
    ----------
    stops, lines, left_out, holds : list of (mapping, list of Branch)
    findings : list of (mapping, list of Branch, int)
        A finding that a line rests on stands under that line: its tree is empty here, and the line's number beside it.
    left_over : list of mapping
        Lines left out for the reason of many others before them: their trees are not shown.
    total : list of Branch
    named : set of str
        Rules and policy values that any row speaks of.
    """

    def __init__(self, result: Mapping[str, Any], words: ReasonWords) -> None:
        self._result, self._words = result, words
        self.named: set[str] = set()
        self._under: dict[str, int] = {}
        self.lines: list[Told] = []
        for number, line in enumerate(result["lines"], 1):
            walk = self._tree()
            self.lines.append((line, self._told(walk.line(line))))
            for firing in walk.shown:
                self._under.setdefault(firing, number)
        self.stops: list[Told] = [(one, self._firings(one["firings"])) for one in result["stops"]]
        left_out, self.left_over = _by_place(result["declined"])
        self.left_out: list[Told] = [(one, self._told(self._tree().declined(one))) for one in left_out]
        self.holds: list[Told] = [(one, self._told(self._tree().hold(one))) for one in result["holds"]]
        self.findings = [(one, *self._finding(one)) for one in result["findings"]]
        self.total = self._told(self._tree().total())

    def _tree(self) -> Tree:
        return Tree(self._result, self._words, apart=True)

    def _told(self, rows: Iterable[Row]) -> list[Branch]:
        """A tree without its head, which is the heading of its section."""
        told = [row for row in rows if row.mark != "head"]
        self.named.update(name for row in told for name in row.of)
        return branches(told)

    def _firings(self, firings: Iterable[str]) -> list[Branch]:
        tree = self._tree()
        return self._told(row for firing in firings for row in tree.firing(firing, 1))

    def _finding(self, finding: Mapping[str, Any]) -> tuple[list[Branch], int]:
        under = [self._under.get(firing, 0) for firing in finding["firings"]]
        return ([], under[0]) if under and all(under) else (self._told(self._tree().finding(finding)), 0)


def _by_place(declined: Iterable[Mapping[str, Any]]) -> tuple[list[Mapping[str, Any]], list[Mapping[str, Any]]]:
    """Lines left out: the first of those that are alike, and the rest."""
    alike: Counter[tuple[str, str, str]] = Counter()
    shown: list[Mapping[str, Any]] = []
    over: list[Mapping[str, Any]] = []
    for one in declined:
        if one["how"] != NOT_CALLED:
            key = (one["task"], one["how"], one["rule"])
            alike[key] += 1
            (shown if alike[key] <= MOST_ALIKE else over).append(one)
    return shown, over
