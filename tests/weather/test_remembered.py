"""ET0 that was reckoned before: what pyet gives, believed only while nothing that it follows from has changed."""

import json
import os
import subprocess
import sys

import numpy as np
import pyet
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.extra.numpy import arrays

from waterbudget.errors import WeatherError
from waterbudget.example import site_path
from waterbudget.weather import remembered
from waterbudget.weather.et0 import extraterrestrial_mj_m2, reference_et0
from waterbudget.weather.files import read_daily
from waterbudget.weather.remembered import MOST_KEPT, kept_et0, kept_sun_mj_m2

DAYS = np.arange("2031-06-01", "2031-06-04", dtype="M8[D]")
TEMPERATURES = {"tmin_c": np.array([9.0, 10.0, 11.0]), "tmax_c": np.array([20.0, 22.0, 25.0])}
PLACE = (52.9, 90.0, 2.0)


@pytest.fixture
def folder(tmp_path, monkeypatch):
    monkeypatch.setenv("WATERBUDGET_CACHE", str(tmp_path / "cache"))
    return tmp_path / "cache" / "reckoned"


@pytest.fixture
def asked(monkeypatch):
    """How often pyet was asked."""
    calls = []

    def counted(*given_):
        calls.append(given_)
        return reference_et0(*given_)

    monkeypatch.setattr(remembered, "reference_et0", counted)
    return calls


def test_what_was_kept_is_what_pyet_gives_to_the_last_digit(folder, asked):
    daily = read_daily(site_path().with_name("weather.csv"))
    readings = {name: daily[name].to_numpy() for name in daily}
    days = daily.index.to_numpy().astype("M8[D]")
    reckoned, again = (kept_et0(days, readings, *PLACE) for _ in range(2))
    et0_mm, how = reference_et0(daily, *PLACE)
    assert len(asked) == 1
    for found_mm, found in (reckoned, again):
        np.testing.assert_array_equal(found_mm, et0_mm.to_numpy())
        assert found == how
    assert len(list(folder.iterdir())) == 1


@pytest.mark.parametrize(
    "changed",
    [
        lambda: (DAYS + 1, TEMPERATURES, *PLACE),
        lambda: (DAYS, TEMPERATURES | {"tmax_c": np.array([20.0, 22.0, 25.5])}, *PLACE),
        lambda: (DAYS, TEMPERATURES | {"tmean_c": TEMPERATURES["tmin_c"]}, *PLACE),
        lambda: (DAYS, TEMPERATURES, 53.0, 90.0, 2.0),
        lambda: (DAYS, TEMPERATURES, 52.9, 91.0, 2.0),
        lambda: (DAYS, TEMPERATURES, 52.9, 90.0, 10.0),
    ],
)
@pytest.mark.usefixtures("folder")
def test_another_day_reading_or_place_is_reckoned_anew(asked, changed):
    kept_et0(DAYS, TEMPERATURES, *PLACE)
    kept_et0(*changed())
    assert len(asked) == 2


@pytest.mark.usefixtures("folder")
def test_another_program_reckons_anew(asked, monkeypatch):
    kept_et0(DAYS, TEMPERATURES, *PLACE)
    monkeypatch.setattr(remembered, "_programs", lambda: (b"another", 0))
    kept_et0(DAYS, TEMPERATURES, *PLACE)
    assert len(asked) == 2


@pytest.mark.parametrize("content", [b"", b'{"et0_mm": [1.0', b"\xff\xfe"])
def test_what_cannot_be_read_is_reckoned_anew_and_mended(folder, asked, content):
    whole, _ = kept_et0(DAYS, TEMPERATURES, *PLACE)
    (file,) = folder.iterdir()
    file.write_bytes(content)
    again, _ = kept_et0(DAYS, TEMPERATURES, *PLACE)
    np.testing.assert_array_equal(again, whole)
    assert len(asked) == 2
    assert json.loads(file.read_bytes())["et0_mm"] == whole.tolist()


def test_where_nothing_can_be_kept_it_is_reckoned_each_time(tmp_path, monkeypatch, asked):
    (tmp_path / "file").write_text("")
    monkeypatch.setenv("WATERBUDGET_CACHE", str(tmp_path / "file"))
    first, second = (kept_et0(DAYS, TEMPERATURES, *PLACE)[0] for _ in range(2))
    np.testing.assert_array_equal(first, second)
    assert len(asked) == 2


def test_what_is_refused_is_not_kept(folder):
    crossed = {"tmin_c": TEMPERATURES["tmax_c"], "tmax_c": TEMPERATURES["tmin_c"]}
    with pytest.raises(WeatherError, match="2031-06-01: no ET0 can be computed"):
        kept_et0(DAYS, crossed, *PLACE)
    assert not folder.exists()


@pytest.mark.usefixtures("asked")
def test_the_oldest_go(folder):
    for number in range(3):
        kept_et0(DAYS + number, TEMPERATURES, *PLACE)
    (oldest, *_) = sorted(folder.iterdir(), key=lambda file: file.stat().st_mtime_ns)
    os.utime(oldest, (0, 0))
    for number in range(MOST_KEPT):
        (folder / f"{number}.json").write_text("[]")
    kept_et0(DAYS + 3, TEMPERATURES, *PLACE)
    assert len(list(folder.iterdir())) == MOST_KEPT
    assert not oldest.exists()


def test_a_given_et0_is_taken_as_it_stands(folder):
    given_mm = np.array([3.0, 4.0, 5.0])
    et0_mm, how = kept_et0(DAYS, TEMPERATURES | {"et0_mm": given_mm}, None, None, 2.0)
    assert et0_mm is given_mm
    assert how.method == "as given"
    assert not folder.exists()


@given(latitude_deg=st.floats(-90, 90), number=arrays(np.int64, 5, elements=st.integers(-40_000, 40_000)))
@settings(max_examples=20)
def test_the_sun_of_any_day_is_that_of_pyet(latitude_deg, number):
    """FAO-56 Eq. 21 by pyet, on the very day."""
    import pandas as pd

    days = np.datetime64("2031-01-01") + number
    index = pd.DatetimeIndex(days.astype("M8[ns]"))
    sun = pyet.extraterrestrial_r(index, np.radians(latitude_deg)).to_numpy()
    np.testing.assert_allclose(kept_sun_mj_m2(days, latitude_deg), sun, rtol=1e-12, atol=1e-12)
    np.testing.assert_array_equal(extraterrestrial_mj_m2(index, latitude_deg), sun)


@pytest.mark.parametrize("command", ["run", "check", "today", "hotspell"])
def test_a_second_look_at_a_garden_loads_neither_pandas_nor_pyet(tmp_path, command):
    """They take longer to load than a summer takes to run."""
    code = (
        "import sys\n"
        "from waterbudget.cli.main import main\n"
        "try:\n    main(sys.argv[1:])\n"
        "finally:\n    print(*sorted({'pandas', 'pyet', 'xarray'} & set(sys.modules)), file=sys.stderr)"
    )
    asked = [sys.executable, "-c", code, command, str(site_path())]
    environment = os.environ | {"WATERBUDGET_CACHE": str(tmp_path)}
    told = [subprocess.run(asked, env=environment, capture_output=True, text=True, check=True) for _ in range(2)]
    assert [look.stderr.splitlines()[-1] for look in told] == ["pandas pyet xarray", ""]
    assert told[0].stdout == told[1].stdout
