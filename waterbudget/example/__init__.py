"""The built-in example: Brackenfold, an invented school's kitchen garden, and the recipe of its invented weather."""

from importlib.resources import files
from pathlib import Path


def site_path() -> Path:
    """Where the packaged site.toml lies, with its weather.csv beside it."""
    return Path(str(files(__name__) / "site.toml"))
