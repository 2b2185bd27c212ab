"""What holds of every shipped job."""

from jobs import JOBS, data, scope, states


def test_a_job_where_all_passes_gets_no_airflow_line_and_names_what_rules_each_out() -> None:
    result = scope(data("5560"))
    assert {line["tier"] for line in result["lines"]} == {"included"}
    verdicts = {v["id"]: v for v in result["verdicts"]}
    for entry in result["declined"]:
        if entry["how"] == "declined":
            assert any("limit" in verdicts[reading] for reading in entry["readings"]), entry


def test_every_shipped_job_is_marked_as_demo() -> None:
    assert all(data(job)["demo"] is True for job in JOBS)


def test_lines_stand_in_an_order_that_honours_every_prerequisite() -> None:
    for job in JOBS:
        result = scope(data(job))
        order = {line["task"]: line["order"] for line in result["lines"]}
        for line in result["lines"]:
            assert all(order[task] < line["order"] for task in line["after"]), line["id"]


def test_states_know_no_third_word() -> None:
    for job in JOBS:
        assert set(states(scope(data(job))).values()) <= {"scoped", "held", "earlier"}
