"""What keeps a record from being answered, as rows a page can show."""

from __future__ import annotations

from wetrun.errors import InputProblems, WetrunError
from wetrun.quantity import System, sentence

Rows = list[dict[str, str]]


def problem_rows(fault: WetrunError, system: System) -> Rows:
    """Return what is wrong as rows of ``key``, ``value``, ``limit``, ``remedy`` and ``words`` (the whole sentence).

    Parameters
    ----------
    fault : WetrunError
        What a loader or a computation said.
    system : System
        The reader's unit system.

    Returns
    -------
    list of dict
        Ready to be kept.
    """
    if isinstance(fault, InputProblems):
        return [
            {"key": one.key, "value": one.value, "limit": one.limit, "remedy": one.remedy, "words": str(one)}
            for one in fault.problems
        ]
    return [{"key": "", "value": "", "limit": "", "remedy": "", "words": sentence(fault, system)}]
