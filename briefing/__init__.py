"""Daily briefings for black-bass anglers in small craft: wind limits, water, season, what to rig."""

__version__ = "0.1.0"
