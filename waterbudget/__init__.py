"""How many days stored rainwater lasts a productive garden, when mains top-up is needed and how much.

A run of one garden through its weather, as numbers and daily tables, and with words and picture:

result = waterbudget.run("site.toml")
result.summary["days_lasted"]
waterbudget.find_run("site.toml")

A garden with some of its numbers changed:

site = waterbudget.load_site("site.toml").changed({"zone.North line.minutes": 8})
waterbudget.run(site, waterbudget.read_weather("weather.csv", site))

The further questions take a site that was opened with the weather it names, and answer with their findings:

opened = waterbudget.open_site("site.toml", every_year=True)
waterbudget.find_odds(opened)  # in how many summers the stored rain runs short
waterbudget.find_size(opened, waterbudget.Sweep(target=0.8))  # what size of store is enough
waterbudget.find_hotspell(opened, waterbudget.Spell(days=21))  # whether the plan lasts a hot spell
waterbudget.find_check(opened)  # what looks odd, and what is most worth measuring better
waterbudget.find_line(opened)  # what a watering line gives, and how evenly
waterbudget.find_minutes(opened)  # how many minutes, how often, month by month
waterbudget.find_fit("site.toml")  # which numbers bring the model nearest to the logged levels
waterbudget.find_improve("site.toml", waterbudget.Costs(water_per_m3=3.4))  # what would save most
waterbudget.find_compare("site.toml", ["zone.North line.minutes=8"])  # which plan is better
waterbudget.find_today("site.toml")  # what to water today, and how long the stores last

Each prints as the screen of its command, and waterbudget.figures draws them all. What the user can mend is raised as an
InputError, in one line a fault.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from waterbudget import figures
    from waterbudget.change.improve import Costs
    from waterbudget.errors import InputError, WaterbudgetError
    from waterbudget.odds.summers import Wanted
    from waterbudget.questions import (
        find_batch,
        find_check,
        find_compare,
        find_fit,
        find_hotspell,
        find_improve,
        find_line,
        find_minutes,
        find_odds,
        find_run,
        find_size,
        find_today,
    )
    from waterbudget.review.size import Question
    from waterbudget.simulate.opened import Opened, open_site
    from waterbudget.simulate.result import Result
    from waterbudget.simulate.run import run
    from waterbudget.site.model import Site
    from waterbudget.site.read import load_site
    from waterbudget.sizing.sizes import Sweep
    from waterbudget.spell.hot import Spell
    from waterbudget.weather.days import Weather
    from waterbudget.weather.files import read_weather

__all__ = [
    "Costs",
    "InputError",
    "Opened",
    "Question",
    "Result",
    "Site",
    "Spell",
    "Sweep",
    "Wanted",
    "WaterbudgetError",
    "Weather",
    "figures",
    "find_batch",
    "find_check",
    "find_compare",
    "find_fit",
    "find_hotspell",
    "find_improve",
    "find_line",
    "find_minutes",
    "find_odds",
    "find_run",
    "find_size",
    "find_today",
    "load_site",
    "open_site",
    "read_weather",
    "run",
]

_HOME = {
    "Costs": "waterbudget.change.improve",
    "InputError": "waterbudget.errors",
    "Opened": "waterbudget.simulate.opened",
    "Question": "waterbudget.review.size",
    "Result": "waterbudget.simulate.result",
    "Site": "waterbudget.site.model",
    "Spell": "waterbudget.spell.hot",
    "Sweep": "waterbudget.sizing.sizes",
    "Wanted": "waterbudget.odds.summers",
    "WaterbudgetError": "waterbudget.errors",
    "Weather": "waterbudget.weather.days",
    "find_batch": "waterbudget.questions",
    "find_check": "waterbudget.questions",
    "find_compare": "waterbudget.questions",
    "find_fit": "waterbudget.questions",
    "find_hotspell": "waterbudget.questions",
    "find_improve": "waterbudget.questions",
    "find_line": "waterbudget.questions",
    "find_minutes": "waterbudget.questions",
    "find_odds": "waterbudget.questions",
    "find_run": "waterbudget.questions",
    "find_size": "waterbudget.questions",
    "find_today": "waterbudget.questions",
    "load_site": "waterbudget.site.read",
    "open_site": "waterbudget.simulate.opened",
    "read_weather": "waterbudget.weather.files",
    "run": "waterbudget.simulate.run",
}


def __getattr__(name: str) -> Any:  # noqa: ANN401
    # Names are imported when they are first asked for, so that importing the package costs next to nothing.
    if name == "figures":
        return import_module("waterbudget.figures")
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(_HOME[name]), name)


def __dir__() -> list[str]:
    return sorted(__all__)
