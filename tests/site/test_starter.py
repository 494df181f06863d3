import re
import tomllib
from dataclasses import replace
from types import UnionType
from typing import get_args

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import BaseModel

import waterbudget
from waterbudget.errors import InputError, OutputError, SiteError
from waterbudget.example import site_path
from waterbudget.site.growth import growth_of
from waterbudget.site.model import Bed, Model, Roof, Site, Tank, WeatherSource, Zone
from waterbudget.site.starter import (
    QUESTIONS,
    Answers,
    refuse_starter,
    starter_notes,
    starter_site,
    starter_steps,
    write_starter,
)
from waterbudget.tables.cautions import cautions
from waterbudget.tables.coverings import find_covering
from waterbudget.tables.crops import find_crop, search_crops, stage_days
from waterbudget.tables.soils import find_soil, search_soils

SWITCHED_OFF = re.compile(r"^#(?=\[|[a-z_0-9]+ = )", re.MULTILINE)  # a "#" right before a head or a key
EITHER_OR = re.compile(
    r"^#(overflow_to|weekdays|nearest|station|fill|k_l_h|points|pots|pot_litres|pot_diameter_cm|high_c|low_c) = .*\n",
    re.MULTILINE,
)  # cannot stand beside what is live
QUESTION = {question.field: question for question in QUESTIONS}
POSITIVE = st.floats(0.01, 1e6)


def made(answers):
    return Site.model_validate(tomllib.loads(starter_site(answers)))


def all_switched_on(answers):
    text = EITHER_OR.sub("", starter_site(answers)).replace('mains = "none"', 'mains = "float"')
    return Site.model_validate(tomllib.loads(SWITCHED_OFF.sub("", text)))


def models(kind=Site):
    """Every model of the site file with its keys as they are written."""
    yield kind, {field.alias or name for name, field in kind.model_fields.items()}
    for field in kind.model_fields.values():
        parts = get_args(field.annotation) or (field.annotation,)
        for part in parts:
            if isinstance(part, type) and not isinstance(part, UnionType) and issubclass(part, BaseModel):
                yield from models(part)


def test_the_defaults_load_and_run_with_the_weather_that_comes_along(tmp_path):
    site = waterbudget.load_site(write_starter(tmp_path / "garden", Answers()))
    weather = waterbudget.read_weather(tmp_path / "garden" / site.weather.file, site)
    summary = waterbudget.run(site, weather).summary
    assert summary["days"] == len(weather.daily) > 100
    assert summary["asked_l"] > 0
    assert summary["beds"][0]["eta_over_etc"] > 0.5


@pytest.mark.parametrize("latitude_deg", [90.0, 66.6, 0.0, -0.1, -33.9, -90.0])
def test_it_runs_wherever_the_garden_lies_and_waters_in_its_own_summer(tmp_path, latitude_deg):
    site = waterbudget.load_site(write_starter(tmp_path / "garden", Answers(latitude_deg=latitude_deg)))
    weather = waterbudget.read_weather(tmp_path / "garden" / site.weather.file, site)
    result = waterbudget.run(site, weather)
    summer = 11 if latitude_deg < 0 else 5
    assert weather.daily.index[0].month == site.zone[0].season_from.month == summer
    assert site.bed[0].planting[0].planted.month == summer
    assert result.summary["asked_l"] >= 70 * 100  # litres: every other day of five months


def test_the_answers_stand_where_they_belong():
    answers = Answers(
        "Brackenfold", -12.3, 31.0, 1100.0, 420.0, 40.0, 7.5, 3, 8.4, "sandy loam", "courgette", has_mains_hose=True
    )
    site = made(answers)
    (roof,), (tank,), (zone,), (bed,) = site.roof, site.tank, site.zone, site.bed
    assert (site.site.name, site.latitude_deg, roof.area_m2) == ("Brackenfold", -12.3, 31.0)
    assert (tank.capacity_l, tank.start_l, tank.mains) == (1100.0, 420.0, "direct")
    assert (zone.flow_l_min, zone.minutes, zone.every_days) == (15.0, 7.5, 3)
    assert (bed.area_m2, bed.soil, bed.planting[0].crop) == (8.4, "sandy loam", "courgette")
    assert made(replace(answers, has_mains_hose=False)).tank[0].mains == "none"


