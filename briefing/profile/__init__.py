"""The home lake: its profile (one TOML file a lake), the settings shared by all lakes, and where files live."""
