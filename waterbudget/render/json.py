"""An answer as JSON: its facts with the verdict and what they rest on, in one scheme for every question."""

import json
import math
from importlib import import_module
from typing import TYPE_CHECKING, Any

from waterbudget.blocks import Answer, Kind
from waterbudget.variables import REGISTER

if TYPE_CHECKING:
    from collections.abc import Iterator

SCHEMA = 1  # counts up with every change that a reader has to know of
DIALECT = "https://json-schema.org/draft/2020-12/schema"
SENTENCES: dict[str, Kind] = {"help": "help", "warnings": "warn", "assumptions": "assume", "cautions": "caution"}


def to_json(answer: Answer) -> str:
    """An answer as JSON for machines; `schema_of` describes it."""
    told = {
        "schema": SCHEMA,
        "question": answer.question,
        "verdict": list(answer.verdict),
        **answer.facts,
        **{key: answer.of_kind(kind) for key, kind in SENTENCES.items()},
    }
    return json.dumps(_finite(told), indent=2, ensure_ascii=False, allow_nan=False)


def _finite(value: Any) -> Any:  # noqa: ANN401 - whatever JSON can hold
    """The value with null for numbers that are none, or without end."""
    if isinstance(value, dict):
        return {key: _finite(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_finite(one) for one in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value


def schema_of(question: str) -> dict[str, Any]:
    """The JSON Schema of a question's answer, each quantity described as in the register."""
    from pydantic import TypeAdapter

    facts = import_module(f"waterbudget.answers.{question}").Facts
    schema = TypeAdapter(facts).json_schema()
    sentences = {"type": "array", "items": {"type": "string"}}
    envelope = {
        "schema": {"const": SCHEMA},
        "question": {"const": question},
        "verdict": sentences,
        **dict.fromkeys(SENTENCES, sentences),
    }
    schema["properties"] = envelope | schema["properties"]
    schema["required"] = [*envelope, *schema["required"]]
    for table in _objects(schema):
        table["additionalProperties"] = False
        for name, described in table["properties"].items():
            if name in REGISTER:
                described["description"] = REGISTER[name].heading
    return {"$schema": DIALECT, **schema}


def _objects(schema: Any) -> "Iterator[dict[str, Any]]":  # noqa: ANN401 - a part of a schema
    """Every object that a schema describes."""
    if isinstance(schema, list):
        for one in schema:
            yield from _objects(one)
    elif isinstance(schema, dict):
        if "properties" in schema and isinstance(schema["properties"], dict):
            yield schema
        for one in schema.values():
            yield from _objects(one)
