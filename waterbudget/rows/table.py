"""Tables as CSV files that spreadsheets open and run nothing of."""

from typing import TYPE_CHECKING

from waterbudget.rows.cells import guarded

if TYPE_CHECKING:
    import pandas as pd


def csv_of(table: "pd.DataFrame", index_label: str | None = None) -> bytes:
    """A table as a CSV file: texts guarded, dates as YYYY-MM-DD; index_label: head of its index, None for none."""
    texts = table.select_dtypes("object")
    safe = {str(name): column.map({text: _safe(text) for text in column.unique()}) for name, column in texts.items()}
    written = table.assign(**safe)
    return written.to_csv(
        index=index_label is not None, index_label=index_label, date_format="%Y-%m-%d", lineterminator="\n"
    ).encode()


def _safe(value: object) -> object:
    return guarded(value) if isinstance(value, str) else value
