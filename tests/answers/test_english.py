"""Prices in plain English."""

import pytest

from waterbudget.answers.english import money


@pytest.mark.parametrize(
    ("amount", "currency", "words"),
    [
        (85.0, None, "85"),
        (84.5, None, "84.50"),
        (1234.0, "£", "£1,234"),
        (3.4, "€", "€3.40"),
        (12.0, "EUR", "12 EUR"),
        (12.0, "kr", "12 kr"),
        (-3.25, "£", "\N{MINUS SIGN}£3.25"),
        (-0.001, "£", "£0"),
    ],
)
def test_money(amount, currency, words):
    assert money(amount, currency) == words
