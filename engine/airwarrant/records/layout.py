"""The tables of an archive and what may never happen to them; versions of the layout and the way from one to the next."""

from collections.abc import Mapping

#: "airw": how a file says that it is an archive of this program.
APPLICATION_ID = 0x61697277
VERSION = 1
#: Bytes at the end of each page that hold its checksum.
RESERVED = 8
PAGE_SIZE = 4096

#: Version -> the statements that make a file of the version before it one of this.
STEPS: Mapping[int, tuple[str, ...]] = {
    1: (
        """CREATE TABLE entry (
 number INTEGER PRIMARY KEY CHECK (number > 0),
 kind TEXT NOT NULL,
 job TEXT NOT NULL,
 head TEXT NOT NULL,
 digest BLOB NOT NULL UNIQUE CHECK (length(digest) = 32)
) STRICT""",
        "CREATE INDEX entry_of_job ON entry (job, kind, number)",
        """CREATE TABLE part (
 id INTEGER PRIMARY KEY,
 digest BLOB NOT NULL UNIQUE CHECK (length(digest) = 32),
 form INTEGER NOT NULL,
 body BLOB NOT NULL
) STRICT""",
        """CREATE TABLE personal (
 entry INTEGER PRIMARY KEY REFERENCES entry (number),
 salt BLOB NOT NULL,
 body BLOB NOT NULL
) STRICT""",
        """CREATE TABLE erased (
 entry INTEGER PRIMARY KEY REFERENCES entry (number),
 by INTEGER NOT NULL REFERENCES entry (number)
) STRICT""",
        """CREATE TRIGGER entry_follows BEFORE INSERT ON entry
 WHEN NEW.number <> (SELECT ifnull(max(number), 0) + 1 FROM entry)
 BEGIN SELECT raise(ABORT, 'an entry follows the last one'); END""",
        *(
            f"""CREATE TRIGGER {table}_{event.lower()} BEFORE {event} ON {table}
 BEGIN SELECT raise(ABORT, 'what is kept is not changed'); END"""
            for table, event in (
                ("entry", "UPDATE"),
                ("entry", "DELETE"),
                ("part", "UPDATE"),
                ("part", "DELETE"),
                ("personal", "UPDATE"),
                ("erased", "UPDATE"),
                ("erased", "DELETE"),
            )
        ),
        """CREATE TRIGGER personal_delete BEFORE DELETE ON personal
 WHEN NOT EXISTS (SELECT 1 FROM erased WHERE entry = OLD.entry)
 BEGIN SELECT raise(ABORT, 'only an erasure takes personal data out'); END""",
    ),
}


def statements(version: int) -> tuple[str, ...]:
    """Every statement that makes an empty file one of `version`."""
    return tuple(text for step in range(1, version + 1) for text in STEPS[step])
