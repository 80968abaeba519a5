"""What if we skip a circuit: the same water, its valves left shut, and what then comes out where."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from wetrun.changeover.next_crop import FirstAcres, area_above_m2
from wetrun.changeover.rinse import Rinse
from wetrun.changeover.rinse_task import PreparedTask, acres_after
from wetrun.errors import NotDefined
from wetrun.machine.circuits import Start
from wetrun.units import M2, Frac


@dataclass(frozen=True, slots=True, kw_only=True)
class Skipped:
    """What skipping one circuit does.

    Attributes
    ----------
    circuit : str
        The circuit left out in every rinse.
    possible : bool
        Whether it can be left out at all: not so where every line passes it.
    acres : FirstAcres or None
        What the next crop then gets; None if it cannot be left out.
    left_frac : float or None
        Highest concentration any section brings out [frac].
    load_frac : float or None
        Highest concentration at the end of the load: what the rest of the field gets [frac].
    worst_section : str or None
        That section.
    above_m2 : float or None
        Area after which the whole boom stays at or below the level; None if not within the load [m2].
    """

    circuit: str
    possible: bool
    acres: FirstAcres | None = None
    left_frac: Frac | None = None
    load_frac: Frac | None = None
    worst_section: str | None = None
    above_m2: M2 | None = None


def skip_outcomes(prepared: PreparedTask, rinses: Sequence[Rinse]) -> tuple[Skipped, ...]:
    """Return what skipping each circuit does, the worst first.

    Parameters
    ----------
    prepared : PreparedTask
        Machine, start, next load and level.
    rinses : sequence of Rinse
        The plan whose water is used all the same.

    Returns
    -------
    tuple of Skipped
        One for every circuit that a line from the tank passes; those that cannot be skipped last.
    """
    layout = prepared.task.setup.network.layout
    passed = {name for line in layout.lines if line.start is Start.TANK for name in line.through}
    shut = {name: frozenset(line.name for line in layout.lines if name in line.through) for name in passed}
    same: dict[frozenset[str], Skipped] = {}
    found = []
    for circuit in layout.circuits:
        if circuit.name in passed:
            # Circuits on the same lines are skipped together, so they are reckoned once.
            lines = shut[circuit.name]
            if lines not in same:
                same[lines] = _skipped(prepared, rinses, circuit.name)
            found.append(replace(same[lines], circuit=circuit.name))
    return tuple(sorted(found, key=lambda skip: (not skip.possible, -(skip.left_frac or 0.0))))


def _skipped(prepared: PreparedTask, rinses: Sequence[Rinse], name: str) -> Skipped:
    try:
        acres = acres_after(prepared, rinses, without=(name,))
    except NotDefined:
        return Skipped(circuit=name, possible=False)
    areas = area_above_m2(acres, prepared.task.level_frac).values()
    known = [area_m2 for area_m2 in areas if area_m2 is not None]
    return Skipped(
        circuit=name,
        possible=True,
        acres=acres,
        left_frac=acres.peak_frac,
        load_frac=acres.end_frac,
        worst_section=acres.worst_section,
        above_m2=max(known) if len(known) == len(areas) else None,
    )
