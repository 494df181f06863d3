import json
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from open_records import fulda, seattle
from scipy.special import digamma, polygamma
from scipy.stats import gamma

from waterbudget.errors import RangeError, WeatherError
from waterbudget.weather.blocks import WINDOW_DAYS, block_years
from waterbudget.weather.chain import Chain, chain_years, fit_chain, gamma_shape
from waterbudget.weather.years import changed, dry_spells, recorded_years, season, spell_table

PUBLISHED = pd.read_csv(Path(__file__).with_name("rothamsted_chain.csv"), comment="#", index_col="month")
STANDARD_ERRORS = 4  # 1 check in 16 000 misses by chance; the seeds are fixed
YEAR = ("01-01", "12-31")
SUMMER = ("05-01", "09-30")
WINTER = ("11-01", "03-31")
COLUMNS = ("rain_mm", "tmin_c", "tmax_c", "et0_mm")


def numbered(first="2019-03-10", last="2024-10-20"):
    """A record whose every value tells its row."""
    index = pd.date_range(first, last, freq="D", name="date")
    row = np.arange(index.size, dtype=float)
    columns = {"rain_mm": row, "tmin_c": row - 0.5, "tmax_c": row + 0.5, "et0_mm": row / 7, "wind_m_s": row / 3}
    return pd.DataFrame(columns, index=index)


def rothamsted():
    names = ("p_wet_dry", "p_wet_wet", "rain_shape", "rain_scale_mm")
    return Chain(**{name: PUBLISHED[name].to_numpy() for name in names}, wet_mm=0.1, years_behind=41)


def as_record(years):
    """Generated whole years one after the other as a record; 29 February is dry."""
    count = years.rain_mm.shape[1]
    index = pd.date_range("1701-01-01", f"{1700 + count}-12-31", freq="D", name="date")
    leap = (index.month == 2) & (index.day == 29)
    frame = pd.DataFrame(index=index)
    for name in COLUMNS:
        if (x := getattr(years, name)) is not None:
            frame[name] = 0.0
            frame.loc[~leap, name] = x.T.ravel()
    return frame


def of_month(years):
    return years.dates[:, 0].astype("datetime64[M]").astype(int) % 12


def error_of_mean(x):
    return x.std(ddof=1) / np.sqrt(x.size)


# recorded years


@pytest.mark.parametrize("dates", [YEAR, SUMMER, WINTER, ("02-28", "03-01"), ("07-01", "06-30"), ("12-31", "01-01")])
def test_recorded_years_are_the_record_cell_by_cell(dates):
    daily = numbered()
    years = recorded_years(daily, *dates)
    for name in COLUMNS:
        for day, rain in zip(years.dates.T, getattr(years, name).T, strict=True):
            np.testing.assert_array_equal(daily.loc[day, name], rain)
    for day, wind in zip(years.dates.T, years.others["wind_m_s"].T, strict=True):
        np.testing.assert_array_equal(daily.loc[day, "wind_m_s"], wind)


def test_every_complete_season_is_a_scenario_and_the_others_are_named():
    years = recorded_years(numbered("2019-03-10", "2024-10-20"), *SUMMER)
    assert years.label == ("2019", "2020", "2021", "2022", "2023", "2024")
    assert "incomplete" not in years.note
    whole = recorded_years(numbered("2019-03-10", "2024-10-20"), *YEAR)
    assert whole.label == ("2020", "2021", "2022", "2023")
    assert "Left out as incomplete: 2019, 2024." in whole.note
    assert whole.years_behind == whole.rain_mm.shape[1] == 4


def test_a_season_past_new_year_is_labelled_by_the_year_it_starts_in():
    years = recorded_years(numbered("2019-03-10", "2022-03-31"), *WINTER)
    assert years.label == ("2019", "2020", "2021")
    assert "Left out as incomplete: 2018." in years.note  # 10 to 31 March 2019
    assert [str(day) for day in years.dates[0]] == ["2019-11-01", "2020-11-01", "2021-11-01"]
    assert [str(day) for day in years.dates[-1]] == ["2020-03-31", "2021-03-31", "2022-03-31"]


