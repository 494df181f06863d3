"""How many days stored rainwater lasts a productive garden, when mains top-up is needed and how much.

site = waterbudget.load_site("site.toml")
weather = waterbudget.read_weather("weather.csv", site)
result = waterbudget.run(site, weather)
result.summary["days_lasted"]
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from waterbudget.simulate.result import Result
    from waterbudget.simulate.run import run
    from waterbudget.site.model import Site
    from waterbudget.site.read import load_site
    from waterbudget.weather.files import Weather, read_weather

__all__ = ["Result", "Site", "Weather", "load_site", "read_weather", "run"]

_HOME = {
    "Result": "waterbudget.simulate.result",
    "Site": "waterbudget.site.model",
    "Weather": "waterbudget.weather.files",
    "load_site": "waterbudget.site.read",
    "read_weather": "waterbudget.weather.files",
    "run": "waterbudget.simulate.run",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401
    # Names are imported when they are first asked for, so that importing the package costs next to nothing.
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
