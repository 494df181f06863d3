"""The site file as a checked, frozen model: every key of a garden, with its unit, range and default.

A check that looks at two keys stands at the later one and asks for the earlier in `info.data`, which holds the keys
that are free of faults: so one broken key hides no other fault and causes no second. What the tables say of each
other is checked in `links`.
"""

from collections.abc import Mapping
from typing import Annotated

from pydantic import Field, ValidationInfo, field_validator

from waterbudget.errors import shown
from waterbudget.site.beds import Bed, Planting
from waterbudget.site.changed import changed
from waterbudget.site.dates import FIRST_YEAR, MonthDay
from waterbudget.site.line import Battery, Pump
from waterbudget.site.table import NotNegative, Positive, Table
from waterbudget.site.tanks import Ban, Inflow, Roof, Tank, Transfer
from waterbudget.site.usual import Usual
from waterbudget.site.words import (
    LONGEST_NAME,
    WEEKDAYS,
    CropCoefficient,
    FileName,
    Name,
    Release,
    StationId,
    Text,
)
from waterbudget.site.zones import Draw, Zone

__all__ = [
    "FIRST_YEAR",
    "LONGEST_NAME",
    "WEEKDAYS",
    "Ban",
    "Bed",
    "Draw",
    "Effort",
    "Inflow",
    "Model",
    "MonthDay",
    "Place",
    "Planting",
    "Prices",
    "Roof",
    "Site",
    "Tank",
    "Transfer",
    "Usual",
    "WeatherSource",
    "Zone",
]


class Place(Table):
    """Where the garden is; latitude and elevation serve the reference evapotranspiration."""

    name: Name = Field(title="Name of the garden", description="the garden's name")
    latitude_deg: Annotated[float, Field(ge=-90, le=90)] | None = Field(
        title="Latitude, degrees north", default=None, description="degrees north, south negative"
    )
    longitude_deg: Annotated[float, Field(ge=-180, le=180)] | None = Field(
        title="Longitude, degrees east", default=None, description="degrees east, west negative"
    )
    elevation_m: Annotated[float, Field(ge=-430, le=9000)] | None = Field(
        title="Height above the sea, m", default=None, description="metres above the sea"
    )
    mean_wind_m_s: Annotated[float, Field(ge=1, le=6)] = Field(
        title="Usual wind in summer, m/s", default=2.0, description="mean wind of the growing season at 2 m"
    )
    mean_rh_min_pct: Annotated[float, Field(ge=20, le=80)] = Field(
        title="Usual lowest humidity of a summer day, %",
        default=45.0,
        description="mean of the growing season of the day's lowest humidity",
    )


class Model(Table):
    """Choices of the model that few gardens change."""

    crop_coefficient: CropCoefficient = Field(
        title="How a bed's water use is reckoned",
        default="single",
        description="single, or dual: the surface evaporates by how often it is wetted",
    )
    release: Release = Field(
        title="What comes first on a wet day, overflow or draw",
        default="after_spill",
        description="order of overflow and draw",
    )
    kc_bare: Annotated[float, Field(ge=0, le=2)] = Field(
        title="Water use of a bare bed, as a share of short grass",
        default=0.30,
        description="crop coefficient between plantings",
    )
    root_start_m: Annotated[float, Field(gt=0, le=3)] = Field(
        title="Roots of a new sowing, m",
        default=0.15,
        description="root depth of a new sowing, and depth of a bare bed",
    )
    adjust_p: bool = Field(
        title="Plants feel a dry soil earlier on hot days",
        default=True,
        description="adjust p, the share taken freely, to the day (FAO-56 Table 22)",
    )


class WeatherSource(Table):
    """Where the weather comes from."""

    file: FileName | None = Field(
        title="File of the weather", default=None, description="weather file, relative to the site file"
    )
    station: StationId | None = Field(
        title="Number of a weather station", default=None, description="id of a weather station"
    )
    nearest: bool = Field(
        title="Take the nearest weather station",
        default=False,
        description="take the nearest weather station with rain",
    )
    fill: bool = Field(
        title="Mend the station's gaps", default=False, description="mend gaps in the weather of a station"
    )
    gauge: FileName | None = Field(
        title="File of your own rain gauge", default=None, description="file of the garden's own rain readings"
    )
    wind_height_m: Annotated[float, Field(ge=0.5, le=200)] = Field(
        title="Height of the wind gauge, m", default=2.0, description="height of the wind readings, m; of a station 10"
    )

    @field_validator("station", "nearest")
    @classmethod
    def _is_the_only_source(cls, value: object, info: ValidationInfo) -> object:
        other = next((key for key in ("file", "station") if info.data.get(key) is not None), None)
        if value not in {None, False} and other:
            raise ValueError(f"{other} is given too; leave out one of the two")
        return value

    @field_validator("fill")
    @classmethod
    def _has_a_station(cls, fill: bool, info: ValidationInfo) -> bool:  # noqa: FBT001 - as pydantic calls it
        if fill and info.data.get("file") is not None:
            raise ValueError("goes with station or nearest; a weather file has no gaps")
        return fill


