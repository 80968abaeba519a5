"""The commented changeover file to start from."""

from __future__ import annotations

from importlib.resources import files


def example_changeover() -> str:
    """Return a commented changeover file that is accepted as it stands.

    Returns
    -------
    str
        TOML text; machine, people and products are invented.
    """
    return files("wetrun.documents").joinpath("example_changeover.toml").read_text(encoding="utf-8")
