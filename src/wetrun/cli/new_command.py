"""`wetrun new`: a commented example to start from, never over a file that is there."""

from __future__ import annotations

from pathlib import Path

from wetrun.cli.telling import say
from wetrun.documents.catalogue_file import catalogue_template
from wetrun.documents.changeover_example import example_changeover
from wetrun.documents.fills_example import example_fills
from wetrun.documents.groove_file import groove_template
from wetrun.documents.map_example import example_map
from wetrun.documents.season_example import example_season
from wetrun.documents.wetrun_example import example_wetrun
from wetrun.errors import CannotWrite


def run_new(file: Path) -> None:
    """Write the example that fits a file name.

    Parameters
    ----------
    file : Path
        ``*.csv`` gets a tip file, or with "groove" in its name a file of tray grooves; of ``*.toml`` a name with "wet"
        in it gets a wet run, one with "change" a changeover, one with "fill" loads in season, one with "map" a column
        map, any other a season.

    Raises
    ------
    CannotWrite
        If the file is there already, its folder is not, or its ending says nothing.
    """
    text = _text_for(file)
    try:
        with file.open("x", encoding="utf-8", newline="\n") as opened:
            opened.write(text)
    except FileExistsError:
        raise CannotWrite(str(file), reason="it is there already", remedy="Choose another name.") from None
    except OSError as failed:
        raise CannotWrite(str(file), reason=str(failed.strerror), remedy="Choose a folder you may write to.") from None
    say(f"Written: {file}")


def _text_for(file: Path) -> str:
    if file.suffix == ".csv":
        return groove_template() if "groove" in file.stem else catalogue_template()
    if file.suffix == ".toml":
        if "wet" in file.stem:
            return example_wetrun()
        if "change" in file.stem:
            return example_changeover()
        if "fill" in file.stem:
            return example_fills()
        return example_map() if "map" in file.stem else example_season()
    remedy = "Name it season.toml, wetrun.toml, changeover.toml, fills.toml, map.toml, tips.csv or grooves.csv."
    raise CannotWrite(str(file), reason="its ending does not say what to write", remedy=remedy)
