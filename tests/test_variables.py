"""Symbols of units as in the SI brochure (BIPM, 9th edition, tables 2, 4 and 8; the capital L for the litre)."""

import pytest

import waterbudget
from waterbudget.example import site_path
from waterbudget.simulate import result as results
from waterbudget.variables import REGISTER, Variable
from waterbudget.weather import files

UNIT_OF_SUFFIX = {
    "_l": "L",
    "_l_min": "L/min",
    "_l_h": "L/h",
    "_ml": "mL",
    "_per_min": "mm/min",
    "_mm_m": "mm/m",
    "_mm": "mm",
    "_cm": "cm",
    "_c": "°C",
    "_pct": "%",
    "_m_s": "m/s",
    "_mj_m2": "MJ/m²",
    "_hours": "h",
    "_mm_h": "mm/h",
    "_minutes": "min",
    "_l_per_year": "L a year",
    "_kg": "kg",
    "_m2": "m²",
    "_m": "m",
    "_deg": "°",
}
UNIT_WITHIN_THE_NAME = dict.fromkeys(
    (
        *("minutes", "minutes_run", "minutes_left", "minutes_per_charge", "minutes_for_driest"),
        *("work_minutes", "work_minutes_per_week", "saved_work_minutes_per_week"),
    ),
    "min",
) | {"usual_rain_mm_per_week": "mm"}


@pytest.mark.parametrize("variable", REGISTER.values(), ids=REGISTER)
def test_a_name_carries_its_unit(variable):
    suffix = max((suffix for suffix in UNIT_OF_SUFFIX if variable.name.endswith(suffix)), key=len, default="")
    assert variable.unit == (UNIT_OF_SUFFIX.get(suffix) or UNIT_WITHIN_THE_NAME.get(variable.name, ""))


def test_every_unit_is_used():
    assert {variable.unit for variable in REGISTER.values()} == {*UNIT_OF_SUFFIX.values(), "min", ""}


def test_each_stands_under_its_own_name():
    assert all(name == variable.name for name, variable in REGISTER.items())


def test_no_two_share_a_label():
    labels = [variable.label.casefold() for variable in REGISTER.values()]
    assert sorted(labels) == sorted(set(labels))


@pytest.mark.parametrize("variable", REGISTER.values(), ids=REGISTER)
def test_a_label_is_plain_words_without_its_unit(variable):
    assert variable.label == variable.label.strip()
    assert variable.label[0].isupper()
    assert not any(sign in variable.label for sign in "_()[]")


@pytest.mark.parametrize("frame", ["roofs", "tanks", "zones", "beds"])
def test_every_column_of_a_run_is_registered(frame):
    site = waterbudget.load_site(site_path())
    result = waterbudget.run(site, waterbudget.read_weather(site_path().parent / site.weather.file, site))
    columns = set(getattr(result, frame).columns)
    assert columns - REGISTER.keys() == set()
    assert len(columns) > len(dict(results.COLUMNS.values()))


def test_every_column_of_the_weather_is_registered():
    assert {"date", *files.COLUMNS} - REGISTER.keys() == set()


def test_an_axis_shows_label_and_unit():
    assert Variable("rain_mm", "mm", "Rain").heading == "Rain (mm)"
    assert Variable("kc", "", "Crop coefficient").heading == "Crop coefficient"
