"""The pure core: numbers and arrays in and out. No files, no network, no clock, no pydantic here."""
