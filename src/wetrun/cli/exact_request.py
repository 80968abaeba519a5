"""What is asked of `wetrun replay --exact`, and whether it can be done: told before a log is read."""

from __future__ import annotations

import os
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from wetrun.cli.typed_option import read_option
from wetrun.errors import CannotWrite, InputProblems, Problem
from wetrun.fieldlog.map_cells import LEAST_CELL_M
from wetrun.quantity import Kind, Typed, read
from wetrun.spray.response import Response
from wetrun.units import M, S

USUAL_CELL: Final = "5 m"
USUAL_PLACES: Final = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class ExactRequest:
    """What was asked about the exact replay; everything may be left out."""

    exact: bool = False
    lag: str | None = None
    delay: str | None = None
    fit: bool = False
    map_out: Path | None = None
    cell: str = USUAL_CELL
    worst: int = USUAL_PLACES

    @property
    def lag_s(self) -> S | None:
        """The lag as typed [s]."""
        return _seconds("--lag", self.lag)

    @property
    def delay_s(self) -> S | None:
        """The delay as typed [s]."""
        return _seconds("--delay", self.delay)

    @property
    def cell_m(self) -> M:
        """The side of a map cell as typed [m]."""
        typed = _typed("--cell", self.cell, Kind.WIDTH)
        if typed.si_value < LEAST_CELL_M:
            least = LEAST_CELL_M / read(f"1 {typed.unit_text}", Kind.WIDTH).si_value
            limit = f"the side of a map cell must be at least {least:.3g} {typed.unit_text}"
            raise InputProblems([Problem("--cell", self.cell, "", limit, "Take a few metres, such as '5 m'")])
        return typed.si_value

    def wanted(self, known: Response | None) -> bool:
        """Return whether an exact replay is to be told: asked for, or the machine's lag stands in the season."""
        asked = self.exact or self.fit or self.map_out is not None
        return asked or self.lag is not None or self.delay is not None or known is not None

    def check(self) -> None:
        """Refuse what cannot be done whatever the log says.

        Raises
        ------
        InputProblems
            For a time, a cell or an ending that cannot be read.
        CannotWrite
            For a map that cannot be written where it is to go.
        """
        from wetrun.papers.field_map import SUFFIXES

        _ = self.lag_s, self.delay_s, self.cell_m
        path = self.map_out
        if path is None:
            return
        if path.suffix not in SUFFIXES:
            remedy = f"Let its name end in {' or '.join(SUFFIXES)}"
            raise InputProblems([Problem("--map-out", str(path), "", "the ending of a map is not known", remedy)])
        _check_place(path)


def _check_place(path: Path) -> None:
    """Refuse a file that has no place: folders still to be made are, once there is something to write."""
    if path.is_dir():
        raise CannotWrite(str(path), reason="a folder has this name", remedy="Choose another name with --map-out.")
    folder = next(one for one in path.absolute().parents if one.exists())
    if not folder.is_dir():
        reason = f"“{folder.name}” is a file, no folder"
        raise CannotWrite(str(path), reason=reason, remedy="Choose another folder with --map-out.")
    if not os.access(path if path.exists() else folder, os.W_OK):
        remedy = "Allow writing there, or choose another folder with --map-out."
        raise CannotWrite(str(path), reason="it is protected against writing", remedy=remedy)


def _seconds(option: str, text: str | None) -> S | None:
    return None if text is None else _typed(option, text, Kind.TIME).si_value


def _typed(option: str, text: str, kind: Kind) -> Typed:
    typed = read_option(option, text, kind)
    if not typed.si_value >= 0.0:
        raise InputProblems([Problem(option, text, "", "it must not be negative", "Write it without the sign")])
    return typed
