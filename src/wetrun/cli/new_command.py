"""`wetrun new`: a commented example to start from, never over a file that is there."""

from __future__ import annotations

from pathlib import Path
from typing import Final

from wetrun.cli.telling import say
from wetrun.documents.catalogue_file import catalogue_template
from wetrun.documents.changeover_example import example_changeover
from wetrun.documents.season_example import example_season
from wetrun.documents.wetrun_example import example_wetrun
from wetrun.errors import CannotWrite

MAP_EXAMPLE: Final = """\
# Column map for field logs: which column of the file means what, and in which unit.
# Columns that are recognised by their own name need no line. A rate's unit is never guessed: state it.
format_version = 1

[columns]
time = { column = "IsoTime" }                              # ISO 8601, seconds, or day and clock
distance = { column = "DISTANCE", unit = "ft" }            # travelled since the row before
width = { column = "SWATHWIDTH", unit = "ft" }             # of one section, or of the whole boom
section = { column = "SECTIONID" }                         # one row per boom section; leave out if there is none
target_rate = { column = "TargetRate", unit = "gal/ac" }
applied_rate = { column = "AppliedRate", unit = "gal/ac" }
# track = { column = "Machine" }                           # tells machines or recordings in one file apart
# interval = { column = "Cycles", unit = "s" }             # what the terminal itself logged as the time of a record

# A table without a header line: a column goes by its place from the left. `wetrun log inspect` shows such lines.
# time = { column = "4", unit = "s" }
# longitude = { column = "1" }
# latitude = { column = "2" }
# distance = { column = "6", unit = "in" }

# Where no column tells the width that was on:
# [boom]
# full_width = { value = 100, unit = "ft" }
"""


def run_new(file: Path) -> None:
    """Write the example that fits a file name.

    Parameters
    ----------
    file : Path
        ``*.csv`` gets a tip file; of ``*.toml`` a name with "wet" in it a wet run, one with "change" a changeover,
        one with "map" a column map, any other a season.

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
        return catalogue_template()
    if file.suffix == ".toml":
        if "wet" in file.stem:
            return example_wetrun()
        if "change" in file.stem:
            return example_changeover()
        return MAP_EXAMPLE if "map" in file.stem else example_season()
    remedy = "Name it season.toml, wetrun.toml, changeover.toml, map.toml or tips.csv."
    raise CannotWrite(str(file), reason="its ending does not say what to write", remedy=remedy)
