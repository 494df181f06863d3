"""One suggestion out of a fit: sure, of use by itself, and said as it would be written."""

import shutil
from dataclasses import replace

import pytest
from readme import ROOT

from waterbudget.answers.suggestion import SAYS, agreement, suggested
from waterbudget.journal.fit import AlternativeOptimum, Confounded, find_fit, write_values
from waterbudget.journal.quantities import quantities_of
from waterbudget.journal.suggestion import SURE_ERRORS, WORTH_IT, suggestions


@pytest.fixture(scope="module")
def folder(tmp_path_factory):
    folder = tmp_path_factory.mktemp("garden")
    shutil.copy(ROOT / "data_demo" / "weather.csv", folder)
    shutil.copytree(ROOT / "data_demo" / "journal", folder / "journal")
    return folder / "journal"


@pytest.fixture(scope="module")
def fitted(folder):
    return find_fit(folder / "site.toml")


def of(one, fitted):
    return next(each for each in fitted.estimates if each.quantity == one.quantity)


def test_each_is_sure_and_of_use_alone_and_the_most_useful_comes_first(fitted):
    found = suggestions(fitted)
    assert len(found) > 1
    assert [one.left for one in found] == sorted(one.left for one in found)
    for one in found:
        estimate = of(one, fitted)
        assert abs(estimate.fitted - one.quantity.now) > SURE_ERRORS * estimate.error
        assert one.left <= WORTH_IT
        assert one.value == pytest.approx(estimate.fitted, rel=0.06), "two figures of it"


def test_what_is_left_of_the_miss_is_what_is_left_once_it_is_written(folder, fitted):
    """Reckoned side by side in the fit, and again from the file that was written."""
    first = suggestions(fitted)[0]
    before = (folder / "site.toml").read_bytes()
    (tank,) = fitted.readings.level_l
    write_values(folder / "site.toml", fitted.site, [(first.quantity, first.value)])
    again = find_fit(folder / "site.toml")
    (folder / "site.toml").write_bytes(before)
    assert again.misses_l(tank)[0] / fitted.misses_l(tank)[0] == pytest.approx(first.left, abs=0.03)


def test_what_cannot_be_told_apart_is_not_suggested(fitted):
    first = suggestions(fitted)[0]
    place = fitted.estimates.index(of(first, fitted))
    for unclear in (
        replace(fitted, confounded=(Confounded((place, 0), 0.99),)),
        replace(fitted, alternatives=(AlternativeOptimum(place, 1.0),)),
        replace(fitted, estimates=tuple(one._replace(error=None) for one in fitted.estimates)),
        replace(fitted, estimates=tuple(one._replace(at_bound=True) for one in fitted.estimates)),
        replace(fitted, left_alone=(1.0,) * len(fitted.estimates)),
    ):
        assert first.quantity not in [one.quantity for one in suggestions(unclear)]


def test_there_are_words_for_every_quantity_that_a_fit_changes(fitted):
    keys = {one.key for one in quantities_of(fitted.site, fitted.readings.first_l) if not one.is_start}
    assert keys <= set(SAYS)
    for one in suggestions(fitted):
        said = suggested(one)
        assert said.startswith(one.quantity.name)
        assert f"{one.value:g}" in said or f"{100 * one.value:.0f} %" in said


def test_agreement_is_said_as_such_only_where_it_is_one(fitted):
    assert agreement(fitted) == "The stick and the reckoning are as much as 300 L apart."
    close = replace(fitted, now_l=fitted.fitted_l)
    assert agreement(close) == "The stick and the reckoning agree to within 15 L."
