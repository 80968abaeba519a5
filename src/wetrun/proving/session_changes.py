"""What changed between two wet runs of one machine."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from wetrun.errors import NotDefined
from wetrun.proving.catch import CatchResult
from wetrun.proving.session_evidence_catch import tip_line
from wetrun.proving.session_result import Evidence, Part, WetRunResult
from wetrun.proving.verdict import Verdict
from wetrun.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Moved:
    """One line of two runs.

    Attributes
    ----------
    part : Part
        The test.
    thing : str
        What was measured.
    before, after : Evidence or None
        The line in either run; None where it was not tested.
    moved : float or None
        After less before, in the unit of the lines; None if one is missing.
    expanded : float or None
        Expanded uncertainty of the move, both runs' taken as independent.
    unit : Unit or None
        Unit of the move.
    beyond_doubt : bool
        Whether it moved by more than that.
    """

    part: Part
    thing: str
    before: Evidence | None
    after: Evidence | None
    moved: float | None
    expanded: float | None
    unit: Unit | None
    beyond_doubt: bool

    @property
    def verdicts(self) -> tuple[Verdict | None, Verdict | None]:
        """Verdict before and after; None where there is none."""
        before, after = self.before, self.after
        return None if before is None else before.verdict, None if after is None else after.verdict

    @property
    def told(self) -> bool:
        """Whether it is worth a line: a move beyond doubt, another verdict, or tested in one run only."""
        return self.beyond_doubt or self.verdicts[0] is not self.verdicts[1]


def changes_since(before: WetRunResult, after: WetRunResult) -> tuple[Moved, ...]:
    """Return what changed between two wet runs of one machine, line by line.

    Parameters
    ----------
    before, after : WetRunResult
        The earlier and the later run.

    Returns
    -------
    tuple of Moved
        Lines of the later run in its order, then those tested earlier only. A tip that stood out in one run is found in
        the other run's catch, too.

    Raises
    ------
    NotDefined
        The runs are of machines with other booms.

    Notes
    -----
    A shared instrument that was wrong in both runs alike moves nothing; taking the doubts as independent errs on the
    side of no change.

    References
    ----------
    gum-jcgm-100
    """
    old, new = before.run.machine, after.run.machine
    if old.boom.section_tips != new.boom.section_tips or old.boom.spacing_m != new.boom.spacing_m:
        reason = f"{old.name} and {new.name} have other sections or another spacing"
        raise NotDefined("what changed", reason=reason, remedy="Compare two runs of the same machine")
    earlier, later = ({line.key: line for line in result.evidence} for result in (before, after))
    keys = [*later, *(key for key in earlier if key not in later)]
    return tuple(
        _moved(key, earlier.get(key) or _tip_of(before, key), later.get(key) or _tip_of(after, key)) for key in keys
    )


def _tip_of(result: WetRunResult, key: tuple[Part, str]) -> Evidence | None:
    """A tip that stood out in the other run alone."""
    catch, name = result.findings.catch, key[1].removeprefix("tip ")
    return None if catch is None or key[0] is not Part.CATCH or not name.isdigit() else _first(catch, int(name))


def _first(catch: CatchResult, position: int) -> Evidence | None:
    return next(tip_line(catch, position), None)


def _moved(key: tuple[Part, str], before: Evidence | None, after: Evidence | None) -> Moved:
    part, thing = key
    line = after or before
    unit = None if line is None else line.unit
    if before is None or after is None:
        return Moved(
            part=part, thing=thing, before=before, after=after, moved=None, expanded=None, unit=unit, beyond_doubt=False
        )
    moved = after.value - before.value
    expanded = hypot(before.expanded or 0.0, after.expanded or 0.0)
    return Moved(
        part=part,
        thing=thing,
        before=before,
        after=after,
        moved=moved,
        expanded=expanded,
        unit=unit,
        beyond_doubt=abs(moved) > expanded,
    )
