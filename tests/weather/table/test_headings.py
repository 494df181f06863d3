"""What the words over a column mean, in four languages, and which words are of something else."""
# ruff: noqa: E501 -- words in rows

import pytest

from waterbudget.tables.read import read_rows
from waterbudget.weather.files import COLUMNS
from waterbudget.weather.table.headings import CALENDAR, folded, meaning
from waterbudget.weather.table.units import kind_of, unit

WORDS = {
    "date": "Date; DATE; Reading date; Datum; Fecha; Date du relevé; MESS_DATUM; Week ending; date_time",
    "rain_mm": "Rain; Rainfall (mm); Precipitation [in]; rain_mm; RainTotal_mm; PRCP; RR; Niederschlag; Regenmenge l/m²; "
    "Niederschlagshöhe; Pluie; Précipitations (mm); Hauteur de pluie; Lluvia; Precipitación; Rain gauge; Total rain; "
    'Rain "; Rain in; rain, mm; Pluviomètre; precipitation_sum (mm); RSK; prectotcorr',
    "tmin_c": "Tmin; TMIN; Min temp; Temp. min. (°F); Lowest temperature; Low; Overnight low; Tiefsttemperatur; TNK; TN; "
    "Température minimale; T° min; Temperatura mínima; temperature_2m_min (°C); T2M_MIN; minTemp; Minimum; Tiefst",
    "tmax_c": "Tmax; MAX; High; Max. temperature; Höchsttemperatur (°C); TXK; Température maximale; Temperatura máxima; "
    "temp_max; Warmest; Höchst; tx",
    "tmean_c": "Temp; Temperature (°C); Average temp; TAVG; Mitteltemperatur; Température moyenne; Temperatura media; T; °C",
    "rh_mean_pct": "Humidity; RH (%); Relative humidity; Luftfeuchtigkeit; Humidité relative; Humedad media; UPM; rhum",
    "rh_min_pct": "Min humidity; Lowest RH; RHmin; Luftfeuchte min",
    "rh_max_pct": "Max humidity (%); RH max; Humidité maximale",
    "wind_m_s": "Wind; Wind speed (km/h); Mean wind mph; Windgeschwindigkeit; Vitesse du vent; Viento (m/s); AWND; ws2m",
    "sun_hours": "Sun; Sunshine hours; Sunshine duration (s); Sonnenscheindauer; Sonne (min); Insolation; Horas de sol; SDK",
    "solar_mj_m2": "Solar radiation; Globalstrahlung J/cm²; Rayonnement global; Radiación solar; Solar W/m2; "
    "shortwave_radiation_sum (MJ/m²)",
    "et0_mm": "ET0; ETo (mm); Reference evapotranspiration; et0_fao_evapotranspiration (mm); ETP; Verdunstung (mm)",
    "year": "Year; YYYY; Jahr; Année; Año",
    "month": "Month; Monat; Mois; Mes",
    "": "Notes; Station; Wind direction; Gust (km/h); Max wind gust; Dew point; Taupunkt; Snow depth (cm); Soil temp; Grass min; "
    "Pressure hPa; Luftdruck; Rain rate; Rain duration (h); Max/Min temp; Sunrise; Weekday; Cumulative rain; "
    "Rain year to date; Feels like; Water temperature; Mean; Total; QN_3; Name; Cloud cover; UV index; Temp départure; "
    "Température du sol; Rafales; Max wind; Wind (Bft); Windstärke; Rain this month",
}


@pytest.mark.parametrize(
    ("column", "heading"), [(column, one.strip()) for column, words in WORDS.items() for one in words.split(";")]
)
def test_a_heading_is_understood(column, heading):
    assert meaning(heading).column == column


