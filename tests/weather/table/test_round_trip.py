"""Weather drawn at random, written as a table of a random odd shape, and read back to the same numbers."""
# ruff: noqa: E501, DTZ007 -- words in rows; days have no zone

import csv
import datetime as dt
import io
from dataclasses import dataclass, field

import numpy as np
import openpyxl
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from waterbudget.weather.table.understand import understand

HEADS = {  # words for each column; the unit is added
    "date": ["Date", "DATE", "Datum", "Fecha", "Reading date", "date du relevé", "Observed", "Timestamp"],
    "rain_mm": ["Rain", "rainfall", "Precipitation", "PRCP", "Niederschlag", "Regenmenge", "Pluie", "Lluvia", "RR", "rain_sum"],
    "tmin_c": ["Tmin", "Min temp", "Lowest temperature", "temp_min", "Tiefsttemperatur", "Température minimale",
               "Temperatura mínima", "TN", "Low", "Overnight low", "minTemp"],
    "tmax_c": ["Tmax", "Max. temp.", "Highest temperature", "temp_max", "Höchsttemperatur", "Température maximale",
               "Temperatura máxima", "TX", "High", "maxTemp"],
    "rh_mean_pct": ["Humidity", "RH", "Relative humidity", "Luftfeuchte", "Humidité relative", "Humedad media", "rhum"],
    "wind_m_s": ["Wind", "Wind speed", "Windgeschwindigkeit", "Vitesse du vent", "Viento", "wspd"],
    "sun_hours": ["Sunshine", "Sun", "Sonnenscheindauer", "Insolation", "Horas de sol"],
}  # fmt: skip
UNITS = {  # how it is written: what to make of a value in ours
    "rain_mm": {"mm": lambda v: v, "in": lambda v: v / 25.4, "l/m²": lambda v: v, "0.1 mm": lambda v: v * 10},
    "tmin_c": {"°C": lambda v: v, "°F": lambda v: v * 9 / 5 + 32, "K": lambda v: v + 273.15, "deg C": lambda v: v},
    "rh_mean_pct": {"%": lambda v: v, "fraction": lambda v: v / 100},
    "wind_m_s": {"m/s": lambda v: v, "km/h": lambda v: v * 3.6, "mph": lambda v: v / 0.44704, "kn": lambda v: v * 3600 / 1852},
    "sun_hours": {"h": lambda v: v, "min": lambda v: v * 60},
}  # fmt: skip
UNITS["tmax_c"] = UNITS["tmin_c"]
DATES = [
    "%Y-%m-%d",
    "%d/%m/%Y",
    "%m/%d/%Y",
    "%d.%m.%Y",
    "%d-%b-%Y",
    "%B %d, %Y",
    "%Y%m%d",
    "%a %d/%m/%y",
    "%d %b %Y 09:00",
]
JUNK = {
    "Notes": "hens out",
    "Station": "X0001",
    "Wind direction": "NW",
    "Snow depth (cm)": "0",
    "QN": "3",
    "Gust km/h": "40",
}
DECIMALS = 5
TOLERANCE = {"rain_mm": 3e-4, "tmin_c": 1e-4, "tmax_c": 1e-4, "rh_mean_pct": 1e-3, "wind_m_s": 1e-4, "sun_hours": 1e-4}


@dataclass
class Drawn:
    """A table and what it should give."""

    content: bytes = field(repr=False)
    name: str
    days: list = field(repr=False)
    weather: dict = field(repr=False)
    lines: list  # the first ones


