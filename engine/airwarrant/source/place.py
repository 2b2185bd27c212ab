"""Where a value stands: file, line, column."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, order=True)
class Place:
    """A position in a text file.

    Attributes
    ----------
    file : str
        Name of the file as a reader would type it: relative to the policy folder, or the record's own name.
    line, column : int
        Both count from 1; the column counts characters, not bytes.
    """

    file: str
    line: int
    column: int

    def __str__(self) -> str:
        return f"{self.file}:{self.line}:{self.column}"
