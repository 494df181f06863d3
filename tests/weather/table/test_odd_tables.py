"""Tables of every odd kind that gardeners and weather services have, each of the same forty days."""
# ruff: noqa: E501, B905, RUF005 -- each table on a line; its columns are equally long

import datetime as dt
import io

import numpy as np
import openpyxl
import pytest

from waterbudget.weather.table.understand import understand

DAYS = [dt.date(2031, 4, 20) + dt.timedelta(days=number) for number in range(40)]
RAIN = [round(0.4 * (number * 7 % 11), 1) if number % 3 == 0 else 0.0 for number in range(40)]
LOW = [round(4.0 + number * 5 % 13 / 2.0, 1) for number in range(40)]
HIGH = [round(low + 6.3 + number * 3 % 7, 1) for number, low in enumerate(LOW)]
HUMID = [55.0 + number * 7 % 31 for number in range(40)]
WIND = [round(0.8 + number * 3 % 10 / 4.0, 2) for number in range(40)]
SUN = [round(number * 5 % 14 * 0.9, 1) for number in range(40)]
ALL = {"rain_mm": RAIN, "tmin_c": LOW, "tmax_c": HIGH}
EVERY = ALL | {"rh_mean_pct": HUMID, "wind_m_s": WIND, "sun_hours": SUN}


def csv(head, rows, separator=",", end="\n"):
    return end.join(separator.join(map(str, cells)) for cells in [head, *rows]) + end


def three(date="{:%Y-%m-%d}", number=str, days=DAYS):
    """Rows of date, rain, lowest and highest."""
    return [(date.format(day), number(RAIN[n]), number(LOW[n]), number(HIGH[n])) for n, day in enumerate(days)]


def comma(number):
    return str(number).replace(".", ",")


def book(rows, title="Weather", **formats):
    workbook = openpyxl.Workbook()
    sheet = workbook.active
    sheet.title = title
    for row in rows:
        sheet.append(list(row))
    for column, number_format in formats.items():
        for cell in sheet[column][1:]:
            cell.number_format = number_format
    content = io.BytesIO()
    workbook.save(content)
    return content.getvalue()


def sheets(tables):
    workbook, content = openpyxl.Workbook(), io.BytesIO()
    workbook.remove(workbook.active)
    for title, rows in tables.items():
        sheet = workbook.create_sheet(title)
        for row in rows:
            sheet.append(list(row))
    workbook.save(content)
    return content.getvalue()


def merged():
    workbook, content = openpyxl.Workbook(), io.BytesIO()
    sheet = workbook.active
    for row in [("Date", "Rain", "Temperature", None), (None, "mm", "Min", "Max"), *zip(DAYS, RAIN, LOW, HIGH)]:
        sheet.append(list(row))
    sheet.merge_cells("A1:A2")
    sheet.merge_cells("C1:D1")
    workbook.save(content)
    return content.getvalue()


GERMAN = [
    (f"{day:%d.%m.%Y}", comma(rain), comma(low), comma(high)) for day, rain, low, high in zip(DAYS, RAIN, LOW, HIGH)
]
HEADS = ("Date", "Rain (mm)", "Min (°C)", "Max (°C)")
FAHRENHEIT = [(day, f"{rain / 25.4:.4f}", f"{low * 1.8 + 32:.2f}", f"{high * 1.8 + 32:.2f}")
              for day, rain, low, high in zip(DAYS, RAIN, LOW, HIGH)]  # fmt: skip

