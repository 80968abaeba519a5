"""The commented season file to start from."""

from __future__ import annotations

from importlib.resources import files


def example_season() -> str:
    """Return a commented season file that is accepted as it stands.

    Returns
    -------
    str
        TOML text; farm, shop, machine and products are invented.
    """
    return files("wetrun.documents").joinpath("example_season.toml").read_text(encoding="utf-8")
