"""Run every benchmark and print its table."""

import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).parent

if __name__ == "__main__":
    for name in ("evaluate.py", "engines.py", "equality.py", "mutations.py"):
        print(f"\n== {name}", flush=True)
        subprocess.run([sys.executable, str(HERE / name)], check=False)
