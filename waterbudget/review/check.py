"""What a look over a site and its weather finds."""

from dataclasses import dataclass

from waterbudget.review.doubt import Doubt, find_doubt
from waterbudget.review.odd import Oddity, oddities
from waterbudget.review.worth import Worth, worth_measuring
from waterbudget.simulate.opened import Opened
from waterbudget.simulate.result import Result
from waterbudget.simulate.run import run


@dataclass(frozen=True, eq=False)
class CheckFinding:
    """A site as it was opened, its run, what looks odd, what is most worth measuring, and what else it could be."""

    opened: Opened
    result: Result
    oddities: list[Oddity]
    worth: Worth
    doubt: Doubt


def find_check(opened: Opened) -> CheckFinding:
    """Look a site over. Raises WeatherError where its weather is not enough for its plan."""
    result = run(opened.site, opened.weather)
    doubt = find_doubt(opened.site, opened.weather, summary=result.summary)
    return CheckFinding(opened, result, oddities(result), worth_measuring(opened.site, opened.weather), doubt)