def test_what_is_told_besides_is_switched_on_where_it_stood():
    answers = Answers(longitude_deg=0.0, covering="slate", jets="can", cover="tunnel", usual=(21.0, 12.0, 7.0, 1.0))
    site = made(answers)
    assert (site.site.longitude_deg, site.roof[0].covering, site.zone[0].jets) == (0.0, "slate", "can")
    assert (site.bed[0].rain_share, site.bed[0].et_factor) == (0.0, 0.75)
    assert (site.usual.highs_c, site.usual.lows_c) == ((7.0, 21.0), (1.0, 12.0))
    plain = starter_site(Answers()).splitlines()
    changed = [(old, new) for old, new in zip(plain, starter_site(answers).splitlines(), strict=True) if old != new]
    assert len(changed) == 11
    for old, new in changed:
        assert old.lstrip("#").split(" =")[0] == new.lstrip("#").split(" =")[0]


def test_every_key_of_a_site_file_is_shown_and_explained():
    lines = starter_site(Answers()).splitlines()
    shown = {match[1] for line in lines if (match := re.match(r"#?([a-z_0-9]+) = ", line))}
    heads = {part for line in lines if (match := re.match(r"#?\[+([a-z.]+)\]+$", line)) for part in match[1].split(".")}
    for kind, keys in models():
        assert not keys - shown - heads, kind
    for above, line in zip(["", *lines], lines, strict=False):
        if re.match(r"[a-z_0-9]+ = ", line) and not line.startswith(("name = ", "to = ")):
            assert above.startswith("# "), f"{line} has no explanation above it"


@pytest.mark.parametrize("answers", [Answers(), Answers(crop="asparagus", soil="clay", latitude_deg=-40.0)])
def test_what_is_switched_off_shows_the_default(answers):
    site, plain = all_switched_on(answers), made(answers)
    tables = [(Model, site.model), (WeatherSource, site.weather), (Roof, site.roof[0]), (Tank, site.tank[0])]
    told_by_the_answers = {"mains", "minutes", "every_days"}
    for kind, table in [*tables, (Zone, site.zone[0]), (Bed, site.bed[0])]:
        for name, field in kind.model_fields.items():
            if (
                not field.is_required()
                and field.default is not None
                and name not in {*told_by_the_answers, "planting", "line"}
            ):
                assert getattr(table, name) == field.default, name
    assert site.roof[0].runoff_coefficient == find_covering(plain.roof[0].covering).runoff_coefficient
    assert site.bed[0].available_water_mm_m == find_soil(answers.soil).available_water_mm_m
    own, table = growth_of(site.bed[0].planting[0], site), growth_of(plain.bed[0].planting[0], plain)
    assert own._replace(basis="") == table._replace(basis="")
    assert own.basis != table.basis


@pytest.mark.parametrize("key", ["overflow_to", "weekdays"])
def test_what_stands_in_place_of_something_else_can_be_switched_on(key):
    text = starter_site(Answers()).replace("\nevery_days = 2", "") + '[[tank]]\nname = "Shed butt"\ncapacity_l = 9\n'
    site = Site.model_validate(tomllib.loads(text.replace(f"#{key} = ", f"{key} = ", 1) + "start_l = 1\n"))
    assert getattr(site.tank[0], key, None) or getattr(site.zone[0], key, None)


def test_the_backflow_caution_stands_beside_the_mains():
    text = starter_site(Answers(has_mains_hose=True))
    above = " ".join(text[: text.index('mains = "direct"')].replace("\n# ", " ").split())
    (size,) = [caution for caution in cautions("mains top-up") if caution.subject == "air gap size"]
    assert size.figure == "20 mm or twice the inlet bore, whichever is larger"  # Water Regs UK glossary, "Air gap"
    assert "by 20 mm or twice its bore, whichever is larger" in above
    assert "Local water rules decide" in above
    assert "qualified plumber" in above


@given(st.text())
def test_any_name_comes_back_as_it_went_in(name):
    assert tomllib.loads(starter_site(Answers(garden=name)))["site"]["name"] == name


@pytest.mark.parametrize(
    "name",
    [
        '"',
        "\\",
        "'''",
        '"""',
        "a\nb",
        "a\r\nb",
        "\t\0\x1f\x7f\x85\u2028",
        "Küchengarten № 1 🍅",
        "$garden ${soil} #",
        "\\u0041",
    ],
)
def test_awkward_names_come_back_as_they_went_in(name):
    assert tomllib.loads(starter_site(Answers(garden=name)))["site"]["name"] == name


