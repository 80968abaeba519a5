"""The one further reading that would tell apart what these cannot: found by trying each that could be taken."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np

from wetrun.proving.candidates import Candidate, candidates
from wetrun.proving.covariance import FloatArray
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.explain import SizedFault
from wetrun.proving.faults import SETTINGS, Fault, FaultKind
from wetrun.proving.identify import Scene
from wetrun.proving.redundant import Reading
from wetrun.units import PASCAL, Ratio

ENOUGH = 3.0
"""Standard deviations between two explanations that count as told apart."""

EARNEST: Ratio = 0.1
"""Size of a fault, as a share of the reading, that one more reading must show to be worth it. Our choice."""

SCREEN = "the rate, speed and flow on the monitor's screen"


@dataclass(frozen=True, slots=True)
class Further:
    """One more reading, and what it would do.

    Attributes
    ----------
    words : str
        What to read.
    readings : tuple of Reading
        As it would come out; empty for the monitor's screen.
    apart : int
        Pairs of explanations that it would tell apart.
    pairs : int
        Pairs that had to be told apart.
    least : float
        Standard deviations between the two that stay nearest.
    """

    words: str
    readings: tuple[Reading, ...]
    apart: int
    pairs: int
    least: float


@dataclass(frozen=True, slots=True)
class Unseen:
    """Faults that the readings taken cannot see, and the one more that would show them.

    Attributes
    ----------
    words : str
        What to read; empty if no reading of a water run would show them.
    faults : tuple of Fault
        What it would show.
    """

    words: str
    faults: tuple[Fault, ...]

    @property
    def sentence(self) -> str:
        """What is not seen, and what would show it."""
        strainers = [fault.section for fault in self.faults if fault.kind is FaultKind.STRAINER]
        said = [fault.words for fault in self.faults if fault.kind is not FaultKind.STRAINER or len(strainers) == 1]
        if len(strainers) > 1:
            said.append(f"a plugged section strainer (any of {len(strainers)})")
        if self.words:
            return f"{', '.join(said)}: {self.words} would show it"
        settings = all(fault.kind in SETTINGS for fault in self.faults)
        return f"{', '.join(said)}: no reading on water shows it" + ("; look it up in the monitor" if settings else "")


def further_reading(check: CrossCheck) -> Further | None:
    """Return the reading that would tell most of the explanations apart, or None if there is nothing to tell.

    Parameters
    ----------
    check : CrossCheck
        What was found.

    Returns
    -------
    Further or None
        Best of all that could still be taken on this machine.

    Notes
    -----
    Explanations are what is tied with the first name and, if it stands alone, what else would do alone. Each
    candidate is added to the readings and the distance between every two explanations worked out anew, both at the
    size they would have to have. The candidates' uncertainties are `USUAL_RATIO`.

    References
    ----------
    narasimhan-mah-1987
    """
    suspects = _suspects(check)
    if len(suspects) < 2:
        return None
    if any(sized.fault.kind in SETTINGS for sized in suspects):
        return None  # a setting is told by looking it up, not by another reading
    tried = [_tried(candidate, suspects) for candidate in candidates(check.scene)]
    best = max(tried, key=lambda one: (one.apart, round(one.least, 3)), default=None)
    return best if best is not None and best.apart else None


def _suspects(check: CrossCheck) -> tuple[SizedFault, ...]:
    if not check.named:
        return ()
    for explanation in check.named:
        if explanation.tied:
            return explanation.faults
    first = check.named[0]
    enough = [other for other in check.alternatives if other.left_frac > 0.05]
    return (*first.faults, *(sized for other in enough for sized in other.faults))


def _tried(candidate: Candidate, suspects: Sequence[SizedFault]) -> Further:
    gaps = [_distance(candidate.scene, one, other) for one, other in combinations(suspects, 2)]
    apart = sum(gap >= ENOUGH for gap in gaps)
    return Further(candidate.words, candidate.readings, apart, len(gaps), min(gaps))


def _distance(scene: Scene, one: SizedFault, other: SizedFault) -> float:
    """How far the readings of one fault stay from anything that the other could explain; the nearer way round."""
    imprints = [sized.size * scene.imprints[:, scene.faults.index(sized.fault)] for sized in (one, other)]
    return min(_out_of(imprints[0], imprints[1]), _out_of(imprints[1], imprints[0]))


def _out_of(imprint: FloatArray, line: FloatArray) -> float:
    length = float(line @ line)
    left = imprint - line * (imprint @ line) / length if length else imprint
    return float(np.linalg.norm(left))


def further_for_unseen(check: CrossCheck) -> tuple[Unseen, ...]:
    """Return what would show the faults that these readings cannot see at all, the most useful reading first.

    Parameters
    ----------
    check : CrossCheck
        What was found.

    Returns
    -------
    tuple of Unseen
        Each fault of `check.unseen` once. Of the candidates the one that shows most of what is left comes first;
        settings last: the monitor's screen shows a width, and what nothing on water shows stands without words.
    """
    screened = [fault for fault in check.unseen if fault.kind is SETTINGS[0]]
    hidden = [fault for fault in check.unseen if fault.kind in SETTINGS[1:]]
    left = [fault for fault in check.unseen if fault.kind not in SETTINGS]
    shows = [(each.words, _shown_by(each, left)) for each in candidates(check.scene)] if left else []
    found = []
    while left:
        words, seen = max(shows, key=lambda one: len(one[1] & set(left)), default=("", set[Fault]()))
        told = tuple(fault for fault in left if fault in seen)
        found.append(Unseen(words, told) if told else Unseen("", tuple(left)))
        left = [fault for fault in left if told and fault not in told]
    found += [Unseen(SCREEN, tuple(screened))] if screened else []
    return (*found, *([Unseen("", tuple(hidden))] if hidden else []))


def _shown_by(candidate: Candidate, faults: Sequence[Fault]) -> set[Fault]:
    """Those of some faults that a reading would show beyond doubt, at a size worth a look."""
    scene = candidate.scene
    tip_pa = min((point.tip_pa for point in scene.points), default=0.0)
    sizes = {fault: EARNEST * (tip_pa if fault.unit is PASCAL else 1.0) for fault in faults}
    imprints = {fault: np.linalg.norm(scene.imprints[:, scene.faults.index(fault)]) for fault in faults}
    return {fault for fault in faults if sizes[fault] * imprints[fault] >= ENOUGH}
