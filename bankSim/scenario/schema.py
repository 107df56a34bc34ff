"""The scenario file described as JSON Schema, so that editors can complete and check it."""

from typing import Any

from bankSim.scenario.keys import ScenarioKeys

DRAFT = "https://json-schema.org/draft/2020-12/schema"


def scenario_schema() -> dict[str, Any]:
    """Return the JSON Schema (draft 2020-12) of a scenario file; descriptions carry units."""
    schema = _tidy(ScenarioKeys.model_json_schema(by_alias=True))
    assert isinstance(schema, dict)
    return {"$schema": DRAFT, **schema, "title": "Scenario of a parallel battery bank"}


def _tidy(part: object, *, names: bool = False) -> object:
    """Return a copy without null, which TOML cannot say, without empty defaults and made-up titles.

    `names` tells that the keys of `part` are names of properties, not words of the schema.
    """
    if isinstance(part, list):
        return [_tidy(item) for item in part]
    if not isinstance(part, dict):
        return part
    if names:
        return {key: _tidy(value) for key, value in part.items()}
    kept = {
        key: _tidy(value, names=key in ("properties", "$defs"))
        for key, value in part.items()
        if key != "title" and not (key == "default" and not isinstance(value, str | int | float))
    }
    return _without_null(kept)


def _without_null(kept: dict[str, Any]) -> dict[str, Any]:
    choices = [item for item in kept.pop("anyOf", []) if item != {"type": "null"}]
    return {**kept, **choices[0]} if choices else kept
