"""The order of work: prerequisites first, then by task and place."""

from collections.abc import Iterable, Mapping
from graphlib import TopologicalSorter

from airwarrant.policy.model import Task
from airwarrant.scope.settle import Line


def task_order(tasks: Mapping[str, Task]) -> dict[str, int]:
    """Rank every task so that each stands after all it names in `after`; ties go by name.

    The policy's checks have refused cycles before this is called.
    """
    sorter = TopologicalSorter({name: [a for a in task.after if a in tasks] for name, task in sorted(tasks.items())})
    sorter.prepare()
    order: dict[str, int] = {}
    while sorter.is_active():
        for name in sorted(sorter.get_ready()):
            order[name] = len(order)
            sorter.done(name)
    return order


def after_in_scope(task: str, tasks: Mapping[str, Task], present: Iterable[str]) -> list[str]:
    """Tasks of this scope that `task` must follow, directly."""
    there = set(present)
    return [name for name in tasks[task].after if name in there]


def line_order(line: Line, order: Mapping[str, int]) -> tuple[int, str, str]:
    """Sort key of a line in the order of work."""
    return order.get(line.task, len(order)), line.task, line.place
