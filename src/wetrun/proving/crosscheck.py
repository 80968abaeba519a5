"""The cross-check: all readings of a wet run against each other, and which of them lies.

In logarithms throughout (see `balances`). The alarm is raised by the global test of the reconciled readings, whose
limit accounts for uncertainties that are themselves estimates, or by the monitor's identity. What explains it is
chosen by likelihood ratio, one fault or two; what these readings cannot tell apart is named together.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from wetrun.proving.choice import NOBODY, chosen
from wetrun.proving.explain import Explanation, SizedFault, alone, explained, left_chance
from wetrun.proving.faults import Fault
from wetrun.proving.gross_error import ALARM_FRAC
from wetrun.proving.identify import Scene, scene_of
from wetrun.proving.identity import Identity, Screen, identity_of
from wetrun.proving.redundant import Reading, Rig
from wetrun.units import Frac

IDENTITY_SHARE = 0.1
"""Share of the false alarms that is left to the identity check, if there is one. Our choice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CrossCheck:
    """What the readings say about each other.

    Attributes
    ----------
    scene : Scene
        Reconciled readings and every fault's imprint.
    identity : Identity or None
        The monitor's arithmetic, if its screen was read.
    alarm : bool
        Whether the readings disagree beyond their uncertainties, or the identity fails.
    statistic, limit : float
        Global test.
    chance_frac : float
        How often honest readings disagree as much [frac].
    named : tuple of Explanation
        What is wrong, surest first; empty without an alarm.
    or_pairs : tuple of pairs of Explanation
        Other pairs that explain exactly what the two named do, if the readings cannot tell which pair it is.
    left_frac : float
        How often honest readings would leave as much as is left [frac].
    unseen : tuple of Fault
        What these readings cannot see at all.
    """

    scene: Scene
    identity: Identity | None
    alarm: bool
    statistic: float
    limit: float
    chance_frac: Frac
    named: tuple[Explanation, ...]
    or_pairs: tuple[tuple[Explanation, ...], ...]
    left_frac: Frac
    unseen: tuple[Fault, ...]

    @property
    def alternatives(self) -> tuple[Explanation, ...]:
        """What else would do alone, best first; `left_frac` of each says whether it would be enough."""
        if self.statistic <= self.limit:
            return ()
        taken = {sized.fault for explanation in self.named for sized in explanation.faults}
        return tuple(e for e in alone(self.scene) if not taken & {sized.fault for sized in e.faults})[:5]


def alarm_shares(alarm_frac: Frac, *, screen: bool) -> tuple[Frac, Frac]:
    """Return the false alarms [frac] that the global test and the identity check may raise.

    Parameters
    ----------
    alarm_frac : float
        In all [frac].
    screen : bool
        Whether the monitor's screen was read.

    Returns
    -------
    tuple of float
        Two shares [frac] that make up the whole, both being independent.

    Example
    -------
    >>> [round(share, 5) for share in alarm_shares(0.05, screen=True)]
    [0.04523, 0.005]
    """
    if not screen:
        return alarm_frac, 0.0
    own = IDENTITY_SHARE * alarm_frac
    return 1.0 - (1.0 - alarm_frac) / (1.0 - own), own


def crosschecked(
    rig: Rig, readings: Sequence[Reading], *, screen: Screen | None = None, alarm_frac: Frac = ALARM_FRAC
) -> CrossCheck:
    """Return what the readings of a wet run say about each other.

    Parameters
    ----------
    rig : Rig
        The machine.
    readings : sequence of Reading
        Any subset of what can be read.
    screen : Screen or None
        What the monitor shows.
    alarm_frac : float
        False alarms allowed in all [frac].

    Returns
    -------
    CrossCheck
        Alarm, what is wrong, what else could be, what cannot be seen.

    Raises
    ------
    NotDefined
        A reading of a section that the machine has not, or readings without uncertainty.

    Notes
    -----
    Sizes are worked out along the machine's curves, not along their tangent; their uncertainty is the tangent's. Two
    faults at once are named; more than two are reported as what is left.

    References
    ----------
    narasimhan-jordache-2000, narasimhan-mah-1987, krishnamoorthy-yu-2004
    """
    scene = scene_of(rig, readings)
    seen = None if screen is None else identity_of(screen)
    global_share, identity_share = alarm_shares(alarm_frac, screen=screen is not None)
    choice = chosen(scene.as_run, global_share)
    names = [int(n) for n in (choice.first[0], choice.second[0]) if n != NOBODY]
    named = explained(scene, names)
    alike = scene.pairs_alike((names[0], names[1])) if len(names) == 2 else ()
    if seen is not None and seen.chance_frac < identity_share:
        named.append(_of_identity(seen))
    named.sort(key=lambda explanation: (explanation.chance_frac, -explanation.gain))
    statistic = float(choice.statistic[0])
    shown_settings = () if seen is None else seen.explains
    return CrossCheck(
        scene=scene,
        identity=seen,
        alarm=bool(choice.alarm[0]) or bool(named),
        statistic=statistic,
        limit=float(choice.limit[0]),
        chance_frac=left_chance(scene, []),
        named=tuple(named),
        or_pairs=tuple(pair for pair in (tuple(explained(scene, other)) for other in alike) if len(pair) == 2),
        left_frac=left_chance(scene, names),
        unseen=tuple(fault for fault in scene.unseen if fault not in shown_settings),
    )


def _of_identity(seen: Identity) -> Explanation:
    sized = tuple(SizedFault(fault, seen.off_ratio, 2.0 * seen.standard_ratio) for fault in seen.explains)
    return Explanation(sized, seen.excess**2, seen.chance_frac, 1.0)