class Prices(Table):
    """What water costs, in any money."""

    water_per_m3: Positive | None = Field(
        title="Price of 1,000 L of mains water", default=None, description="price of a cubic metre of mains water"
    )
    currency: Text | None = Field(
        title="Money", default=None, max_length=4, description="sign or letters of its money, such as £ or EUR"
    )


class Effort(Table):
    """What watering takes of a person's time, minutes each; the defaults are common practice, no source."""

    valve_minutes: NotNegative = Field(
        title="Opening and closing a valve, minutes", default=1.0, description="opening and closing a valve, once a run"
    )
    hose_minutes: NotNegative = Field(
        title="Moving a hose to the next bed, minutes",
        default=2.0,
        description="moving a hose to a bed, or opening its branch",
    )
    can_minutes: NotNegative = Field(
        title="Filling, carrying and pouring a can, minutes",
        default=2.0,
        description="filling, carrying and pouring a can",
    )
    can_l: Positive = Field(title="A can holds, L", default=10.0, description="litres of a can")
    look_minutes: NotNegative = Field(
        title="Feeling whether the soil is dry, minutes",
        default=1.0,
        description="feeling the soil of a zone whose plan asks for it",
    )
    transfer_minutes: NotNegative = Field(
        title="Moving water between stores, minutes",
        default=5.0,
        description="starting and stopping a transfer between stores",
    )
    battery_minutes: NotNegative = Field(
        title="Charging and swapping a battery, minutes", default=5.0, description="charging and swapping a battery"
    )
    battery_run_minutes: Positive = Field(
        title="A charge lasts, minutes", default=360.0, description="minutes that a zone runs on one charge"
    )
    by_hose: list[Text] = Field(
        title="Lines where you move something at every bed",
        default_factory=list,
        description="zones where something is moved at every bed",
    )
    by_can: list[Text] = Field(
        title="Carried in cans", default_factory=list, description="zones and draws that are carried in cans"
    )
    by_battery: list[Text] = Field(
        title="Lines that a battery runs",
        default_factory=list,
        description="zones that a battery opens or pumps by itself",
    )


class Site(Table):
    """A garden as its site file tells it."""

    site: Place
    model: Model = Field(default_factory=Model)
    weather: WeatherSource = Field(default_factory=WeatherSource)
    usual: Usual | None = None
    prices: Prices = Field(default_factory=Prices)
    roof: list[Roof] = Field(default_factory=list)
    tank: list[Tank] = Field(min_length=1)
    inflow: list[Inflow] = Field(default_factory=list)
    transfer: list[Transfer] = Field(default_factory=list)
    ban: list[Ban] = Field(default_factory=list)
    zone: list[Zone] = Field(default_factory=list)
    draw: list[Draw] = Field(default_factory=list)
    bed: list[Bed] = Field(default_factory=list)
    effort: Effort = Field(default_factory=Effort)
    pump: Pump | None = None
    battery: Battery | None = None

    @field_validator("effort")
    @classmethod
    def _names_each_once(cls, effort: Effort, info: ValidationInfo) -> Effort:
        if not {"zone", "draw"} <= info.data.keys():
            return effort
        zones = [zone.name for zone in info.data["zone"]]
        takers = [*zones, *(draw.name for draw in info.data["draw"])]
        named: list[str] = []
        for key, known in (("by_hose", zones), ("by_can", takers), ("by_battery", zones)):
            for name in getattr(effort, key):
                if name not in known:
                    there = ", ".join(f'"{other}"' for other in known) or "none"
                    raise ValueError(f"{key} names {shown(name)}, which is not there; write names of {there}")
                if name in named:
                    raise ValueError(
                        f"names {shown(name)} twice; name it once, in one of by_hose, by_can and by_battery"
                    )
                named.append(name)
        return effort

    def changed(self, changes: Mapping[str, object]) -> "Site":
        """A checked copy with some keys changed, such as {"zone.North line.minutes": 8}; None leaves a key out.

        Raises InputError for a key that no site has, SiteError with every fault of what comes of it.
        """
        return changed(self, changes)

    @property
    def latitude_deg(self) -> float | None:
        """Degrees north."""
        return self.site.latitude_deg

    @property
    def longitude_deg(self) -> float | None:
        """Degrees east."""
        return self.site.longitude_deg

    @property
    def elevation_m(self) -> float | None:
        """Metres above the sea."""
        return self.site.elevation_m

    @property
    def is_south(self) -> bool:
        """Whether the garden lies south of the equator, where months stand for the other half of the year."""
        return (self.site.latitude_deg or 0.0) < 0.0

    @property
    def wind_height_m(self) -> float:
        """Height of the wind readings above the ground, m."""
        return self.weather.wind_height_m
