"""What changed since an earlier wet run of the same machine, on paper."""

from __future__ import annotations

from typing import Any

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import measured
from wetrun.proving.session_changes import Moved, changes_since
from wetrun.proving.session_result import Evidence, WetRunResult

NOT_TESTED = "not tested"


def changed_data(before: WetRunResult | None, after: WetRunResult, reader: Reader) -> dict[str, Any]:
    """Return what changed as plain data.

    Parameters
    ----------
    before : WetRunResult or None
        The earlier run; None if there is none.
    after : WetRunResult
        This run.
    reader : Reader
        Whose units.

    Returns
    -------
    dict
        When the earlier run was, and the lines worth telling.

    Raises
    ------
    NotDefined
        The runs are of machines with other booms.
    """
    if before is None:
        return {"since": "", "changed": []}
    moved = [each for each in changes_since(before, after) if each.told and _worth_telling(each)]
    return {"since": before.run.on or "the earlier run", "changed": [_row(each, reader) for each in moved]}


def _worth_telling(each: Moved) -> bool:
    """A number without a ± always moves a little: it is told only where its verdict is another."""
    return bool(each.expanded) or each.verdicts[0] is not each.verdicts[1]


def _row(each: Moved, reader: Reader) -> dict[str, str | bool]:
    then, now = each.verdicts
    moved = "" if each.moved is None else measured(each.moved, each.expanded, each.unit, reader).text
    return {
        "part": each.part.value,
        "thing": each.thing,
        "then": _value(each.before, reader),
        "now": _value(each.after, reader),
        "verdict-then": "" if then is None else then.value,
        "verdict-now": "" if now is None else now.value,
        "moved": moved,
        "beyond": each.beyond_doubt and bool(each.expanded),
    }


def _value(line: Evidence | None, reader: Reader) -> str:
    if line is None:
        return NOT_TESTED
    return measured(line.value, line.expanded, line.unit, reader).text
