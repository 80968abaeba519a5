"""The commented map of log columns to start from."""

from __future__ import annotations

from importlib.resources import files


def example_map() -> str:
    """Return a commented map of log columns that is accepted as it stands.

    Returns
    -------
    str
        TOML text; its columns are invented.
    """
    return files("wetrun.documents").joinpath("example_map.toml").read_text(encoding="utf-8")
