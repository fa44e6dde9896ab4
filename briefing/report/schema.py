"""The JSON Schema of a briefing, for programs that read it.

``python -m briefing.report.schema`` prints it; the shipped copy is ``config/schemas/briefing.schema.json``.
"""

from __future__ import annotations

import json

from briefing.sections.briefing import Briefing

SCHEMA_FILE = "schemas/briefing.schema.json"


def schema_text() -> str:
    """Return the schema as the shipped file's text."""
    schema = {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        **Briefing.model_json_schema(mode="serialization"),
        "title": "Morning briefing",
    }
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


if __name__ == "__main__":
    print(schema_text(), end="")
