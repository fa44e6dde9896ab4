"""The sections of a briefing: one module each, with its model and the pure function that fills it."""
