"""The one text of a value that digests are taken of."""

import json
from typing import Any


def canonical(value: Any) -> bytes:
    """Return JSON in UTF-8 without spaces, keys sorted, so that equal values have equal bytes."""
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"), allow_nan=False)
    return text.encode()


def in_order(value: Any) -> bytes:
    """Return JSON in UTF-8 without spaces, keys in the order they have: a document comes back byte for byte."""
    return json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False).encode()
