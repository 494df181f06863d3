"""An invented town: roofs in wards over an invented grid, and one garden of eight beds as their template."""

import csv

import numpy as np

WARDS = ("Heath", "Mill", "Quay", "Rise")
BEDS = 8
TEMPLATE = """
[site]
name = "Brackenfold town"
latitude_deg = 51.5
longitude_deg = -1.0
elevation_m = 60

[weather]
file = "weather.csv"

[[roof]]
name = "Roof"
tank = "Butt"
area_m2 = 60
runoff_coefficient = 0.9
loss_mm = 0.3

[[tank]]
name = "Butt"
capacity_l = 350
dead_l = 0
start_l = 175
mains = "direct"

[[zone]]
name = "Line"
tank = "Butt"
flow_l_min = 6
minutes = 5
from = "05-01"
to = "09-30"
""" + "".join(
    f"""
[[bed]]
name = "Bed {number}"
zone = "Line"
area_m2 = {2 + number}
available_water_mm_m = 150

[[bed.planting]]
planted = "05-{number:02d}"
days = [20, 30, 40, 20]
kc = [0.5, 1.1, 0.9]
p = 0.45
root_m = [0.15, 0.6]
"""
    for number in range(1, BEDS + 1)
)
HEADS = ("name", "weight", "ward", "latitude_deg", "longitude_deg", "roof.Roof.area_m2", "tank.Butt.capacity_l")


def write_town(folder, roofs, seed=5):
    """The template and a sheet of so many roofs; every one stands for some gardens and lies in a ward."""
    chance = np.random.default_rng(seed)
    (folder / "site.toml").write_text(TEMPLATE, "utf-8")
    with (folder / "sites.csv").open("w", encoding="utf-8", newline="") as handle:
        rows = csv.writer(handle)
        rows.writerow([*HEADS, "tank.Butt.start_l", "zone.Line.minutes"])
        for number in range(roofs):
            capacity_l = int(chance.integers(2, 21)) * 50
            place = round(chance.uniform(51.0, 52.0), 4), round(chance.uniform(-1.75, -0.25), 4)
            rows.writerow(
                [f"Roof {number}", int(chance.integers(1, 6)), WARDS[int(chance.integers(4))], *place,
                 round(chance.uniform(20, 120), 1), capacity_l, round(capacity_l * 0.5, 1), int(chance.integers(2, 12))]
            )  # fmt: skip
    return folder / "sites.csv"


def weather_of_days(days, cells, seed=7):
    """Rain [mm], lowest and highest temperature [degrees C] of so many days, (day, cell)."""
    chance = np.random.default_rng(seed)
    season = np.sin((np.arange(days) - 100) * 2 * np.pi / 365.25)[:, None]
    wet = chance.random((days, 1)) < 0.35
    rain_mm = np.round(wet * chance.gamma(0.8, 6.0, (days, 1)) * chance.uniform(0.6, 1.4, (days, cells)), 1)
    tmin_c = np.round(6 + 6 * season + chance.normal(0, 2, (days, cells)), 1)
    return rain_mm, tmin_c, np.round(tmin_c + chance.uniform(4, 13, (days, cells)), 1)


def grid_of(days, rows=5, columns=6, first="2021-01-01", seed=7):
    """An invented grid over the town, with CF names and units, temperatures in kelvin."""
    import xarray as xr

    shape = (days, rows, columns)
    rain_mm, tmin_c, tmax_c = (part.reshape(shape) for part in weather_of_days(days, rows * columns, seed))
    dims = ("time", "lat", "lon")

    def air(values_c, method):
        attributes = {"standard_name": "air_temperature", "units": "K", "cell_methods": f"time: {method}"}
        return dims, values_c + 273.15, attributes

    return xr.Dataset(
        {
            "pr": (dims, rain_mm, {"standard_name": "precipitation_amount", "units": "kg m-2"}),
            "tasmin": air(tmin_c, "minimum"),
            "tasmax": air(tmax_c, "maximum"),
        },
        {
            "time": ("time", np.arange(days), {"standard_name": "time", "units": f"days since {first}"}),
            "lat": ("lat", np.linspace(51.1, 51.9, rows), {"standard_name": "latitude", "units": "degrees_north"}),
            "lon": ("lon", np.linspace(-1.6, -0.4, columns), {"standard_name": "longitude", "units": "degrees_east"}),
        },
    )