def test_29_february_is_left_out_and_told():
    daily = numbered("2019-01-01", "2024-12-31")
    years = recorded_years(daily, *YEAR)
    assert years.rain_mm.shape == (365, 6)
    lost_mm = daily.loc["2020-02-29", "rain_mm"] + daily.loc["2024-02-29", "rain_mm"]
    assert f"29 February left out in 2020, 2024, with {lost_mm:.1f} mm of rain." in years.note
    assert years.rain_mm.sum() == daily["rain_mm"].sum() - lost_mm
    assert "29 February" not in recorded_years(daily, *SUMMER).note


def test_a_year_with_a_missing_value_is_left_out():
    daily = numbered("2019-01-01", "2022-12-31")
    daily.loc["2020-09-30", "tmax_c"] = np.nan
    daily.loc["2021-06-01", "wind_m_s"] = np.nan  # not needed, so it stays a gap
    years = recorded_years(daily, *SUMMER)
    assert years.label == ("2019", "2021", "2022")
    assert "Left out as incomplete: 2020." in years.note
    assert np.isnan(years.others["wind_m_s"]).sum() == 1


def test_columns_that_the_record_lacks_are_none():
    years = recorded_years(numbered()[["rain_mm", "et0_mm"]], *SUMMER)
    assert years.tmin_c is None
    assert years.tmax_c is None
    assert years.et0_mm is not None


def test_a_record_without_a_whole_season_is_refused():
    with pytest.raises(WeatherError, match="2020-01-01 to 2020-08-31 holds no complete season 05-01 to 09-30"):
        recorded_years(numbered("2020-01-01", "2020-08-31"), *SUMMER)


def test_a_missing_day_is_refused():
    with pytest.raises(WeatherError, match="2020-05-03 follows 2020-05-01"):
        recorded_years(numbered("2020-01-01", "2020-12-31").drop(pd.Timestamp("2020-05-02")), *YEAR)


def test_a_record_without_rain_is_refused():
    with pytest.raises(WeatherError, match="rain_mm"):
        recorded_years(numbered().drop(columns="rain_mm"), *YEAR)


@pytest.mark.parametrize("md", ["02-29", "13-01", "5 May", ""])
def test_a_day_that_not_every_year_has_is_refused(md):
    with pytest.raises(WeatherError, match="write MM-DD"):
        season("01-01", md)


MONTH_DAYS = st.dates(pd.Timestamp("2001-01-01").date(), pd.Timestamp("2001-12-31").date()).map(lambda d: f"{d:%m-%d}")


@given(MONTH_DAYS, MONTH_DAYS)
def test_a_season_counts_its_days(start_md, end_md):
    first, days = season(start_md, end_md)
    begin, end = pd.Timestamp(f"2001-{start_md}"), pd.Timestamp(f"2001-{end_md}")
    if end < begin:
        end = pd.Timestamp(f"2002-{end_md}")
    assert (first, days) == (begin.dayofyear - 1, (end - begin).days + 1)


@given(MONTH_DAYS, MONTH_DAYS)
@settings(max_examples=40, deadline=None)
def test_every_method_gives_the_season_and_the_same_shape(start_md, end_md):
    daily = numbered("2018-02-20", "2021-04-05")
    recorded = recorded_years(daily, start_md, end_md)
    days = season(start_md, end_md)[1]
    for years in (
        recorded,
        block_years(daily, start_md, end_md, 3, 5),
        chain_years(fit_chain(daily), start_md, end_md, 3, 5),
    ):
        assert years.dates.shape == years.rain_mm.shape == years.tmin_c.shape == (days, len(years.label))
        for dates in years.dates.T:
            assert str(dates[0])[5:] == start_md
            assert str(dates[-1])[5:] == end_md
            assert "02-29" not in {str(day)[5:] for day in dates}
            assert set(np.diff(dates).astype(int)) <= {1, 2}


