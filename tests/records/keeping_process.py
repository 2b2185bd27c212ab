"""A process that keeps jobs without end and says of each that it is kept: ``keeping_process.py ARCHIVE FIRST``."""

import sys
from pathlib import Path

from small_archive import kept

from airwarrant.errors import ArchiveError
from airwarrant.records.archive import Archive


def main() -> None:
    """Keep jobs with rising numbers until somebody ends it, or nothing more can be written."""
    path, number = Path(sys.argv[1]), int(sys.argv[2])
    last = int(sys.argv[3]) if len(sys.argv) > 3 else 10**9
    while number <= last:
        try:
            with Archive.open(path, write=True) as archive:
                entry = archive.keep(kept(number))
        except ArchiveError as error:
            print(f"refused {number} {error}", flush=True)
            sys.exit(2)
        print(f"kept {number} {entry.digest}", flush=True)
        number += 1


if __name__ == "__main__":
    main()
