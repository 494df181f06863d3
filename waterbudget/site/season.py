"""The summer half of a garden's year: when it is watered, when a first crop is planted, and whether the crop fits."""

from waterbudget.errors import InputError, shown
from waterbudget.site.dates import DAYS_A_YEAR, MonthDay
from waterbudget.tables.crops import Crop, stage_days

NORTH = {"season_from": MonthDay(5, 1), "season_to": MonthDay(9, 30), "planted": MonthDay(5, 20)}
SOUTH = {"season_from": MonthDay(11, 1), "season_to": MonthDay(3, 31), "planted": MonthDay(11, 20)}


def season_of(latitude_deg: float) -> dict[str, MonthDay]:
    """First and last day of watering and the day of planting."""
    return SOUTH if latitude_deg < 0 else NORTH


def stages_in_season(crop: Crop, latitude_deg: float) -> tuple[int, ...]:
    """Lengths of the four stages [days] of a crop planted in season. Raises InputError where none fit a year."""
    name = crop.asked_as or crop.name
    stages = stage_days(crop, season_of(latitude_deg)["planted"].month, south=latitude_deg < 0)
    if stages is None:
        raise InputError(
            f"no stage lengths are printed for {shown(name)}; name another crop now, and add this one to the site file "
            "later, with days = [four lengths] of its own"
        )
    if sum(stages.days) > DAYS_A_YEAR:
        raise InputError(
            f"{shown(name)} takes {sum(stages.days)} days, over a year; name another crop now, and add this one to the "
            "site file later, with a full date in planted"
        )
    return stages.days
