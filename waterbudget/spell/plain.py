"""Plain plans: enough to tell rules for moving or rationing water apart, before plans are searched under the best."""

from waterbudget.site.model import Site
from waterbudget.spell.carry import Eve
from waterbudget.spell.plans import OFF, Choice, Plans, near_litres, options_of
from waterbudget.spell.search import alike
from waterbudget.units import Array


def plain_plans(site: Site, eve: Eve, litres: Array | None) -> list[Plans]:
    """Nothing watered, then timers alike in all zones, and plans near the litres of foresight, (zone,)."""
    nothing: Plans = tuple(OFF for _ in site.zone)
    options = options_of(site, eve, litres)
    hints = [] if litres is None else near_litres(site, eve, options, litres)
    return [nothing, *hints, *alike([_timers(listed) for listed in options])]


def _timers(listed: list[Choice]) -> list[Choice]:
    """The plans that ask neither soil nor store."""
    return [option for option in listed if option is not None and option.trigger == "timer"]
