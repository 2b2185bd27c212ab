"""What a check of an archive found, with where it stands."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as it was kept.

    Attributes
    ----------
    code : str
        Short, stable name of the kind of finding, such as ``page-checksum``.
    found : str
        What is wrong, in words.
    entry, page : int
        Where: the number of the entry or of the page, each from 1; 0 if it is not of one.
    """

    code: str
    found: str
    entry: int = 0
    page: int = 0

    def where(self) -> str:
        """``entry 7``, ``page 12`` or ``archive``."""
        return f"entry {self.entry}" if self.entry else f"page {self.page}" if self.page else "archive"
