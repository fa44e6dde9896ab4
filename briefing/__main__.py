"""``python -m briefing``."""

from briefing.cli import main

if __name__ == "__main__":
    main()
