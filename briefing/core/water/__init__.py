"""Water temperature of a lake from air and a few readings."""
