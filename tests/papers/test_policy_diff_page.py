"""The HTML page of a policy difference against WCAG 2.2 AA by axe-core, on a wide screen and on a phone, folded and open."""

import pytest

from accessible import faults_of_page
from airwarrant.desks.policy_diff import compose_sides, policy_diff
from airwarrant.desks.policy_diff_page import policy_diff_page
from jobs import POLICIES


@pytest.mark.parametrize(("a", "b"), [("copper-basin", "quillback-cove"), ("copper-basin", "copper-basin")])
def test_the_page_breaks_no_rule_asks_the_network_for_nothing_and_fits_a_phone(a: str, b: str) -> None:
    first, second = compose_sides((POLICIES,), (a, None), (b, None))
    html = policy_diff_page(policy_diff(first, second))
    assert faults_of_page(html) == []
