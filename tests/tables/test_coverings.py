import pytest
from scipy.stats import gamma

from waterbudget.tables.coverings import find_covering, search_coverings
from waterbudget.tables.read import UnknownKeyError

EVERY = search_coverings()

# Rothamsted, 1959 to 1999 by month: rain [mm], wet days and the shape of their gamma distribution, as printed in the
# public climate file RORO.CLI (station ROR1); the scale follows from the three
ROTHAMSTED = (
    (74.1, 20.1, 0.643),
    (45.0, 14.7, 0.712),
    (46.6, 16.7, 0.798),
    (56.7, 15.3, 0.800),
    (46.8, 13.2, 0.746),
    (60.7, 13.7, 0.723),
    (45.1, 12.7, 0.733),
    (55.3, 12.0, 0.622),
    (61.1, 13.8, 0.678),
    (76.9, 16.3, 0.564),
    (65.1, 19.4, 0.584),
    (66.8, 18.7, 0.658),
)


def share_of_a_year(coefficient, loss_mm):
    """Share of a year's rain that runs off: the expectation of coefficient·max(0, rain - loss) under the daily rain."""
    run_mm = 0.0
    for rain_mm, days, shape in ROTHAMSTED:
        scale_mm = rain_mm / days / shape
        above_mm = shape * scale_mm * gamma.sf(loss_mm, shape + 1, scale=scale_mm)
        run_mm += days * coefficient * (above_mm - loss_mm * gamma.sf(loss_mm, shape, scale=scale_mm))
    return run_mm / sum(rain_mm for rain_mm, _, _ in ROTHAMSTED)


@pytest.mark.parametrize("covering", EVERY, ids=lambda covering: covering.name)
def test_the_loss_is_not_counted_twice(covering):
    yearly = share_of_a_year(covering.runoff_coefficient, covering.loss_mm)
    assert yearly == pytest.approx(covering.yearly_coefficient, rel=0, abs=0.02)
    assert covering.yearly_coefficient < covering.runoff_coefficient < 1
    assert covering.loss_mm > 0


@pytest.mark.parametrize("covering", EVERY, ids=lambda covering: covering.name)
def test_the_pick_lies_in_the_spread_and_every_spread_is_shown(covering):
    assert 0 < covering.low <= covering.yearly_coefficient <= covering.high < 1
    assert covering.basis in {"measured", "standard", "from memory"}
    assert len(covering.source.split("; ")) >= 3
    for bound in (covering.low, covering.high):
        assert f"{bound:g}" in covering.source  # the source text shows the figure


@pytest.mark.parametrize("covering", EVERY, ids=lambda covering: covering.name)
def test_the_basis_is_the_standing_of_a_source(covering):
    if covering.basis == "measured":
        assert "(measured)" in covering.source
    if covering.basis == "from memory":
        assert "from memory" in covering.source


def test_smooth_slopes_agree_with_what_was_measured():
    # Farreny et al. 2011, Water Research 45:3245-3254, abstract: above 0.90 on smooth slopes, two years in Spain;
    # Ragab et al. 2003, Hydrological Processes 17:2409-2422, abstract: 0.61 to 0.91 on roofs of 0-50 degrees
    for name in ("clay tile", "metal sheet", "polycarbonate"):
        covering = find_covering(name)
        assert covering.low == 0.61
        assert 0.90 <= covering.yearly_coefficient <= 0.91


def test_rougher_flatter_and_greener_roofs_give_less():
    # order of the yield coefficients of EN 16941-1 and DIN 1989-1 (from memory)
    order = ("clay tile", "concrete tile", "gravel flat roof", "thin green roof", "thick green roof")
    picks = [find_covering(name).yearly_coefficient for name in order]
    assert picks == sorted(picks, reverse=True)
    assert len(set(picks)) == len(picks)


def test_water_of_doubtful_roofs_is_not_for_vegetables():
    # Danish Environmental Protection Agency advice: new bitumen felt, grass, moss or thatch, copper, asbestos
    doubtful = {covering.name for covering in EVERY if covering.edible_crop_caution}
    assert doubtful == {
        "copper sheet",
        "fibre cement sheet",
        "asbestos cement sheet",
        "bitumen felt",
        "thin green roof",
        "thick green roof",
    }


def test_lookup_forgives_case_and_plural_and_names_the_nearest():
    assert find_covering(" Clay TILES ").name == "clay tile"
    with pytest.raises(
        UnknownKeyError,
        match=r'^unknown covering "tile"; nearest: "clay tile", "concrete tile", "pantile", "roof tile", "tiled roof"$',
    ):
        find_covering("tile")


def test_search_by_name():
    assert [covering.name for covering in search_coverings("green roof")] == ["thin green roof", "thick green roof"]
    assert search_coverings("straw") == []
