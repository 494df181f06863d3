"""Weather by place: the cells of a netCDF file or a zarr store, or a folder of weather files by name."""

import hashlib
import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

import numpy as np

from waterbudget.errors import InputError, WeatherError, shown
from waterbudget.units import Array, IntArray
from waterbudget.weather.cf import Reading, days_of, readings_of
from waterbudget.weather.days import Weather
from waterbudget.weather.files import read_daily, weather_of

if TYPE_CHECKING:
    import pandas as pd
    import xarray as xr

EARTH_KM = 6371.0  # mean radius
ALONE_KM = 25.0  # how far the only cell of a grid reaches: ours
BEYOND = 0.75  # of the way to the fourth nearest cell; a corner of a square cell lies at 0.71
NEIGHBOURS = 5  # a cell itself and the four around it
URL = re.compile(r"[a-z0-9]+://")
STORES_KEPT = 4


class Spot(NamedTuple):
    """What ET0 needs to know of a place."""

    latitude_deg: float | None
    elevation_m: float | None
    wind_height_m: float
    longitude_deg: float | None = None


@dataclass(frozen=True, eq=False)
class Grid:
    """The cells of a netCDF file or zarr store; their readings are read when they are asked for.

    names: of the cells. latitude_deg, longitude_deg, elevation_m: (cell,), the last None where the grid has none.
    dates: every day. readings: which variables hold what, and how they become our units. digest: of what was read here.
    """

    path: str
    names: tuple[str, ...]
    latitude_deg: Array
    longitude_deg: Array
    elevation_m: Array | None
    dates: "pd.DatetimeIndex"
    readings: tuple[Reading, ...]
    shape: tuple[int, ...]
    digest: str

    def nearest(self, latitude_deg: Array, longitude_deg: Array) -> tuple[IntArray, Array, Array]:
        """The nearest cell of each place, (place,): its number, how far off it is, and how far it reaches [km]."""
        from scipy.spatial import KDTree

        tree = KDTree(_on_globe(self.latitude_deg, self.longitude_deg))
        found: Any = tree.query(_on_globe(latitude_deg, longitude_deg))
        chord, number = found
        return number.astype(np.int64), _along_km(chord), self._reach_km[number]

    def weather(self, cell: int, spot: Spot) -> Weather:
        """The checked weather of a cell with its ET0, that of the cell's own latitude and, where it has one, elevation.

        Raises WeatherError where the cell has no weather or some that cannot be.
        """
        import pandas as pd

        at = dict(zip(self._dims, np.unravel_index(cell, self.shape), strict=True))
        store = _opened(self.path, self.digest)
        daily = pd.DataFrame(
            {
                reading.name: reading.in_our_units(store[reading.variable].isel(at).to_numpy())
                for reading in self.readings
            },
            self.dates,
        )
        source = f"{self.path}: cell {self.names[cell]}"
        if daily["rain_mm"].isna().all():
            raise WeatherError(f"{source}: has no weather; choose a cell on land with the column cell")
        elevation_m = spot.elevation_m if self.elevation_m is None else float(self.elevation_m[cell])
        return weather_of(
            daily, spot._replace(latitude_deg=float(self.latitude_deg[cell]), elevation_m=elevation_m), source
        )

    @property
    def _dims(self) -> tuple[str, ...]:
        return self.readings[0].over

    @cached_property
    def _reach_km(self) -> Array:
        """How far each cell stands for its surroundings."""
        from scipy.spatial import KDTree

        points = _on_globe(self.latitude_deg, self.longitude_deg)
        if len(points) == 1:
            return np.array([ALONE_KM])
        found: Any = KDTree(points).query(points, min(NEIGHBOURS, len(points)))
        chord, _ = found
        return BEYOND * _along_km(chord[:, -1])


@dataclass(frozen=True, eq=False)
class WeatherFolder:
    """Weather files of a folder, each a cell by its name without the ending."""

    path: str
    names: tuple[str, ...]

    @cached_property
    def digest(self) -> str:
        """Of all its files, as they were when it was opened."""
        summed = hashlib.sha256()
        for name in self.names:
            summed.update(self._file(name).read_bytes())
        return summed.hexdigest()

    def weather(self, cell: int, spot: Spot) -> Weather:
        """The checked weather of a file with its ET0. Raises WeatherError with every fault."""
        file = self._file(self.names[cell])
        return weather_of(read_daily(file), spot, file.name)

    def _file(self, name: str) -> Path:
        return Path(self.path) / f"{name}.csv"


Cells = Grid | WeatherFolder


