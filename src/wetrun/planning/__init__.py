"""Passes and their limits, speed windows, the season tip plan, what-ifs."""
