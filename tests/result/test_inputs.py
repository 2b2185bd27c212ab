"""The record and the policy travel with the result, so that it can be evaluated again from itself."""

import json
from pathlib import Path

from airwarrant.job.reading_records import parse_job
from airwarrant.result.serial import compared
from airwarrant.session import Session
from jobs import SCENARIOS
from program import completed


def test_a_result_with_its_inputs_evaluates_again_to_itself(tmp_path: Path) -> None:
    done = completed("run", SCENARIOS / "job-4471.toml", "--json", "--with-inputs", folder=tmp_path)
    result = json.loads(done.stdout)
    inputs = result["inputs"]
    for file, text in inputs["policy"].items():
        (tmp_path / "again" / file).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / "again" / file).write_text(text)
    with Session(tmp_path / "again") as session:
        again = session.evaluate(
            parse_job(inputs["record"]["text"].encode(), inputs["record"]["file"]), market=inputs["market"]
        )
    assert json.loads(json.dumps(compared(again))) == compared(result)
