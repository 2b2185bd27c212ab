"""A test-out against the targets of its result: pass, on condition, or fail with the likely cause and the correction.

The record is evaluated as it was, with the visits of the test-out added and under the very policy the result was made under; the
rules of acceptance decide, and nothing of the scope is decided anew.
"""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

from airwarrant.desks.acceptance import acceptance
from airwarrant.desks.made_from import MadeFrom, policy_folders, same_policy
from airwarrant.evaluate import Evaluator
from airwarrant.job.test_out import with_test_out
from airwarrant.policy.cache import PolicyCache


def accept(
    result: Mapping[str, Any], made: MadeFrom, text: bytes, file: str, policies: Sequence[Path] = ()
) -> dict[str, Any]:
    """Return the acceptance document of a test-out.

    Parameters
    ----------
    result : mapping
        The result document.
    made : MadeFrom
        What it was made from.
    text : bytes
        The test-out file.
    file : str
        Its name.
    policies : sequence of Path
        Policy folders to take the policy from; none: what the result carries.

    Raises
    ------
    RecordError
        With every fault of the test-out file.
    CallError
        If the policy is not the one the result was made under.
    """
    record = replace(with_test_out(made.document, text, file), market=made.market)
    with policy_folders(made, policies) as folders:
        policy = PolicyCache(folders).policy(record.market, record.dates)
        same_policy(result, policy.digest)
        with Evaluator(policy, detail=False) as evaluator:
            return acceptance(result, evaluator.run(record))