# blocks


@pytest.mark.parametrize(
    ("dates", "first", "last"),
    [
        (YEAR, "2019-03-10", "2024-10-20"),
        (SUMMER, "2019-03-10", "2024-10-20"),
        (SUMMER, "2019-05-01", "2021-09-30"),  # a season at either end of the record
        (WINTER, "2019-03-10", "2024-10-20"),
    ],
)
@pytest.mark.parametrize("block_days", [1, 10, 30, 400])
def test_blocks_keep_recorded_days_whole_and_near_their_season(dates, first, last, block_days):
    daily = numbered(first, last)
    years = block_years(daily, *dates, 50, 7, block_days=block_days)
    row = years.rain_mm.astype(int)
    np.testing.assert_array_equal(years.tmin_c, row - 0.5)
    np.testing.assert_array_equal(years.tmax_c, row + 0.5)
    np.testing.assert_array_equal(years.et0_mm, row / 7)
    np.testing.assert_array_equal(years.others["wind_m_s"], row / 3)
    # distance in a year of 365 days, whichever way round New Year is shorter
    day_of_year = np.array(
        [365 if day == "02-29" else season("01-01", day)[1] for day in daily.index.strftime("%m-%d")]
    )
    assert not (daily.index[row.ravel()].strftime("%m-%d") == "02-29").any()
    wanted = np.array([season("01-01", str(day)[5:])[1] for day in years.dates[:, 0]])
    apart = np.abs(day_of_year[row] - wanted[:, np.newaxis])
    apart = np.minimum(apart, 365 - apart)
    assert apart.max() == WINDOW_DAYS
    blocks = apart[: block_days * (len(row) // block_days)].reshape(-1, min(block_days, len(row)), 50)
    assert (blocks == blocks[:, :1]).all()  # a block moves as one


def test_blocks_never_use_a_missing_value():
    daily = numbered("2019-01-01", "2022-12-31")
    daily.loc["2020-05-10", "et0_mm"] = np.nan
    daily.loc["2021-04-25", "et0_mm"] = np.nan  # beside a whole season, within reach of its first blocks
    years = block_years(daily, *SUMMER, 200, 3)
    assert np.isfinite(years.et0_mm).all()
    assert years.years_behind == 3


def test_blocks_keep_the_mean_rain_of_the_record():
    daily = fulda()
    recorded, drawn = recorded_years(daily, *YEAR), block_years(daily, *YEAR, 2000, 11)
    rain_mm = drawn.rain_mm.sum(axis=0)
    # the first and last 15 days of the record have fewer chances than the others: 0.5 % is ours for that
    expected_mm = recorded.rain_mm.sum(axis=0).mean()
    assert abs(rain_mm.mean() - expected_mm) < STANDARD_ERRORS * error_of_mean(rain_mm) + 0.005 * expected_mm


# the chain


def test_published_chain_gives_the_published_year():
    # Rothamsted 1959-99: 700.2 mm and 186.6 wet days are the sums of the printed months (see the head of the file)
    years = chain_years(rothamsted(), *YEAR, 2000, 1)
    rain_mm, wet_days = years.rain_mm.sum(axis=0), (years.rain_mm > 0.0).sum(axis=0)
    assert PUBLISHED["rain_mm"].sum() == pytest.approx(700.2)
    assert PUBLISHED["wet_days"].sum() == pytest.approx(186.6)
    assert abs(rain_mm.mean() - 700.2) < STANDARD_ERRORS * error_of_mean(rain_mm)
    assert abs(wet_days.mean() - 186.6) < STANDARD_ERRORS * error_of_mean(wet_days)


@pytest.mark.parametrize("month", range(1, 13))
def test_published_chain_gives_the_published_months(month):
    years = chain_years(rothamsted(), *YEAR, 2000, 2)
    # the state of the month before lasts a day or two and is no fault: the sum is compared without the first four days,
    # by when less than 2 % of it is left (p_wet_wet - p_wet_dry is at most 0.446, to the fourth power 0.04, times a
    # step in wet_share of at most 0.14)
    days = np.flatnonzero(of_month(years) == month - 1)
    share = (days.size - 4) / (28.25 if month == 2 else days.size)
    rain_mm = years.rain_mm[days[4:]].sum(axis=0)
    assert abs(rain_mm.mean() - share * PUBLISHED.loc[month, "rain_mm"]) < STANDARD_ERRORS * error_of_mean(rain_mm)


def test_published_chain_has_settled_shares_and_spells():
    # algebra of a chain with two states: share of wet days p01 / (1 + p01 - p11), mean dry spell 1 / p01, mean wet
    # spell 1 / (1 - p11)
    chain = rothamsted()
    days = np.array([31, 28.25, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    # wet days are printed to 0.1 and p_wet_dry and p_wet_wet to 0.001: both roundings of the share
    rounding = 0.05 / days + 0.0005 * 2 / (1 + chain.p_wet_dry - chain.p_wet_wet)
    assert (np.abs(chain.wet_share - PUBLISHED["wet_days"] / days) < rounding).all()
    tomorrow = chain.wet_share * chain.p_wet_wet + (1 - chain.wet_share) * chain.p_wet_dry
    np.testing.assert_allclose(tomorrow, chain.wet_share, rtol=1e-12)

    july = {name: [x[6]] * 12 for name, x in chain.to_numbers().items() if isinstance(x, list)}
    always_july = Chain.from_numbers(july | {"wet_mm": 0.1, "years_behind": 41})
    rain_mm = chain_years(always_july, *YEAR, 2000, 4).rain_mm
    for state, mean_days in ((rain_mm == 0.0, 1 / 0.238), (rain_mm > 0.0, 1 / (1 - 0.657))):
        spells = dry_spells(np.where(state, 0.0, 9.0)[5:-60])  # the cut ends shorten a spell in 80
        assert spells.mean() == pytest.approx(mean_days, rel=0.02)


def test_fitting_a_chain_to_its_own_years_recovers_it():
    chain, count = rothamsted(), 300
    record = as_record(chain_years(chain, *YEAR, count, 6))
    fitted = fit_chain(record, wet_mm=1e-12)
    assert fitted.years_behind == count
    days = count * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    for name, came in (("p_wet_dry", days * (1 - chain.wet_share)), ("p_wet_wet", days * chain.wet_share)):
        p = getattr(chain, name)
        off = np.abs(getattr(fitted, name) - p) / np.sqrt(p * (1 - p) / came)
        # 1 January does not follow from 31 December: one of January's 31 steps is drawn from the settled share
        off[0] = (
            np.abs(getattr(fitted, name)[0] - (30 * p[0] + chain.wet_share[0]) / 31) / np.sqrt(p * (1 - p) / came)[0]
        )
        assert off.max() < STANDARD_ERRORS, name
    # standard errors of the likelihood estimates: inverse of the gamma distribution's Fisher information
    a, wet_days = chain.rain_shape, days * chain.wet_share
    left = a * polygamma(1, a) - 1
    assert (np.abs(fitted.rain_shape - a) / np.sqrt(a / left / wet_days)).max() < STANDARD_ERRORS
    error = chain.rain_scale_mm * np.sqrt(polygamma(1, a) / left / wet_days)
    assert (np.abs(fitted.rain_scale_mm - chain.rain_scale_mm) / error).max() < STANDARD_ERRORS


def test_fitting_a_chain_to_its_own_years_recovers_its_temperatures():
    chain, count = fit_chain(fulda()), 300
    fitted = fit_chain(as_record(chain_years(chain, *YEAR, count, 5)), wet_mm=1e-12)
    days = count * np.array([31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])
    follows = np.array([30 / 31] + [1.0] * 11)  # 1 January does not follow from 31 December
    lag1 = chain.tmean_c.lag1  # the larger of the two: days alike count for fewer than they are
    for name in ("tmean_c", "range_root"):
        was, is_now = getattr(chain, name), getattr(fitted, name)
        off = np.abs(is_now.lag1 - follows * was.lag1) / np.sqrt((1 - was.lag1**2) / days)
        assert off.max() < STANDARD_ERRORS, name
        for state, share in (("dry", 1 - chain.wet_share), ("wet", chain.wet_share)):
            sd = getattr(was, f"sd_{state}")
            error = sd * np.sqrt((1 + lag1) / (1 - lag1) / (days * share))
            off = np.abs(getattr(is_now, f"mean_{state}") - getattr(was, f"mean_{state}")) / error
            assert off.max() < STANDARD_ERRORS, (name, state)
            error = sd * np.sqrt((1 + lag1**2) / (1 - lag1**2) / (2 * days * share))
            assert (np.abs(getattr(is_now, f"sd_{state}") - sd) / error).max() < STANDARD_ERRORS, (name, state)
    shared = chain.range_with_tmean
    error = (1 - shared**2) * np.sqrt((1 + lag1**2) / (1 - lag1**2) / days)
    assert (np.abs(fitted.range_with_tmean - shared) / error).max() < STANDARD_ERRORS


def test_gamma_shape_solves_the_likelihood_equation():
    # log(shape) - digamma(shape) = spread; scipy's digamma is the reference
    shape = np.geomspace(0.1, 1000.0, 500)
    np.testing.assert_allclose(gamma_shape(np.log(shape) - digamma(shape)), shape, rtol=2e-4)


def test_gamma_fit_is_that_of_scipy():
    daily = fulda()
    chain = fit_chain(daily)
    daily = daily[~((daily.index.month == 2) & (daily.index.day == 29))]
    for month in range(1, 13):
        rain_mm = daily["rain_mm"][(daily.index.month == month) & (daily["rain_mm"] >= 0.1)]
        shape, _, scale = gamma.fit(rain_mm, floc=0)
        assert chain.rain_shape[month - 1] == pytest.approx(shape, rel=2e-4)
        assert chain.rain_scale_mm[month - 1] == pytest.approx(scale, rel=2e-4)


def test_probabilities_are_counted_shares():
    # Fulda, July, counted with pandas
    daily = fulda()
    wet = daily["rain_mm"] >= 0.1
    july = daily.index.month == 7
    chain = fit_chain(daily)
    assert chain.p_wet_dry[6] == pytest.approx(wet[july & ~wet.shift(fill_value=True)].mean())
    assert chain.p_wet_wet[6] == pytest.approx(wet[july & wet.shift(fill_value=False)].mean())


@pytest.mark.parametrize("place", [fulda, seattle])
def test_chain_keeps_the_temperatures_of_each_month(place):
    daily = place()
    recorded = recorded_years(daily, *YEAR)
    drawn = chain_years(fit_chain(daily), *YEAR, 1000, 8)
    for month in range(12):
        days = of_month(drawn) == month
        for name in ("tmin_c", "tmax_c"):
            was, is_now = getattr(recorded, name)[days], getattr(drawn, name)[days]
            # the wet days of the generated month follow the month before for a day or two: 0.1 °C is ours for that
            assert abs(is_now.mean() - was.mean()) < STANDARD_ERRORS * error_of_mean(is_now.mean(axis=0)) + 0.1
            # the root of the range is drawn as normal, which it nearly is: a tenth is ours for that
            assert is_now.std() == pytest.approx(was.std(), rel=0.1)


def test_dry_days_have_the_wider_range_of_temperature():
    daily = fulda()
    drawn = chain_years(fit_chain(daily), *SUMMER, 200, 8)
    wide = drawn.tmax_c - drawn.tmin_c
    recorded = (daily["tmax_c"] - daily["tmin_c"])[daily.index.month.isin(range(5, 10))]
    wet = daily["rain_mm"][recorded.index] >= 0.1
    assert wide[drawn.rain_mm == 0.0].mean() == pytest.approx(recorded[~wet].mean(), rel=0.03)
    assert wide[drawn.rain_mm > 0.0].mean() == pytest.approx(recorded[wet].mean(), rel=0.03)


def test_a_record_of_rain_and_et0_gives_both():
    daily = fulda().assign(et0_mm=lambda x: 0.2 * (x["tmax_c"] - x["tmin_c"]))[["rain_mm", "et0_mm"]]
    years = chain_years(fit_chain(daily), *SUMMER, 400, 8)
    assert years.tmin_c is None
    assert years.et0_mm.min() >= 0.0
    summer_mm = daily["et0_mm"][daily.index.month.isin(range(5, 10))].mean()
    error = error_of_mean(years.et0_mm.mean(axis=0))
    assert abs(years.et0_mm.mean() - summer_mm) < STANDARD_ERRORS * error + 0.01


def test_a_chain_is_written_to_plain_numbers_and_read_back():
    chain = fit_chain(fulda())
    again = Chain.from_numbers(json.loads(json.dumps(chain.to_numbers())))
    assert again.to_numbers() == chain.to_numbers()
    before, after = (chain_years(one, *SUMMER, 2, 1) for one in (chain, again))
    np.testing.assert_array_equal(before.tmax_c, after.tmax_c)


def test_a_dry_month_takes_the_shape_of_the_year():
    daily = fulda()
    daily.loc[daily.index.month == 7, "rain_mm"] = 0.0
    chain = fit_chain(daily)
    assert chain.p_wet_dry[6] == chain.p_wet_wet[6] == 0.0
    assert chain.rain_shape.min() < chain.rain_shape[6] < chain.rain_shape.max()
    assert chain_years(chain, "07-01", "07-31", 50, 1).rain_mm.sum() == 0.0


def test_equal_depths_give_a_finite_shape():
    daily = seattle()
    daily["rain_mm"] = np.where(daily["rain_mm"] > 0.0, 5.0, 0.0)
    years = chain_years(fit_chain(daily), *YEAR, 5, 1)
    assert years.rain_mm[years.rain_mm > 0.0].std() < 0.2


def test_too_short_a_record_is_refused():
    with pytest.raises(WeatherError, match="in month 1, 2, 11, 12"):
        fit_chain(numbered("2020-03-01", "2020-10-31"))
    with pytest.raises(WeatherError, match=r"0 days with 0\.1 mm"):
        fit_chain(numbered("2020-01-01", "2020-12-31").assign(rain_mm=0.0))


@pytest.mark.parametrize(
    ("name", "value"),
    [
        ("p_wet_dry", [1.1] * 12),
        ("p_wet_wet", [-0.1] * 12),
        ("rain_shape", [0.0] * 12),
        ("rain_scale_mm", [float("nan")] * 12),
        ("p_wet_dry", [0.5] * 11),
        ("range_with_tmean", [0.0] * 12),
    ],
)
def test_an_impossible_chain_is_refused(name, value):
    with pytest.raises(RangeError, match=name):
        Chain.from_numbers(rothamsted().to_numbers() | {name: value})


def test_a_chain_that_never_changes_is_refused():
    with pytest.raises(RangeError, match="never change"):
        Chain.from_numbers(rothamsted().to_numbers() | {"p_wet_dry": [0.0] * 12, "p_wet_wet": [1.0] * 12})


TWELVE = {"min_size": 12, "max_size": 12}
NORMALS = st.fixed_dictionaries(
    {name: st.lists(st.floats(-40, 40), **TWELVE) for name in ("mean_dry", "mean_wet")}
    | {name: st.lists(st.floats(0, 30), **TWELVE) for name in ("sd_dry", "sd_wet")}
    | {"lag1": st.lists(st.floats(-1, 1), **TWELVE)}
)
CHAINS = st.fixed_dictionaries(
    {
        "p_wet_dry": st.lists(st.floats(0.01, 1), **TWELVE),
        "p_wet_wet": st.lists(st.floats(0, 1), **TWELVE),
        "rain_shape": st.lists(st.floats(0.05, 50), **TWELVE),
        "rain_scale_mm": st.lists(st.floats(0.01, 50), **TWELVE),
        "range_with_tmean": st.lists(st.floats(-1, 1), **TWELVE),
        "tmean_c": NORMALS,
        "range_root": NORMALS,
        "wet_mm": st.just(0.1),
        "years_behind": st.just(1),
    }
)


@given(CHAINS, MONTH_DAYS, MONTH_DAYS, st.integers(0, 2**32))
@settings(max_examples=40, deadline=None)
def test_no_chain_gives_tmin_above_tmax_or_rain_below_nought(numbers, start_md, end_md, seed):
    years = chain_years(Chain.from_numbers(numbers), start_md, end_md, 3, seed)
    assert (years.tmin_c <= years.tmax_c).all()
    assert (years.rain_mm >= 0.0).all()
    assert np.isfinite(years.tmin_c + years.tmax_c + years.rain_mm).all()


# seeds


def drawn(method, years, seed):
    if method == "blocks":
        return block_years(fulda(), *WINTER, years, seed)
    return chain_years(fit_chain(fulda()), *WINTER, years, seed)


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_a_seed_gives_its_years_and_another_gives_others(method):
    first, again, other = (drawn(method, 20, seed) for seed in (1, 1, 2))
    for name in ("rain_mm", "tmin_c", "tmax_c"):
        np.testing.assert_array_equal(getattr(first, name), getattr(again, name))
        assert not np.array_equal(getattr(first, name), getattr(other, name))
    assert len({year.tobytes() for year in first.rain_mm.T}) == 20


@pytest.mark.parametrize("method", ["blocks", "chain"])
def test_a_year_does_not_depend_on_how_many_are_asked_for(method):
    few, many = drawn(method, 3, 9), drawn(method, 40, 9)
    for name in ("rain_mm", "tmin_c", "tmax_c"):
        np.testing.assert_array_equal(getattr(few, name), getattr(many, name)[:, :3])


def test_no_years_are_refused():
    with pytest.raises(RangeError, match="at least 1"):
        block_years(numbered(), *YEAR, 0, 1)
    with pytest.raises(RangeError, match="at least 1"):
        block_years(numbered(), *YEAR, 1, 1, block_days=0)
    with pytest.raises(RangeError, match="at least 1"):
        chain_years(rothamsted(), *YEAR, 0, 1)


# dry spells


def test_dry_spells_of_a_short_series():
    rain_mm = np.array([0.0, 0.9, 1.0, 5.0, 0.0, 2.0, 0.0, 0.0, 0.2])
    np.testing.assert_array_equal(dry_spells(rain_mm), [2, 1, 3])
    np.testing.assert_array_equal(dry_spells(rain_mm, wet_mm=0.1), [1, 1, 2])
    assert dry_spells(np.full(5, 3.0)).size == 0


@given(st.lists(st.lists(st.sampled_from([0.0, 0.5, 2.0]), min_size=6, max_size=6), min_size=1, max_size=5))
def test_dry_spells_hold_every_dry_day_once_and_end_with_the_scenario(rain):
    rain_mm = np.array(rain).T
    spells = dry_spells(rain_mm)
    assert spells.sum() == (rain_mm < 1.0).sum()
    np.testing.assert_array_equal(spells, np.concatenate([dry_spells(one) for one in rain_mm.T]))
    assert spells.max(initial=0) <= 6


def test_spell_table_counts_years_with_long_spells():
    daily = numbered("2001-01-01", "2003-12-31").assign(rain_mm=2.0)
    daily.loc["2001-05-01":"2001-05-21", "rain_mm"] = 0.0  # 21 days
    daily.loc["2002-05-01":"2002-05-14", "rain_mm"] = 0.5  # 14 days
    row = spell_table(recorded_years(daily, *YEAR)).loc["recorded"]
    assert row["years"] == row["years_behind"] == 3
    assert row["median_days"] == 17.5
    assert row["longest_mean_days"] == pytest.approx(35 / 3)
    assert row["longest_most_days"] == 21
    shares = [row[f"share_{days}_days"] for days in (10, 15, 21, 28)]
    assert shares == pytest.approx([2 / 3, 1 / 3, 1 / 3, 0.0])
    wet = spell_table(recorded_years(daily.assign(rain_mm=2.0), *YEAR)).loc["recorded"]
    assert wet["longest_most_days"] == wet["median_days"] == 0


@pytest.mark.parametrize("place", [fulda, seattle])
def test_the_chain_makes_long_dry_spells_too_rare_and_blocks_less_so(place):
    daily = place()
    blocks, chain = block_years(daily, *YEAR, 2000, 1), chain_years(fit_chain(daily), *YEAR, 2000, 1)
    longest = spell_table(recorded_years(daily, *YEAR), blocks, chain)["longest_mean_days"]
    assert longest["chain"] < longest["recorded"]
    assert abs(longest["blocks"] - longest["recorded"]) < abs(longest["chain"] - longest["recorded"])
    assert "too rarely" in chain.note


# changed weather


def test_changed_years_are_warmer_and_drier_and_have_no_et0():
    years = recorded_years(numbered().assign(tmean_c=4.0), *SUMMER)
    hot = changed(years, warmer_c=2.0, rain_factor=0.5)
    np.testing.assert_array_equal(hot.rain_mm, years.rain_mm * 0.5)
    for name in ("tmin_c", "tmax_c"):
        np.testing.assert_array_equal(getattr(hot, name), getattr(years, name) + 2.0)
    np.testing.assert_array_equal(hot.others["tmean_c"], 6.0)
    np.testing.assert_array_equal(hot.others["wind_m_s"], years.others["wind_m_s"])
    assert hot.et0_mm is None
    assert hot.note.startswith(years.note)
    assert "Rain times 0.5" in hot.note
    assert "+2 °C on every day, with no ET0" in hot.note


def test_changed_rain_alone_keeps_et0():
    years = recorded_years(numbered(), *SUMMER)
    np.testing.assert_array_equal(changed(years, rain_factor=1.2).et0_mm, years.et0_mm)
    assert changed(years).note == years.note


def test_a_changed_record_gives_the_same_years_as_changed_years():
    daily = numbered()
    before = daily.copy()
    changes = {"warmer_c": 1.5, "rain_factor": 0.8}
    early, late = (
        recorded_years(changed(daily, **changes), *WINTER),
        changed(recorded_years(daily, *WINTER), **changes),
    )
    for name in ("rain_mm", "tmin_c", "tmax_c"):
        np.testing.assert_array_equal(getattr(early, name), getattr(late, name))
    assert early.et0_mm is late.et0_mm is None
    pd.testing.assert_frame_equal(daily, before)


def test_et0_alone_cannot_be_made_warmer():
    daily = numbered()[["rain_mm", "et0_mm"]]
    for weather in (daily, recorded_years(daily, *SUMMER)):
        with pytest.raises(WeatherError, match="tmin_c"):
            changed(weather, warmer_c=1.0)


@pytest.mark.parametrize("change", [{"rain_factor": -0.1}, {"rain_factor": np.inf}, {"warmer_c": np.nan}])
def test_an_impossible_change_is_refused(change):
    with pytest.raises(RangeError):
        changed(numbered(), **change)
