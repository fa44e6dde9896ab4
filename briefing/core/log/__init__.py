"""The field log and the checks of the forecasts: records, effort, what is learned from them, and the corrections.

Pure: entries and numbers in, numbers and words out. ``records`` holds what an entry says, ``line`` reads the one line
typed at the water, ``effort`` turns the marks of an outing into segments, ``learning`` the segments into a factor a
presentation, ``table`` reads and writes them as CSV. ``checks`` holds forecasts against what came, ``correction``
learns the wind's bias from them, ``skill`` sums them up.
"""
