"""Puts one briefing together: inputs in, `Briefing` out; the only stage that knows all others."""
