"""The commented wet-run file to start from."""

from __future__ import annotations

from importlib.resources import files


def example_wetrun() -> str:
    """Return a commented wet-run file that is accepted as it stands.

    Returns
    -------
    str
        TOML text; machine, people and readings are invented.
    """
    return files("wetrun.documents").joinpath("example_wetrun.toml").read_text(encoding="utf-8")
