"""The JSON beside the pages: described, and used as the README says."""

import json
import re
import shlex
from itertools import pairwise

import jsonschema
import pytest
from readme import README
from serving import ON


def schema_of(served, what):
    told = served.get_json("/api/schema.json")[1]
    return told | told["properties"][what]


def valid(served, what, told):
    schema = schema_of(served, what)
    jsonschema.Draft202012Validator.check_schema(schema)
    jsonschema.validate(told, schema)


def test_answers_are_as_described(served):
    valid(served, "GET /api/today", served.get_json("/api/today")[1])
    body = {"key": "k", "levels": ["Shed butt=100L"], "ago_s": 3.0}
    valid(served, "POST /api/entries", body)
    valid(served, "answer to a post", served.post_json("/api/entries", body)[1])
    valid(served, "POST /api/undo", {"key": "u", "line": 1})
    valid(served, "answer to a post", served.post_json("/api/undo", {"key": "u", "line": 1})[1])


@pytest.mark.parametrize("body", [{}, {"key": "A"}, {"key": "k", "levels": "x"}, {"key": "k", "more": 1}])
def test_what_is_not_as_described_is_refused(served, body):
    with pytest.raises(jsonschema.ValidationError):
        valid(served, "POST /api/entries", body)
    assert served.post_json("/api/entries", body)[0] == 422


def test_the_level_sensor_of_the_readme(served):
    (command,) = re.findall(r"^curl .*?'$", README.read_text("utf-8"), re.MULTILINE | re.DOTALL)
    words = shlex.split(command.replace("\\\n", " "))
    values = dict(pairwise(words))
    headers = dict(word.split(": ", 1) for before, word in pairwise(words) if before == "-H")
    headers = {name: value.replace("$KEY", served.key) for name, value in headers.items()}
    path = words[1].removeprefix("http://127.0.0.1:8787")
    headers["Host"] = f"127.0.0.1:{served.port}"
    for _ in range(2):
        status, _, text = served.ask("POST", path, values["-d"], headers=headers)
        assert status == 200
        assert json.loads(text)["saved"].startswith("Saved: Shed butt 212 L.")
    assert served.lines() == [("level", "Shed butt", 212.0, "L", ON)]
