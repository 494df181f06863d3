"""Every answer as JSON follows its schema, and every number stands under a name of the register."""

import json
from importlib import import_module
from pathlib import Path
from tempfile import gettempdir

import jsonschema
import pytest
from asking import DEMO
from click.testing import CliRunner

from waterbudget.cli.main import main
from waterbudget.render.json import SCHEMA, schema_of
from waterbudget.variables import REGISTER

ASKED = {
    "run": [["run", "site.toml"], ["run", "allotment/site.toml", "--start-l", "Butt=0"]],
    "check": [["check", "site.toml"], ["check", "hose/site.toml"]],
    "minutes": [["minutes", "site.toml"], ["minutes", "allotment/site.toml", "--bed", "Onion bed"]],
    "fit": [["fit", "journal/site.toml"]],
    "hotspell": [["hotspell", "site.toml"], ["hotspell", "allotment/site.toml", "--days", "3", "--start-l", "Butt=0"]],
    "odds": [["odds", "years/site.toml"], ["odds", "years/site.toml", "--method", "blocks", "--years", "100"]],
    "today": [
        ["today", "site.toml", "--on", "2031-07-05"],
        ["today", "journal/site.toml", "--on", "2031-07-17"],
        ["today", "allotment/site.toml"],
    ],
    "compare": [
        ["compare", "site.toml", "--with", "zone.north.minutes=3", "--with", "tank.shed.capacity_l=900"],
        ["compare", "site.toml", "allotment/site.toml"],
    ],
    "size": [
        ["size", "site.toml", "--tank", "Shed butt", "--options", "prices.csv", "--roofs", "--steps", "9"],
        ["size", "allotment/site.toml", "--steps", "5"],
    ],
    "improve": [["improve", "site.toml"], ["improve", "allotment/site.toml", "--price", "shade net=45"]],
    "log": [["log", "journal/site.toml"], ["log", "journal/site.toml", "--show"]],
    "line": [["line", "hose/site.toml"], ["line", "hose/site.toml", "--level-l", "0"]],
    "bucket": [
        ["bucket", "hose/site.toml", "North line", "--litres", "10", "--seconds", "120"],
        ["bucket", "site.toml", "North line", "--litres", "10", "--seconds", "120"],
        [*("bucket", "hose/site.toml", "North line", "--litres", "10", "--seconds", "138"), "--also", "12jets,330s"],
    ],
    "cups": [["cups", "hose/site.toml", "North line", "hose/cups.csv"]],
    "imported": [["weather", "site.toml", "--import", "rain_book.csv"]],
    "crops": [["crops"], ["crops", "courgette"]],
    "soils": [["soils"]],
    "roofs": [["roofs", "tile"]],
}
RESULTS = str(Path(gettempdir()) / "waterbudget_results.parquet")
ASKED["batch"] = [["batch", "sites.csv", "--out", RESULTS, "--overwrite", "--workers", "1", "--sizes", "0,200,1000"]]
LOOKUPS = {"crops", "soils", "roofs"}
COMMON = {"schema", "question", "verdict", "help", "warnings", "assumptions", "cautions"}
OF_A_SITE = {"site", "period"}


@pytest.mark.parametrize(
    ("question", "words"), [(question, words) for question, every in ASKED.items() for words in every]
)
def test_an_answer_follows_its_schema(question, words, monkeypatch):
    monkeypatch.chdir(DEMO)
    result = CliRunner().invoke(main, [*words, "--json"], catch_exceptions=False)
    told = json.loads(result.stdout)
    jsonschema.Draft202012Validator(schema_of(question)).validate(told)
    assert told.keys() >= COMMON
    assert (told["schema"], told["question"]) == (SCHEMA, question)
    if question not in LOOKUPS:
        assert told["verdict"]
        assert told.keys() >= OF_A_SITE


def numbers_of(schema):
    """The names of all numbers in a schema."""
    if isinstance(schema, dict):
        for name, described in schema.get("properties", {}).items():
            kinds = [described.get("type"), *(one.get("type") for one in described.get("anyOf", []))]
            if {"number", "integer"} & set(kinds):
                yield name
        for one in schema.values():
            yield from numbers_of(one)
    elif isinstance(schema, list):
        for one in schema:
            yield from numbers_of(one)


@pytest.mark.parametrize("question", ASKED)
def test_every_number_is_in_the_register(question):
    schema = schema_of(question)
    jsonschema.Draft202012Validator.check_schema(schema)
    assert set(numbers_of(schema)) - REGISTER.keys() == set()


@pytest.mark.parametrize("question", ASKED)
def test_what_a_schema_does_not_name_is_refused(question):
    schema = schema_of(question)
    with pytest.raises(jsonschema.ValidationError, match="'more' was unexpected"):
        jsonschema.Draft202012Validator(schema | {"required": []}).validate({"more": 1})


def test_every_question_with_facts_is_asked_here():
    folder = Path(import_module("waterbudget.answers").__file__).parent
    with_facts = {path.stem for path in folder.glob("*.py") if "class Facts(" in path.read_text("utf-8")}
    assert with_facts - {"weather"} == ASKED.keys()  # which is asked where there is a station