@pytest.mark.parametrize(
    ("heading", "written"),
    [
        ("Rain (mm)", "mm"), ("Rain [in]", "in"), ("rain_mm", "mm"), ("Rain in mm", "mm"), ("Rain, inches", "in"), ('Rain "', "in"),
        ("Regen l/m²", "mm"), ("Rain (tenths of mm)", "0.1 mm"), ("RR 0.1 mm", "0.1 mm"), ("Tmax °F", "°f"), ("Tmax (F)", "°f"),
        ("temp_max_c", "°c"), ("T (deg C)", "°c"), ("min temp (tenths of °C)", "0.1 °c"), ("Temp K", "k"), ("RH %", "%"),
        ("Wind km/h", "km/h"), ("Wind (kts)", "kn"), ("wind_speed_10m_mean (km/h)", "km/h"), ("Wind m/s", "m/s"),
        ("Windgeschwindigkeit [m s-1]", "m/s"), ("Sun (hrs)", "h"), ("Sonne (min)", "min"), ("sunshine_duration (s)", "s"),
        ("Solar W/m²", "w/m2"), ("Solar (kWh/m2/day)", "kwh/m2"), ("Globalstrahlung J/cm²", "j/cm2"), ("ET0 (mm/day)", "mm/day"),
    ],
)  # fmt: skip
def test_a_unit_is_found_in_a_heading(heading, written):
    found = meaning(heading)
    assert found.unit == unit(written, kind_of(found.column))


@pytest.mark.parametrize("heading", ["Rain", "Tmax", "Max. temp.", "Min", "Humidity", "Wind", "Sun", "Solar radiation"])
def test_no_unit_is_made_up(heading):
    assert meaning(heading).unit is None


def test_the_height_of_the_wind_is_read_from_its_heading():
    assert meaning("wind_speed_10m_mean (km/h)").height_m == 10.0
    assert meaning("Wind at 2 m (m/s)").height_m == 2.0
    assert meaning("Wind m/s").height_m is None


def test_weeks_are_told_by_their_dates():
    assert (meaning("Week ending").weekly, meaning("Week ending").begins) == (True, False)
    assert (meaning("Week commencing").weekly, meaning("Week commencing").begins) == (True, True)


def test_every_word_of_the_table_is_written_as_it_is_looked_for():
    rows = read_rows("headings")
    assert all(row["words"] == folded(row["words"]) for row in rows)
    assert len({(row["words"], row["whole"]) for row in rows}) == len(rows)
    known = {"rain", "temperature", "humidity", "wind", "sun", "radiation", "et0", "min", "max", "mean", "sum", "other"}
    assert {means for row in rows for means in row["means"].split()} <= known | {*CALENDAR, "week", "begins"}
    assert {row["language"] for row in rows} == {"English", "German", "French", "Spanish", "abbreviation"}
    for language in ("English", "German", "French", "Spanish"):
        said = {means for row in rows if row["language"] == language for means in row["means"].split()}
        assert said >= {"date", "rain", "temperature", "min", "max", "humidity", "wind", "sun"}


@pytest.mark.parametrize(
    ("written", "value", "ours"),
    [
        ("in", 1.0, 25.4),  # by definition of the inch
        ("°f", 212.0, 100.0),  # boiling water
        ("k", 273.15, 0.0),
        ("km/h", 36.0, 10.0),
        ("kn", 1.0, 1852.0 / 3600.0),  # by definition of the knot
        ("mph", 1.0, 1609.344 / 3600.0),  # by definition of the mile
        ("min", 90.0, 1.5),
        ("kwh/m2", 1.0, 3.6),
        ("w/m2", 100.0, 8.64),  # FAO-56 Table 3: 1 W/m2 is 0.0864 MJ/m2 a day
        ("j/cm2", 100.0, 1.0),  # FAO-56 Table 3: 1 J/cm2 a day is 0.01 MJ/m2 a day
        ("cal/cm2", 100.0, 4.184),  # FAO-56 Table 3 rounds it: 1 cal/cm2 is 0.041868
    ],
)
def test_units_are_converted(written, value, ours):
    assert unit(written).in_ours(value) == pytest.approx(ours, rel=1e-12)


def test_each_column_of_the_weather_file_has_a_kind_of_unit():
    assert {kind_of(column) for column in COLUMNS} == {row["kind"] for row in read_rows("units")}
