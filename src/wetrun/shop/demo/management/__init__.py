"""Commands of `python -m wetrun.shop`."""
