"""The JSON Schema of the lake file, so that editors complete and check it while it is written.

``python -m briefing.profile.schema`` prints it; the shipped copy is `briefing.profile.template.SCHEMA_FILE`.
"""

from __future__ import annotations

import json
from typing import Any

from briefing.profile.model import LakeProfile


def lake_schema() -> dict[str, Any]:
    """Return the schema of the file as written: file keys, without what the program fills in."""
    schema = LakeProfile.model_json_schema(by_alias=True)
    for name, info in LakeProfile.model_fields.items():
        if info.exclude:
            schema["properties"].pop(name, None)
    species = schema["properties"]["species"]["items"]
    schema["properties"]["species"]["items"] = {"anyOf": [species, {"enum": ["largemouth", "smallmouth"]}]}
    for properties in [schema["properties"], *(table["properties"] for table in _tables(schema))]:
        for entry in properties.values():
            entry.pop("default", None)  # defaults are inner units, and mostly guessed anew for each lake
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **schema,
        "title": "Home lake profile of the morning briefing",
        "description": "One TOML file a lake. Only name, latitude, longitude and craft must be there.",
    }


def _tables(schema: dict[str, Any]) -> list[dict[str, Any]]:
    return [table for table in schema["$defs"].values() if "properties" in table]


def schema_text() -> str:
    """Return the schema as the shipped file's text."""
    return json.dumps(lake_schema(), indent=2, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    print(schema_text(), end="")
