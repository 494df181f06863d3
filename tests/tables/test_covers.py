"""Nets and tunnels, and what hens drink. All figures: common practice, no source."""

import pytest

from waterbudget.site.beds import Bed
from waterbudget.tables.covers import every_cover, find_cover
from waterbudget.tables.drinkers import drinks_l_per_day
from waterbudget.tables.read import UnknownKeyError


def test_an_open_bed_is_the_default_of_a_site_file():
    cover = find_cover("none")
    assert cover.et_factor == Bed.model_fields["et_factor"].default
    assert cover.rain_share == 1.0


def test_a_finer_net_saves_more_and_a_tunnel_lets_no_rain_in():
    assert find_cover("bird nets").et_factor > find_cover("Insect net").et_factor > find_cover("shade net").et_factor
    assert [cover.name for cover in every_cover() if not cover.rain_share] == ["tunnel"]
    assert all(0.5 <= cover.et_factor <= 1.0 for cover in every_cover())


def test_an_unknown_cover_names_the_nearest():
    with pytest.raises(UnknownKeyError, match='unknown cover "insekt net"; nearest: "insect net"'):
        find_cover("insekt net")


def test_a_hen_drinks_a_few_decilitres():
    assert 0.2 <= drinks_l_per_day("hens") <= 0.5
