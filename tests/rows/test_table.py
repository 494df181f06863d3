"""Tables as CSV files: no spreadsheet runs a name, and numbers stay as they are."""

import csv
import io

import numpy as np
import pandas as pd

from waterbudget.rows.cells import unguarded
from waterbudget.rows.table import csv_of


def test_a_table_is_written_with_its_texts_guarded_and_its_numbers_as_they_are():
    dates = pd.DatetimeIndex(["2031-05-01", "2031-05-02"])
    table = pd.DataFrame({"date": dates, "tank": ["=1+1", "Butt"], "level_l": [-3.2, np.nan], "note": [None, "-5"]})
    assert csv_of(table) == b"date,tank,level_l,note\n2031-05-01,'=1+1,-3.2,\n2031-05-02,Butt,,'-5\n"
    rows = list(csv.reader(io.StringIO(csv_of(table.set_index("date"), "date").decode())))
    assert [unguarded(cell) for cell in rows[1]] == ["2031-05-01", "=1+1", "-3.2", ""]
