"""The built-in example: Brackenfold, an invented school's kitchen garden, and the recipe of its invented weather."""

import datetime as dt
from importlib.resources import files
from pathlib import Path

INVENTED = b"# Invented, for something to run. Bring in your own: waterbudget weather site.toml --import FILE\n"
HALF_A_YEAR = dt.timedelta(days=184)  # from 1 May to 1 November


def site_path() -> Path:
    """Where the packaged site.toml lies, with its weather.csv beside it."""
    return Path(str(files(__name__) / "site.toml"))


def starter_weather(*, south: bool) -> bytes:
    """The example's invented summer as a starter's weather file, which says so; half a year later in the south."""
    weather = (files(__name__) / "weather.csv").read_bytes()
    if not south:
        return INVENTED + weather
    head, *rows = weather.decode().splitlines()
    later = [
        f"{dt.date.fromisoformat(date) + HALF_A_YEAR},{rest}" for date, rest in (row.split(",", 1) for row in rows)
    ]
    return INVENTED + "\n".join([head, *later, ""]).encode()


def is_starter_weather(content: bytes) -> bool:
    """Whether a weather file is still the one that came with a starter."""
    lines = content.removeprefix(b"\xef\xbb\xbf").splitlines()
    return lines in ([*starter_weather(south=south).splitlines()] for south in (False, True))


def is_invented(content: bytes) -> bool:
    """Whether a weather file came with a starter or the example, so that nobody would miss it."""
    return is_starter_weather(content) or is_starter_weather(INVENTED + content)
