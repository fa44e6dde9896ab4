"""Fitting tools: they make files of ``config/`` from reference data and are not used by a briefing."""