def open_cells(path: str) -> Cells:
    """The cells of a netCDF file, a zarr store (also one behind an address) or a folder of weather files.

    Raises WeatherError where nothing is there or it is no such thing, names no rain, or its units or days do not serve.
    """
    folder = Path(path)
    if not URL.match(path) and folder.is_dir() and not _is_zarr(folder):
        names = tuple(sorted(file.stem for file in folder.glob("*.csv")))
        if not names:
            raise WeatherError(f"{path}: holds no weather files (.csv) and is no zarr store")
        return WeatherFolder(str(folder.resolve()), names)
    if not URL.match(path):
        if not folder.exists():
            raise WeatherError(f"{path}: there is no such file or folder; name a netCDF file, a zarr store or a folder")
        path = str(folder.resolve())
    store = _opened(path, "")
    readings = readings_of(store, path)
    dims, shape = readings[0].over, tuple(store.sizes[dim] for dim in readings[0].over)
    latitude_deg, longitude_deg = (
        _of_cells(store, dims, _coordinate(store, name, path)) for name in ("latitude", "longitude")
    )
    altitude = next(
        (one for one in store.variables.values() if one.attrs.get("standard_name") == "surface_altitude"), None
    )
    return Grid(
        path,
        tuple(_names(store, dims)),
        latitude_deg,
        longitude_deg,
        None if altitude is None else _of_cells(store, dims, altitude),
        days_of(store, readings[0].time, path),
        readings,
        shape,
        _digest(store, path),
    )


def _is_zarr(folder: Path) -> bool:
    return any((folder / name).exists() for name in (".zgroup", "zarr.json", ".zmetadata"))


@lru_cache(STORES_KEPT)
def _opened(path: str, _digest: str) -> "xr.Dataset":
    """The store, of which only what is asked for is read."""
    try:
        import xarray as xr
    except ImportError:
        raise InputError("weather by place needs xarray; install it with: pip install 'waterbudget[batch]'") from None
    try:
        if URL.match(path) or Path(path).is_dir():
            return xr.open_zarr(path, chunks=None, decode_times=False)
        return xr.open_dataset(path, decode_times=False)
    except ImportError as error:
        raise InputError(f"{path}: {error}; install what is missing with: pip install 'waterbudget[batch]'") from None
    except (OSError, ValueError, KeyError) as error:
        why = str(error).splitlines()[0] if str(error) else type(error).__name__
        raise WeatherError(f"{path}: is no netCDF file or zarr store that can be read ({why[:100]})") from None


def _coordinate(store: "xr.Dataset", name: str, path: str) -> Any:  # noqa: ANN401 - a variable of any kind
    for variable in store.variables.values():
        if variable.attrs.get("standard_name") == name:
            return variable
    for short in (name, name[:3]):
        if short in store.variables:
            return store.variables[short]
    raise WeatherError(f"{path}: has no {name}; give the coordinate the standard_name {name}")


def _of_cells(store: "xr.Dataset", dims: Sequence[str], variable: Any) -> Array:  # noqa: ANN401 - a variable
    """The values of a variable of some of the cells' dimensions, (cell,)."""
    wide = variable.set_dims({dim: store.sizes[dim] for dim in (*dims, *variable.dims)}).transpose(*dims)
    return np.asarray(wide.to_numpy(), dtype=np.float64).ravel()


def _names(store: "xr.Dataset", dims: Sequence[str]) -> Iterator[str]:
    """What each cell is called: its coordinates, such as 51.25 -1.5, or the name of its station."""
    axes = [store[dim].to_numpy() if dim in store.coords else np.arange(store.sizes[dim]) for dim in dims]
    for place in np.ndindex(*(len(axis) for axis in axes)):
        yield " ".join(_named(axis[number]) for axis, number in zip(axes, place, strict=True))


def _named(value: Any) -> str:  # noqa: ANN401 - a coordinate of any kind
    return f"{float(value):g}" if isinstance(value, np.number) else str(value)


def _digest(store: "xr.Dataset", path: str) -> str:
    """Of a file its content; of a store what it says of itself and its coordinates."""
    summed = hashlib.sha256()
    if Path(path).is_file():
        with Path(path).open("rb") as handle:
            return hashlib.file_digest(handle, "sha256").hexdigest()
    summed.update(repr((dict(store.sizes), {name: one.attrs for name, one in store.variables.items()})).encode())
    for variable in store.coords.values():
        summed.update(np.asarray(variable.to_numpy()).tobytes())
    return summed.hexdigest()


def _on_globe(latitude_deg: Array, longitude_deg: Array) -> Array:
    """Places on a globe of radius 1, (place, 3)."""
    latitude, longitude = np.radians(latitude_deg), np.radians(longitude_deg)
    return np.stack(
        [np.cos(latitude) * np.cos(longitude), np.cos(latitude) * np.sin(longitude), np.sin(latitude)], axis=-1
    )


def _along_km(chord: Array) -> Array:
    """The way along the ground of a chord of the globe."""
    return np.asarray(2.0 * EARTH_KM * np.arcsin(np.minimum(chord / 2.0, 1.0)))


def unknown_cell(name: str, cells: Cells) -> str:
    """What to say of a cell that there is not."""
    from waterbudget.tables.read import nearest

    near = nearest(name, cells.names)[:1]
    return f"is {shown(name)}, no cell of {cells.path}; " + (
        f"did you mean {shown(near[0])}?" if near else f"cells are called like {shown(cells.names[0])}"
    )