@given(
    st.builds(
        Answers,
        latitude_deg=st.floats(-90, 90),
        roof_m2=POSITIVE,
        capacity_l=POSITIVE,
        start_l=st.just(0.0),
        fill_10_l_s=POSITIVE,
        run_minutes=POSITIVE,
        every_days=st.integers(1, 366),
        bed_m2=POSITIVE,
        soil=st.sampled_from([soil.name for soil in search_soils()]),
        has_mains_hose=st.booleans(),
    )
)
def test_any_numbers_come_back_as_they_went_in(answers):
    site = made(answers)
    assert site.latitude_deg == answers.latitude_deg
    assert (site.roof[0].area_m2, site.bed[0].area_m2) == (answers.roof_m2, answers.bed_m2)
    assert site.tank[0].capacity_l == answers.capacity_l
    assert (site.zone[0].minutes, site.zone[0].every_days) == (answers.run_minutes, answers.every_days)
    assert site.zone[0].flow_l_min * answers.fill_10_l_s == pytest.approx(600, rel=0.005)  # three figures


def test_bucket_test_against_a_computed_pipe_network():
    # A watering line computed with EPANET's constants gives 1031.5 L/h, which fills 10 L in 34.9 s; half of the last
    # of three figures is 0.05 L/min.
    assert Answers(fill_10_l_s=34.9).flow_l_min == pytest.approx(1031.5 / 60, rel=0, abs=0.05)


@pytest.mark.parametrize("latitude_deg", [52.9, -33.9])
def test_every_crop_loads_or_is_refused_with_the_reason(tmp_path, latitude_deg):
    path, south = tmp_path / "site.toml", latitude_deg < 0
    taken = 0
    for crop in search_crops():
        name = crop.asked_as or crop.name
        stages = stage_days(crop, 11 if south else 5, south=south)
        if stages and sum(stages.days) <= 365:
            answers = QUESTION["crop"].answered(f" {name.upper()} ", Answers(latitude_deg=latitude_deg))
            path.write_text(starter_site(answers), "utf-8")
            assert find_crop(waterbudget.load_site(path).bed[0].planting[0].crop) == crop
            taken += 1
        else:
            reason = "over a year" if stages else "no stage lengths are printed"
            with pytest.raises(InputError, match=reason):
                QUESTION["crop"].answered(name, Answers(latitude_deg=latitude_deg))
            with pytest.raises(InputError, match=reason):
                starter_site(Answers(crop=name, latitude_deg=latitude_deg))
    assert taken > 100


def test_defaults_answer_every_question():
    answers = Answers()
    for question in QUESTIONS:
        answers = question.answered(question.default(answers), answers)
    assert answers == Answers()
    assert {question.field for question in QUESTIONS} == set(vars(Answers()))


def test_the_store_is_taken_to_be_half_full():
    answers = QUESTION["capacity_l"].answered("201", Answers())
    assert QUESTION["start_l"].default(answers) == "100.5"


@pytest.mark.parametrize(
    ("field", "words", "value"),
    [
        ("garden", "  Brackenfold  ", "Brackenfold"),
        ("latitude_deg", "-33.9", -33.9),
        ("roof_m2", "38", 38.0),
        ("roof_m2", "8 x 4.75", 38.0),
        ("roof_m2", "8X4.75", 38.0),
        ("bed_m2", "1.2 × 5.1", 6.12),
        ("bed_m2", "1.2*5.1", 6.12),
        ("start_l", "0", 0.0),
        ("start_l", "1500", 1500.0),
        ("every_days", "366", 366),
        ("soil", "Sandy Loam", "sandy loam"),
        ("crop", "Courgettes", "courgette"),
        ("crop", "Runner bean", "runner bean"),
        ("has_mains_hose", "Y", True),
        ("has_mains_hose", "no", False),
    ],
)
def test_answers_as_people_type_them(field, words, value):
    assert getattr(QUESTION[field].answered(words, Answers()), field) == value


