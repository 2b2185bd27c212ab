"""A job at its test-out: the result that was sold, its record evaluated with the readings, and how both are named and said."""

from collections.abc import Mapping
from typing import Any

from airwarrant.job.test_out import KIND
from airwarrant.result.texts import Texts
from airwarrant.run import Run


class TestedOut:
    """A sold result beside the evaluation of its record with the visits of the test-out added.

    Attributes
    ----------
    visit : Visit
        The last of the test-out.
    """

    def __init__(self, result: Mapping[str, Any], run: Run) -> None:
        self.result = result
        self.run = run
        self.record = run.record
        self.words = Texts(run)
        self.visit = [visit for visit in run.record.visits if visit.kind == KIND][-1]

    @property
    def chosen(self) -> str:
        """The fan setting that was chosen; empty where none was."""
        scope = self.result["predictions"]["scope"]
        return str(scope["setting"]) if scope else ""

    def name(self, key: str) -> str:
        item = self.record.items.get(key)
        return item.name if item is not None and item.name else key.replace("-", " ")

    def say(self, name: str) -> str:
        return self.words.say((name,), otherwise=name)
