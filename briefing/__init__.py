"""Daily briefings for black-bass anglers in small craft: wind limits, water, season, what to rig."""

import os

# The arrays here are small: threads of the linear algebra cost more than they give, most of all on two cores.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
