import pytest

from waterbudget.tables.crops import find_crop
from waterbudget.tables.kcb import basal_kc
from waterbudget.tables.read import read_rows


@pytest.mark.parametrize(
    ("crop", "printed"),
    [  # FAO-56 Table 17, p. 137 to 139
        ("lettuce", (0.15, 0.90, 0.90)),
        ("potato", (0.15, 1.10, 0.65)),
        ("carrot", (0.15, 0.95, 0.85)),
        ("tomato", (0.15, 1.10, 0.70)),  # end: middle of the printed 0.60-0.80
        ("cordon tomato", (0.15, 1.15, 0.70)),  # footnote 2: on stakes
    ],
)
def test_printed_basal_coefficients(crop, printed):
    assert basal_kc(find_crop(crop)) == printed


def test_every_row_is_a_crop_and_stays_below_its_kc():
    crops = {row["crop"]: row for row in read_rows("crops")}
    for row in read_rows("kcb"):
        assert row["crop"] in crops
        for stage in ("mid", "end"):
            assert float(row[f"kcb_{stage}"]) <= float(crops[row["crop"]][f"kc_{stage}"]) + 1e-9, row


def test_a_crop_without_a_row_has_none():
    assert basal_kc(find_crop("Sudan grass hay (annual), averaged cutting effects")) is None