TABLES = {
    "our own file": csv(("date", "rain_mm", "tmin_c", "tmax_c"), three()),
    "headings in words": csv(HEADS, three()),
    "another order": csv(("Highest temperature", "Lowest temperature", "Rainfall", "Reading date"),
                         [row[::-1] for row in three()]),
    "British dates": csv(HEADS, three("{:%d/%m/%Y}")),
    "American dates": csv(HEADS, three("{:%m/%d/%Y}")),
    "dates as a spreadsheet shows them": csv(HEADS, three("{:%d-%b-%y}")),
    "months in letters": csv(HEADS, three("{0:%B} {0.day} {0.year}")),
    "weekdays before dates": csv(HEADS, three("{:%a %d/%m/%Y}")),
    "packed dates": csv(HEADS, three("{:%Y%m%d}")),
    "times of day": csv(HEADS, three("{:%Y-%m-%d 09:00}")),
    "times with a zone": csv(HEADS, three("{:%Y-%m-%dT00:00:00Z}")),
    "two figures for the year": csv(HEADS, three("{:%d/%m/%y}")),
    "days that a spreadsheet counts": csv(HEADS, [((day - dt.date(1899, 12, 30)).days, *row[1:])
                                                 for day, row in zip(DAYS, three())]),
    "newest first": csv(HEADS, three("{:%d/%m/%Y}")[::-1]),
    "any order": csv(HEADS, [three()[number * 7 % 40] for number in range(40)]),
    "year, month and day": csv(("Year", "Month", "Day", "Rain", "Tmin", "Tmax"),
                               [(day.year, day.month, day.day, *row[1:]) for day, row in zip(DAYS, three())]),
    "YYYY MM DD": csv(("YYYY", "MM", "DD", "rain", "tmin", "tmax"),
                      [(day.year, day.month, day.day, *row[1:]) for day, row in zip(DAYS, three())]),
    "month by name, year once": csv(("Jahr", "Monat", "Tag", "Regen", "Min.", "Max."),
                                    [(day.year if number == 0 else "", f"{day:%B}", day.day, *row[1:])
                                     for number, (day, row) in enumerate(zip(DAYS, three()))]),
    "day of the year": csv(("year", "doy", "rain", "tmin", "tmax"),
                           [(day.year, day.timetuple().tm_yday, *row[1:]) for day, row in zip(DAYS, three())]),
    "year in the title": "Weather at Brackenfold 2031\n\n" + csv(HEADS, three("{0.day} {0:%B}")),
    "year in the file's name": ("rain 2031.csv", csv(HEADS, three("{:%d/%m}"))),
    "German": csv(("Datum", "Niederschlag [mm]", "Tiefsttemperatur", "Höchsttemperatur"), GERMAN, ";"),
    "German, old code page": csv(("Datum", "Niederschlagshöhe", "Min. Temp. °C", "Max. Temp. °C"), GERMAN, ";", "\r\n")
    .encode("cp1252"),
    "French": csv(("Date", "Pluie (mm)", "Température minimale", "Température maximale"),
                  [(f"{day:%d/%m/%Y}", *row[1:]) for day, row in zip(DAYS, GERMAN)], ";"),
    "Spanish": csv(("Fecha", "Precipitación (mm)", "Temp. mínima (°C)", "Temp. máxima (°C)"),
                   [(f"{day:%d-%m-%Y}", *row[1:]) for day, row in zip(DAYS, GERMAN)], ";"),
    "tabs, UTF-16": csv(HEADS, three("{:%d/%m/%Y}", comma), "\t").encode("utf-16"),
    "bars": "\n".join(f"| {' | '.join(cells)} |" for cells in [HEADS, ["---"] * 4, *three()]),
    "columns of blanks": "\n".join(f"{a:<12}{b:>8}{c:>8}{d:>8}" for a, b, c, d in [("date", "rain", "tmin", "tmax"), *three()]),
    "one blank": csv(("date", "rain", "tmin", "tmax"), three(), " "),
    "quoted": csv([f'"{head}"' for head in HEADS], [[f'"{cell}"' for cell in row] for row in three(number=comma)]),
    "codes of a weather service": csv(("DATE", "PRCP", "TMIN", "TMAX"), three()),
    "tenths": csv(("DATE", "PRCP", "TMIN", "TMAX"), three("{:%Y%m%d}", lambda number: round(number * 10))),
    "other codes": csv(("STATION", "MESS_DATUM", "QN", "RSK", "TNK", "TXK", "eor"),
                       [("5", row[0], "3", *row[1:], "eor") for row in three("{:%Y%m%d}")], ";"),
    "a row of units": csv(("Date", "Rain", "Tmin", "Tmax"), [("", "mm", "°C", "°C"), *three()]),
    "two rows of headings": csv(("", "Rain", "Temperature", ""), [("Date", "", "Minimum", "Maximum"), *three()]),
    "titles above": csv(("Brackenfold school garden", "", "", ""), [("Rain and temperatures", "", "", ""),
                        ("", "", "", ""), ("Read at nine", "", "by class 3", ""), HEADS, *three()]),
    "remarks above": "# by class 3\n# lat 53.1, lon -1.9\n" + csv(HEADS, three()),
    "sums below": csv(HEADS, [*three(), ("", "", "", ""), ("Total", sum(RAIN), "", ""), ("Mean", "", 7.0, 13.5)]),
    "headings again on each page": csv(HEADS, [*three()[:20], HEADS, *three()[20:]]),
    "days twice": csv(HEADS, [*three(), *three()[-5:]]),
    "columns that do not count": csv(
        ("Station", "Date", "Weekday", "Rain (mm)", "Snow depth (cm)", "Min (°C)", "Grass min (°C)", "Max (°C)",
         "Dew point (°C)", "Wind direction", "Gust (km/h)", "Pressure hPa", "Notes"),
        [("X1", day, f"{day:%a}", rain, 0, low, low - 3, high, 5, "NW", 60, 1013, "hens, out")[:12] + ('"hens, out"',)
         for day, rain, low, high in zip(DAYS, RAIN, LOW, HIGH)]),
    "days as columns": csv(("Date", *DAYS), [("Rain (mm)", *RAIN), ("Lowest", *LOW), ("Highest", *HIGH)]),
    "units in the cells": csv(("Date", "Rain", "Low", "High"),
                              [(day, f"{rain} mm", f"{low} °C", f"{high}°C")
                               for day, rain, low, high in zip(DAYS, RAIN, LOW, HIGH)]),
    "°F and inches": csv(("Date", "Rain (in)", "Low (°F)", "High (°F)"), FAHRENHEIT),
    "°F and inches untold": csv(("Date", "Precip", "Min Temp", "Max Temp"), FAHRENHEIT),
    "°F and inches in the cells": csv(("Date", "Precip", "Min", "Max"),
                                      [(day, f'{rain}""', f"{low}F", f"{high} F") for day, rain, low, high in FAHRENHEIT])
    .replace('""', " in"),
    "kelvin": csv(("date", "rain mm", "tmin K", "tmax K"),
                  [(day, rain, f"{low + 273.15:.2f}", f"{high + 273.15:.2f}")
                   for day, rain, low, high in zip(DAYS, RAIN, LOW, HIGH)]),
    "traces": csv(HEADS, [(row[0], "tr" if row[1] == "0.0" and n % 2 else row[1], *row[2:]) for n, row in enumerate(three())]),
    "only wet days filled in": csv(HEADS, [(row[0], "" if row[1] == "0.0" else row[1], *row[2:]) for row in three()]),
    "dashes for dry days": csv(HEADS, [(row[0], "-" if row[1] == "0.0" else row[1], *row[2:]) for row in three()]),
    "dry in words": csv(HEADS, [(row[0], "none" if row[1] == "0.0" else row[1], *row[2:]) for row in three()]),
    "flags": csv(HEADS, [(row[0], f"{row[1]}*", f"{row[2]} e", row[3]) for row in three()]),
    "rows that wait to be filled": csv(HEADS, [*three(), *[(DAYS[-1] + dt.timedelta(days=n), "", "", "") for n in range(1, 90)]]),
    "a workbook": book([HEADS, *zip(DAYS, RAIN, LOW, HIGH)]),
    "a workbook with titles": book([["Brackenfold"], [], ["Class 3", None, 2031], HEADS, *zip(DAYS, RAIN, LOW, HIGH)]),
    "a workbook with times": book([HEADS, *[(dt.datetime.combine(day, dt.time(9)), *row)
                                           for day, row in zip(DAYS, zip(RAIN, LOW, HIGH))]]),
    "a workbook with dates in words": book([HEADS, *[(f"{day:%d/%m/%Y}", *map(comma, row))
                                                    for day, row in zip(DAYS, zip(RAIN, LOW, HIGH))]]),
    "a workbook of the year": book([["", "Rain", "Min", "Max"], *[(f"{day:%d.%m.}", *row)
                                   for day, row in zip(DAYS, zip(RAIN, LOW, HIGH))]], title="2031"),
    "wide": csv(("Date", "Rain (mm)", "Tmin (°C)", "Tmax (°C)", "RH (%)", "Wind (m/s)", "Sunshine (h)"),
                zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)),
    "other units": csv(("Datum", "Regen l/m²", "Tmin", "Tmax", "Luftfeuchte", "Wind (km/h)", "Sonne (min)"),
                       [(f"{day:%d.%m.%Y}", rain, low, high, f"{humid} %", f"{wind * 3.6:.3f}", f"{sun * 60:.1f}")
                        for day, rain, low, high, humid, wind, sun in zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)], ";"),
    "knots and clock": csv(("Date", "Rain mm", "Tn", "Tx", "RH", "Wind (kt)", "Sun hours"),
                           [(day, rain, low, high, humid / 100, f"{wind / 0.514444:.4f}",
                             f"{int(sun)}:{round(sun % 1 * 60):02d}")
                            for day, rain, low, high, humid, wind, sun in zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)]),
    "mph and fractions": csv(("Date", "Rain mm", "Tmin C", "Tmax C", "Humidity (0-1)", "Wind mph", "Hours of sun"),
                             [(day, rain, low, high, f"{humid / 100:.3f}", f"{wind / 0.44704:.4f}", sun)
                              for day, rain, low, high, humid, wind, sun in zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)]),
    "a workbook of shares": book([("Date", "Rain", "Min", "Max", "Humidity", "Wind km/h", "Sun"),
                                  *[(day, rain, low, high, humid / 100, wind * 3.6, dt.timedelta(hours=sun))
                                    for day, rain, low, high, humid, wind, sun
                                    in zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)]], E="0%", G="[h]:mm"),
    "names of a data service": csv(
        ("time", "precipitation_sum (mm)", "temperature_2m_min (°C)", "temperature_2m_max (°C)",
         "relative_humidity_2m_mean (%)", "wind_speed_10m_mean (km/h)", "sunshine_duration (s)"),
        [(day, rain, low, high, humid, f"{wind * 3.6:.3f}", f"{sun * 3600:.1f}")
         for day, rain, low, high, humid, wind, sun in zip(DAYS, RAIN, LOW, HIGH, HUMID, WIND, SUN)]),
    "the spreadsheet's own hint above": "sep=;\n" + csv(HEADS, three(), ";"),
    "facts above": "Station name,Brackenfold\nLatitude,53.1\nElevation (m),90\nFrom,2031-04-20\n\n" + csv(HEADS, three()),
    "whole lines in quotes": "\n".join(f'"{line}"' for line in csv(HEADS, three()).splitlines()),
    "one reading a row": csv(("ID", "DATE", "ELEMENT", "VALUE", "FLAG"),
                             [("X1", f"{day:%Y%m%d}", element, value, "") for n, day in enumerate(DAYS)
                              for element, value in (("PRCP", RAIN[n]), ("TMAX", HIGH[n]), ("TMIN", LOW[n]), ("SNOW", 0))]),
    "a sheet a month": sheets({f"{month} 2031": [HEADS, *[(day, *row) for day, *row in zip(DAYS, RAIN, LOW, HIGH) if day.month == number]]
                               for number, month in ((4, "April"), (5, "May"))}),
    "a sheet a month, days by number": sheets(
        {f"{month} 2031": [("Day", *HEADS[1:]), *[(day.day, *row) for day, *row in zip(DAYS, RAIN, LOW, HIGH) if day.month == number]]
         for number, month in ((4, "April"), (5, "May"))}),
    "a heading over merged cells": merged(),
    "dates whose heading tells their order": csv(("Date (dd/mm/yyyy)", *HEADS[1:]), three("{:%d/%m/%Y}")),
}  # fmt: skip


@pytest.mark.parametrize("kind", TABLES)
def test_a_table_of_any_kind_is_understood(kind):
    table = TABLES[kind]
    name, content = table if isinstance(table, tuple) else ("weather.csv", table)
    understood = understand(content if isinstance(content, bytes) else content.encode(), name)
    expected = EVERY if len(understood.readings) == len(EVERY) else ALL
    assert understood.lacking == ()
    assert sorted(understood.daily) == sorted(expected)
    assert list(understood.daily.index.date) == DAYS
    for column, values in expected.items():
        # clock times are whole minutes, knots and inches have four decimals
        np.testing.assert_allclose(understood.daily[column], values, atol=0.01, err_msg=f"{kind}: {column}")
    assert understood.odd == ()