@st.composite
def tables(draw):
    count = draw(st.integers(16, 40))
    first = draw(st.dates(dt.date(1970, 1, 1), dt.date(2060, 1, 1)))
    days = [first + dt.timedelta(days=number) for number in range(count)]
    weather = draw_weather(draw, count)
    decimal, separator = draw(
        st.sampled_from([(".", ","), (".", ";"), (",", ";"), (".", "\t"), (",", "\t"), (".", "|")])
    )
    rows = [head_of(draw, weather)]
    heads, columns = rows[0]
    form = draw(st.sampled_from(DATES))
    body = []
    for number, day in enumerate(days):
        cells = {"date": day.strftime(form)}
        for column, write in columns.items():
            cells[column] = f"{write(weather[column][number]):.{DECIMALS}f}"
        body.append(cells)
    junk = draw(st.lists(st.sampled_from(sorted(JUNK)), max_size=3, unique=True))
    order = draw(st.permutations([*heads, *junk]))
    arranged = draw(st.sampled_from(["as it came", "newest first", "shuffled"]))
    if arranged == "newest first":
        body.reverse()
    elif arranged == "shuffled":
        body = draw(st.permutations(body))
    lines = [[heads.get(key, key) for key in order]]
    lines += [[row.get(key, JUNK.get(key, "")) for key in order] for row in body]
    above = [
        [text] for text in draw(st.lists(st.sampled_from(["Brackenfold", "Read at nine", "", "Class 3"]), max_size=3))
    ]
    below = [["Total" if key == "date" else "" for key in order]] if draw(st.booleans()) else []
    lines = [*above, *lines, *below]
    if draw(st.integers(0, 3)) == 0:
        return Drawn(workbook(lines, form), "weather.xlsx", days, weather, lines[:6])
    text = io.StringIO()
    quoting = draw(st.sampled_from([csv.QUOTE_MINIMAL, csv.QUOTE_ALL]))
    end = draw(st.sampled_from(["\n", "\r\n"]))
    writer = csv.writer(text, delimiter=separator, quoting=quoting, lineterminator=end)
    values = {key for key in order if key in columns}
    width = len(order)
    for line in lines:
        places = [order[n] for n in range(len(line))] if len(line) == width else []
        writer.writerow(
            [cell.replace(".", decimal) if places and places[n] in values and is_number(cell) else cell
             for n, cell in enumerate(line)]
        )  # fmt: skip
    encoding = draw(st.sampled_from(["utf-8", "utf-8-sig", "cp1252", "utf-16"]))
    return Drawn(text.getvalue().encode(encoding), "weather.csv", days, weather, lines[:6])


def draw_weather(draw, count):
    seed = np.random.default_rng(draw(st.integers(0, 2**32 - 1)))
    low = np.round(seed.uniform(-5.0, 14.0, count), 1)
    weather = {
        "rain_mm": np.round(seed.gamma(0.6, 6.0, count) * (seed.random(count) < 0.5), 1),
        "tmin_c": low,
        "tmax_c": np.round(low + seed.uniform(0.5, 14.0, count), 1),
        "rh_mean_pct": np.round(seed.uniform(30.0, 99.0, count)),
        "wind_m_s": np.round(seed.uniform(0.2, 9.0, count), 1),
        "sun_hours": np.round(seed.uniform(0.0, 15.0, count), 1),
    }
    weather["rain_mm"][0] = 0.0  # a dry day is written down, so a blank is none
    extra = draw(st.lists(st.sampled_from(["rh_mean_pct", "wind_m_s", "sun_hours"]), unique=True))
    return {column: weather[column] for column in ["rain_mm", "tmin_c", "tmax_c", *extra]}


def head_of(draw, weather):
    """A heading for each column, and how its values are written."""
    heads, columns = {"date": draw(st.sampled_from(HEADS["date"]))}, {}
    for column in weather:
        unit = draw(st.sampled_from(sorted(UNITS[column])))
        shape = draw(st.sampled_from(["{} ({})", "{} [{}]", "{}, {}", "{} {}"]))
        heads[column] = shape.format(draw(st.sampled_from(HEADS[column])), unit)
        columns[column] = UNITS[column][unit]
    return heads, columns


def is_number(cell):
    try:
        float(cell)
    except ValueError:
        return False
    return True


def workbook(lines, form):
    book = openpyxl.Workbook()
    for line in lines:
        book.active.append([as_cell(cell, form) for cell in line])
    content = io.BytesIO()
    book.save(content)
    return content.getvalue()


def as_cell(cell, form):
    """What a spreadsheet makes of a text that is typed in."""
    if is_number(cell) and form != "%Y%m%d":
        return float(cell)
    try:
        return dt.datetime.strptime(cell, form)
    except ValueError:
        return float(cell) if is_number(cell) else cell


@settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(tables())
def test_a_table_of_any_shape_gives_the_weather_that_was_written(drawn):
    understood = understand(drawn.content, drawn.name)
    assert list(understood.daily.index.date) == drawn.days
    assert sorted(understood.daily) == sorted(drawn.weather)
    for column, values in drawn.weather.items():
        np.testing.assert_allclose(understood.daily[column], values, atol=TOLERANCE[column], rtol=0, err_msg=column)
    assert understood.odd == ()
    assert understood.lacking == ()
