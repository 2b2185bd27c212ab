"""Which program this is: facts and finished jobs of another one are not taken over."""

from functools import cache
from hashlib import sha256
from importlib.metadata import version
from importlib.resources import files
from pathlib import Path


@cache
def program() -> str:
    """Version of the program and digest of its modules: an evaluation is a function of all of them."""
    package = Path(str(files("airwarrant")))
    digest = sha256()
    for path in sorted(package.rglob("*.py")):
        digest.update(f"{path.relative_to(package).as_posix()}\0".encode())
        digest.update(path.read_bytes())
    return f"{version('airwarrant')} {version('durable-rules')} {digest.hexdigest()}"
