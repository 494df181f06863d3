"""A starter's invented weather is told as invented wherever it counts, until it is the gardener's own."""

import datetime as dt

import pytest
from click.testing import CliRunner

from waterbudget.cli.main import main
from waterbudget.example import is_invented, is_starter_weather, site_path, starter_weather
from waterbudget.site.starter import Answers, write_starter

NOTE = (
    "weather.csv is the invented weather that came with the starter, so this is no real summer of yours. Bring in your "
    "own: waterbudget weather site.toml --import FILE\n"
)


def waterbudget(*words):
    return CliRunner().invoke(main, words, catch_exceptions=False)


@pytest.fixture
def garden(tmp_path, monkeypatch):
    write_starter(tmp_path, Answers())
    monkeypatch.chdir(tmp_path)
    return tmp_path


@pytest.mark.parametrize(
    "words",
    [
        ["run"], ["check"], ["compare", "--with", "roof.Roof.area_m2=20"], ["today"], ["report", "-o", "report.html"],
        ["improve"], ["hotspell"],
    ],
    ids=lambda words: words[0],
)  # fmt: skip
@pytest.mark.usefixtures("garden")
def test_every_command_says_so(words):
    command, *others = words
    told = waterbudget(command, "site.toml", *others)
    assert told.exit_code == 0, told.stderr
    assert NOTE in told.stderr


@pytest.mark.usefixtures("garden")
def test_the_screen_says_so():
    assert "Weather: weather.csv, invented." in waterbudget("run", "site.toml", "--full").stdout
    told = waterbudget("compare", "site.toml", "--with", "roof.Roof.area_m2=20", "--full")
    assert "Weather: weather.csv, invented." in told.stdout


def test_weather_of_ones_own_is_not_called_invented(garden):
    path = garden / "weather.csv"
    path.write_bytes(path.read_bytes().replace(b"2031-05-01,0.0", b"2031-05-01,4.0"))
    ran = waterbudget("run", "site.toml")
    assert "invented" not in ran.stdout + ran.stderr


def test_what_is_invented_is_told_by_its_content_whatever_its_line_ends():
    north, south = starter_weather(south=False), starter_weather(south=True)
    example = site_path().with_name("weather.csv").read_bytes()
    assert all(map(is_starter_weather, [north, south, north.replace(b"\n", b"\r\n"), b"\xef\xbb\xbf" + north]))
    assert not is_starter_weather(example)
    assert is_invented(example)
    assert not is_invented(example.replace(b"2031-05-01", b"2030-05-01"))
    first = south.splitlines()[2].split(b",")[0].decode()
    assert dt.date.fromisoformat(first) == dt.date(2031, 11, 1)
