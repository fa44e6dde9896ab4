"""Renderings of a ``Briefing``: text, HTML and JSON, all from the one model."""
