"""Every random garden is a site file that the package takes, whole and with all that is at its default left out."""

import pytest
from gardens import site_of
from hypothesis import HealthCheck, given, settings
from strategies import lean, sites, to_toml

import waterbudget


@pytest.mark.parametrize("form", [dict, lean])
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(table=sites())
def test_every_random_garden_is_a_sound_site(tmp_path, form, table):
    path = tmp_path / "site.toml"
    path.write_text(to_toml(form(table)), encoding="utf-8")
    assert waterbudget.load_site(path) == site_of(form(table))
