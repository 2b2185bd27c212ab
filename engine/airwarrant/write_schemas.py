"""Write the generated JSON Schemas anew: ``python -m airwarrant.write_schemas``."""

import json

from airwarrant.job.schema import job_schema, test_out_schema
from airwarrant.policy.cases import cases_schema
from airwarrant.policy.shape import market_schema, policy_schema
from airwarrant.shipped import shipped
from airwarrant.whole_file import write_whole

GENERATED = {
    "cases": cases_schema,
    "job": job_schema,
    "market": market_schema,
    "policy": policy_schema,
    "test-out": test_out_schema,
}


def main() -> None:
    """Write every generated schema into the schemas folder in use."""
    folder = shipped("schemas")
    for name, schema in GENERATED.items():
        text = json.dumps(schema(), indent=2, ensure_ascii=False, sort_keys=True) + "\n"
        write_whole(folder / f"{name}.schema.json", text.encode("utf-8"))


if __name__ == "__main__":
    main()
