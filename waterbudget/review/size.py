"""The question of a size: which days it is tried on, what every size does in them, and how far that can be trusted."""

import datetime as dt
import math
from dataclasses import dataclass
from pathlib import Path

from waterbudget.errors import InputError
from waterbudget.odds.summers import RECORDS, Wanted, drawn_summers
from waterbudget.review.doubt import Doubt, find_doubt
from waterbudget.simulate.fetched import spot_of
from waterbudget.simulate.opened import Opened
from waterbudget.sizing.market import Market
from waterbudget.sizing.offers import Offer, read_offers
from waterbudget.sizing.sizes import Sweep
from waterbudget.sizing.stretch import drawn_stretch, recorded_stretch
from waterbudget.sizing.study import Sizing, study
from waterbudget.weather.days import Weather
from waterbudget.weather.years import Years

DRAWN_YEARS = 100
YEAR_DAYS = 365
YEAR = {False: ("01-01", "12-31"), True: ("07-01", "06-30")}  # by whether the garden lies in the south


@dataclass(frozen=True)
class Question:
    """What a size is asked about, besides the sizes themselves.

    tank: None for the one that runs short most. options: file of what is for sale; none_yet: whether the tank is only
    planned, so that nothing is there to reckon that against; water_per_m3: price of mains water, None for that of the
    site. roofs: whether to map roof areas.
    method, years, seed: of the weather, as for odds.
    """

    tank: str | None = None
    options: Path | None = None
    none_yet: bool = False
    water_per_m3: float | None = None
    roofs: bool = False
    method: str = RECORDS
    years: int | None = None
    seed: int | None = None

    def __post_init__(self) -> None:
        """Raises InputError with a line for each part that cannot be."""
        faults = []
        if self.water_per_m3 is not None and not 0.0 < self.water_per_m3 < math.inf:
            faults.append(
                f"water-price is {self.water_per_m3:g}; write what a cubic metre costs, above 0, such as 3.40"
            )
        given = {"none-yet": self.none_yet, "water-price": self.water_per_m3 is not None}
        if self.options is None:
            faults += [f"{name} goes with options; name a file of what is for sale" for name in given if given[name]]
        if faults:
            raise InputError(faults)


@dataclass(frozen=True, eq=False)
class SizeFinding:
    """What every size does. doubt: how far the last year hangs on two choices. drawn: years that were drawn."""

    opened: Opened
    question: Question
    study: Sizing
    doubt: Doubt
    drawn: Years | None

    @property
    def market(self) -> Market:
        """What is for sale, at the price of water that was given, else the site's."""
        given = self.question.water_per_m3
        return Market(self.study, self.opened.site.prices.water_per_m3 if given is None else given)


def find_size(
    opened: Opened, sweep: Sweep | None = None, question: Question | None = None, offers: list[Offer] | None = None
) -> SizeFinding:
    """Try the sizes on the recorded days or, where asked for, on drawn years.

    offers: what is for sale, by default what the file that the question names holds. Raises InputError for what the
    user can mend.
    """
    site, weather, question = opened.site, opened.weather, question or Question()
    if offers is None and question.options is not None:
        offers = read_offers(question.options)
    start_md, end_md = YEAR[site.is_south]
    is_drawn = question.method != RECORDS
    years = DRAWN_YEARS if is_drawn and question.years is None else question.years
    wanted = Wanted(question.method, years, start_md, end_md, seed=question.seed)
    drawn = None
    if is_drawn:
        place = site if site.weather.file is not None else spot_of(opened.path, site)
        drawn = drawn_summers(site, weather, wanted, place)
    found = study(
        site,
        recorded_stretch(site, weather) if drawn is None else drawn_stretch(site, drawn),
        sweep or Sweep(),
        tank=question.tank,
        offers=offers,
        stands=not question.none_yet,
        roofs=question.roofs,
    )
    return SizeFinding(opened, question, found, find_doubt(site, last_year(weather)), drawn)


def last_year(weather: Weather) -> Weather:
    """The last year of the days, or all where they are fewer."""
    return weather.between(max(weather.first_day, weather.last_day - dt.timedelta(YEAR_DAYS - 1)), None)
