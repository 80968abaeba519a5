"""What a result is shown in: units and paper as asked for, else its file's units and the paper that goes with them."""

from __future__ import annotations

from wetrun.quantity import System


def system_shown(asked: str | None, written: System) -> System:
    """Return the unit system of a result.

    Parameters
    ----------
    asked : str or None
        What stands behind ``--units``; None or nothing if nobody said.
    written : System
        What the file is written in.

    Returns
    -------
    System
        The one asked for, else the file's.
    """
    return System(asked) if asked else written


def paper_shown(asked: str | None, system: System) -> str:
    """Return the size of paper: the one asked for with ``--paper``, else the one that goes with the units.

    Parameters
    ----------
    asked : str or None
        What stands behind ``--paper``.
    system : System
        Of the result.

    Returns
    -------
    str
        A size `wetrun.papers` knows.
    """
    return asked or ("letter" if system is System.US else "a4")
