"""The commented fills file to start from."""

from __future__ import annotations

from importlib.resources import files


def example_fills() -> str:
    """Return a commented fills file that is accepted as it stands.

    Returns
    -------
    str
        TOML text; machine and readings are invented.
    """
    return files("wetrun.documents").joinpath("example_fills.toml").read_text(encoding="utf-8")