@pytest.mark.parametrize(
    ("field", "words", "line"),
    [
        ("garden", " ", '"" is no name; write 1 to 80 letters'),
        ("garden", "a\x1b[1m", "is no name; write 1 to 80 letters"),
        ("garden", "x" * 81, '..." is no name; write 1 to 80 letters'),
        ("latitude_deg", "north", '"north" is no number; write degrees from -90 to 90, such as 52.9'),
        ("latitude_deg", "90.1", '"90.1" is beyond the poles; write degrees'),
        ("latitude_deg", "nan", '"nan" is no number'),
        ("roof_m2", "0", '"0" is not above 0; write square metres'),
        ("roof_m2", "8 x", '"" is no number; write square metres'),
        ("roof_m2", "8 x -4", '"-4" is not above 0'),
        ("roof_m2", "1e200 x 1e200", '"inf" is no number'),
        ("roof_m2", "2 x 3 x 4", '"2 x 3 x 4" has more than length and width'),
        ("capacity_l", "1,5", '"1,5" is no number; write litres, such as 1500, with a point for decimals and no comma'),
        ("capacity_l", "inf", '"inf" is no number'),
        ("start_l", "1501", '"1501" does not fit; write litres from 0 to the store\'s 1500'),
        ("start_l", "-1", '"-1" does not fit'),
        ("fill_10_l_s", "a minute", '"a minute" is no number; write seconds, such as 60'),
        ("run_minutes", "-5", '"-5" is not above 0; write minutes, such as 10'),
        ("every_days", "1.5", '"1.5" does not fit; write whole days from 1 to 366'),
        ("every_days", "0", '"0" does not fit'),
        ("every_days", "367", '"367" does not fit'),
        ("every_days", "٣", '"٣" does not fit'),
        ("bed_m2", "", '"" is no number'),
        ("soil", "lome", 'unknown soil "lome"; nearest: "loam"'),
        ("crop", "tomatto", 'unknown crop "tomatto"; nearest: "tomato"'),
        ("crop", "parsnip", 'no stage lengths are printed for "Parsnip"; name another crop now'),
        ("crop", "pineapple, bare soil", '"Pineapple, bare soil" takes 790 days, over a year'),
        ("has_mains_hose", "perhaps", '"perhaps" is neither; write yes or no'),
    ],
)
def test_wrong_answers_are_refused_in_one_line(field, words, line):
    with pytest.raises(InputError) as told:
        QUESTION[field].answered(words, Answers())
    assert line in str(told.value)
    assert "\n" not in str(told.value)


def test_the_weather_that_comes_along_is_the_invented_example_and_said_so(tmp_path):
    site = write_starter(tmp_path, Answers())
    mark, _, weather = (tmp_path / "weather.csv").read_bytes().partition(b"\n")
    assert weather == site_path().with_name("weather.csv").read_bytes()
    assert mark.startswith(b"# Invented")
    for asked in (True, False):
        (*_, weather) = starter_notes(site, asked=asked)
        assert "weather.csv is invented" in weather


def test_unasked_it_says_which_defaults_to_change_first(tmp_path):
    first, _ = starter_notes(tmp_path / "site.toml", asked=False)
    assert "tank.start_l" in first
    assert "roof.area_m2" in first
    assert len(starter_notes(tmp_path / "site.toml", asked=True)) == 1


def test_the_next_steps_can_be_pasted(tmp_path):
    site = tmp_path / "my garden" / "site.toml"
    assert f"waterbudget check '{site}'" in starter_steps(site)
    assert f"waterbudget run '{site}'" in starter_steps(site)


def test_nothing_is_overwritten_unless_told(tmp_path):
    site = write_starter(tmp_path, Answers(garden="old"))
    (tmp_path / "weather.csv").write_text("mine")
    for refuse in (lambda: refuse_starter(tmp_path, overwrite=False), lambda: write_starter(tmp_path, Answers())):
        with pytest.raises(OutputError) as told:
            refuse()
        assert [line.split(": ")[1][:20] for line in told.value.faults] == ["is there already; ch"] * 2
    assert waterbudget.load_site(site).site.name == "old"
    assert (tmp_path / "weather.csv").read_text() == "mine"
    write_starter(tmp_path, Answers(garden="new"), overwrite=True)
    assert waterbudget.load_site(site).site.name == "new"


def test_one_file_in_the_way_keeps_the_other_from_being_written(tmp_path):
    (tmp_path / "weather.csv").write_text("mine")
    with pytest.raises(OutputError, match=r"weather\.csv: is there already"):
        write_starter(tmp_path, Answers())
    assert [path.name for path in tmp_path.iterdir()] == ["weather.csv"]


def test_a_file_is_no_folder(tmp_path):
    (tmp_path / "garden").write_text("mine")
    with pytest.raises(OutputError, match="garden: is a file; name a folder"):
        write_starter(tmp_path / "garden", Answers(), overwrite=True)


def test_an_unknown_crop_leaves_nothing_behind(tmp_path):
    with pytest.raises(InputError, match="unknown crop"):
        write_starter(tmp_path / "garden", Answers(crop="moonweed"))
    assert not (tmp_path / "garden").exists()


def test_answers_that_no_site_file_may_hold_leave_nothing_behind(tmp_path):
    with pytest.raises(SiteError, match=r"site\.toml: roof\[1\]\.area_m2: is -1; write a number above 0"):
        write_starter(tmp_path / "garden", Answers(roof_m2=-1.0))
    assert not (tmp_path / "garden").exists()
