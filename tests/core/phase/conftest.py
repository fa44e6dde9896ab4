"""Makes the helpers of this folder importable under importlib mode."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))
