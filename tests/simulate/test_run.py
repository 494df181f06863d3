"""What a run may be asked with: a site and its weather, or a site file that names its own."""

import datetime as dt

import pytest

from waterbudget.errors import InputError
from waterbudget.example import site_path
from waterbudget.simulate.opened import open_site
from waterbudget.simulate.run import run


@pytest.fixture(scope="module")
def opened():
    return open_site(site_path())


def test_a_run_takes_a_site_file_or_an_opened_one(opened):
    summary = run(opened.site, opened.weather).summary
    assert run(site_path()).summary == run(str(site_path())).summary == run(opened).summary == summary


def test_a_site_file_may_be_run_in_other_weather(opened):
    june = opened.weather.between(dt.date(2031, 6, 1), dt.date(2031, 6, 30))
    assert run(site_path(), june).summary == run(opened.site, june).summary


def test_a_site_without_weather_is_not_run(opened):
    with pytest.raises(InputError, match="weather is missing; give it after the site"):
        run(opened.site)
