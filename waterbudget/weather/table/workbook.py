"""The sheets of an .xlsx workbook, values only: no macro, no formula and no link of it is ever followed."""

import datetime as dt
import io
import warnings
import zipfile
import zlib
from collections.abc import Iterator
from itertools import islice
from typing import TYPE_CHECKING, Any

from waterbudget.errors import WeatherError
from waterbudget.rows.sheet import Row
from waterbudget.units import S_PER_MIN

if TYPE_CHECKING:
    from openpyxl.cell.read_only import EmptyCell, ReadOnlyCell

ZIPPED = b"PK\x03\x04"
MOST_BYTES = 300_000_000  # unpacked
MOST_SHEETS, MOST_COLUMNS = 60, 200
BLANK_ROWS = 1000  # after which nothing more is looked for
MACROS = ("vbaproject.bin", "macrosheets/", "xlmacro")
BROKEN = (zipfile.BadZipFile, zlib.error, KeyError, ValueError, TypeError, IndexError, AttributeError, OSError)
BROKEN_TOO = (SyntaxError, EOFError, NotImplementedError, RuntimeError)  # a parser's, a cut file's, a locked one's


def is_workbook(content: bytes) -> bool:
    """Whether it is a packed file, as workbooks are."""
    return content.startswith(ZIPPED)


def sheets_of(content: bytes, name: str, most_rows: int) -> list[tuple[str, tuple[Row, ...]]]:
    """Title and filled rows of each sheet that shows, so many rows and one more at most.

    Raises WeatherError, in a line, where it is no workbook or has macros.
    """
    import openpyxl

    _refuse_unsafe(content, name)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # of styles and extensions that are left out
            book = openpyxl.load_workbook(io.BytesIO(content), read_only=True, data_only=True, keep_links=False)
            shown = [sheet for sheet in book.worksheets[:MOST_SHEETS] if sheet.sheet_state == "visible"]
            return [(sheet.title, tuple(islice(_filled_rows(sheet), most_rows + 1))) for sheet in shown]
    except (*BROKEN, *BROKEN_TOO) as error:
        raise WeatherError(f"{name}: is no workbook that can be read; save it anew as .xlsx or CSV") from error


def _refuse_unsafe(content: bytes, name: str) -> None:
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as packed:
            parts = packed.infolist()
            begins = {part.filename: packed.open(part).read(1000) for part in parts if part.filename.endswith(".xml")}
    except (*BROKEN, *BROKEN_TOO):
        raise WeatherError(f"{name}: is a packed file that is cut short or locked; save it anew as .xlsx") from None
    names = [part.filename.lower() for part in parts]
    if any(macro in one for one in names for macro in MACROS):
        raise WeatherError(f"{name}: is a workbook with macros; save it without them, as .xlsx or CSV")
    if not any(one.startswith("xl/") for one in names):
        raise WeatherError(f"{name}: is a packed file, but no .xlsx workbook; save the sheet as .xlsx or CSV")
    if sum(part.file_size for part in parts) > MOST_BYTES:
        raise WeatherError(f"{name}: holds more than {MOST_BYTES / 1e6:.0f} MB; keep the sheet with the weather alone")
    if any(b"<!DOCTYPE" in begin for begin in begins.values()):
        raise WeatherError(f"{name}: is no workbook that can be read; save it anew as .xlsx or CSV")


def _filled_rows(sheet: Any) -> Iterator[Row]:  # noqa: ANN401 -- the stubs know no sheet that is only read
    sheet.reset_dimensions()  # some programs write wrong ones
    blank = 0
    for number, cells in enumerate(sheet.iter_rows(max_col=MOST_COLUMNS), 1):
        texts = tuple(_text(cell) for cell in cells)
        blank = 0 if any(texts) else blank + 1
        if blank > BLANK_ROWS:
            break
        if not blank:
            yield Row(number, texts)


def _text(cell: "ReadOnlyCell | EmptyCell") -> str:
    """A value as a text file would hold it, decimals with a point, days as YYYY-MM-DD."""
    value = cell.value
    if isinstance(value, dt.datetime):
        text = value.date().isoformat() if value.time() == dt.time() else value.isoformat(" ", "seconds")
    elif isinstance(value, dt.timedelta):
        minutes = round(value.total_seconds() / S_PER_MIN)
        text = f"{minutes // 60}:{minutes % 60:02d}"
    elif isinstance(value, dt.time):
        text = value.isoformat("minutes")
    elif isinstance(value, int | float) and not isinstance(value, bool):
        is_share = str(cell.number_format).endswith("%")
        text = f"{100.0 * value:.12g} %" if is_share else f"{value:.15g}"
    else:
        text = "" if value is None else str(value).strip()
    return text
