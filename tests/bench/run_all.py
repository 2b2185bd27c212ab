"""Run every benchmark and print its table; ``--full`` for the long counts (about an hour on two cores)."""

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent
SHORT = {
    "predict.py": [],
    "papers.py": [],
    "evaluate.py": ["--evaluations", "2000"],
    "engines.py": ["--evaluations", "2000"],
    "equality.py": ["--pairs", "5000"],
    "archive.py": ["--kills", "50"],
    "made_jobs.py": ["--jobs", "500", "--evaluated", "100"],
    "replay.py": ["200"],
    "cluster.py": ["200"],
    "mutations.py": ["--records", "300", "--policies", "100"],
}
FULL = {"equality.py": ["--pairs", "100000"], "archive.py": ["--entries", "100000", "--kills", "1000"]}

if __name__ == "__main__":
    full = "--full" in sys.argv[1:]
    for name, short in SHORT.items():
        print(f"\n== {name}", flush=True)
        subprocess.run([sys.executable, str(HERE / name), *(FULL.get(name, []) if full else short)], check=False)
