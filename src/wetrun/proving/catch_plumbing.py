"""What tips have in common, parted into what the boom's plumbing predicts and what goes beyond it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log
from typing import Final

import numpy as np

from wetrun.percent import off_per_cent
from wetrun.proving.catch_boom import BoomFault, BoomFinding, boom_findings
from wetrun.proving.catch_seen import SeenBoom
from wetrun.proving.pressure_plumbing import MODEL_STANDARD_FRAC
from wetrun.units import Ratio

_ENDS: Final = frozenset({BoomFault.FALL_TO_ENDS, BoomFault.RISE_TO_ENDS})
_COVERS: Final = 2.0
_Key = tuple[str, int | None]


@dataclass(frozen=True, slots=True)
class BoomTold:
    """What a boom's tips have in common.

    Attributes
    ----------
    beyond : tuple of BoomFinding
        What the plumbing does not explain; everything, where the plumbing is not known.
    as_predicted : tuple of BoomFinding
        What it does: seen, and no fault.
    """

    beyond: tuple[BoomFinding, ...]
    as_predicted: tuple[BoomFinding, ...] = ()


def boom_told(seen: SeenBoom, *, pressures_read: bool) -> BoomTold:
    """Return what tips have in common, beside what their plumbing leads to expect.

    Parameters
    ----------
    seen : SeenBoom
        The boom as caught.
    pressures_read : bool
        Whether each section's own pressure is already taken out of the flows.

    Returns
    -------
    BoomTold
        Findings beyond the plumbing, and those that are its own.

    Notes
    -----
    The pattern is looked for twice: in the flows as caught, and in what is left of them when the plumbing's own pattern
    is taken out. Found only in the first: as predicted. Found only in the second, or the other way round: the plumbing
    as typed is not the plumbing on the boom. What is left of a predicted pattern counts only beyond the prediction's
    own doubt, two tenths of it.

    References
    ----------
    wetrun-catch-power, darcy-weisbach
    """
    found = boom_findings(seen.pattern, pressures_read=pressures_read)
    if not seen.predicted.any():
        return BoomTold(found)
    raw = {_key(each): each for each in boom_findings(seen.raw_pattern(), pressures_read=pressures_read)}
    beyond = {_key(each): each for each in found if not _is_within_doubt(each, _predicted_ratio(seen, _key(each)))}
    return BoomTold(
        tuple(_beyond(each, raw.get(key), _predicted_ratio(seen, key)) for key, each in beyond.items()),
        tuple(_own(each, _predicted_ratio(seen, key)) for key, each in raw.items() if key not in beyond),
    )


def _is_within_doubt(finding: BoomFinding, predicted_ratio: Ratio) -> bool:
    return abs(log(finding.flow_ratio)) <= _COVERS * MODEL_STANDARD_FRAC * abs(log(predicted_ratio))


def _key(finding: BoomFinding) -> _Key:
    """What of the boom it is about, whichever way it goes."""
    if finding.section is not None:
        return "section", finding.section
    return ("ends" if finding.fault in _ENDS else "tilt"), None


def _predicted_ratio(seen: SeenBoom, key: _Key) -> Ratio:
    """What the plumbing predicts of the same thing: a section over the rest, ends over the middle, right over left."""
    kind, section = key
    sections = np.array([tip.section for tip in seen.tips])
    if kind == "section":
        own = sections == section
        return exp(float(np.mean(seen.predicted[own]) - (np.mean(seen.predicted[~own]) if not own.all() else 0.0)))
    left, right = float(seen.predicted[0]), float(seen.predicted[-1])
    if kind == "tilt":
        return exp(right - left)
    middle = seen.predicted.size // 2
    return exp((left + right) / 2.0 - float(np.mean(seen.predicted[max(middle - 1, 0) : middle + 1])))


def _beyond(finding: BoomFinding, raw: BoomFinding | None, predicted_ratio: Ratio) -> BoomFinding:
    said = off_per_cent(predicted_ratio - 1.0)
    if raw is None or (raw.flow_ratio > 1.0) is not (finding.flow_ratio > 1.0):
        thing = _thing(finding)
        words = (
            f"The plumbing as typed predicts {said} {thing}, and the catch does not show it: compare the diameters, "
            "lengths and feeds in the file with the boom; if they are right, look at strainers and valves there."
        )
        return replace(finding, fault=BoomFault.NOT_AS_TYPED, words=words)
    head = f"Beyond what this plumbing predicts ({said} {_thing(finding)}): "
    return replace(finding, words=f"{head}{finding.words[:1].lower()}{finding.words[1:]}")


def _own(finding: BoomFinding, predicted_ratio: Ratio) -> BoomFinding:
    caught, predicted = off_per_cent(finding.flow_ratio - 1.0), off_per_cent(predicted_ratio - 1.0)
    words = (
        f"Caught {caught} {_thing(finding)}, predicted {predicted}: as this "
        "plumbing predicts, not a fault of tips or strainers."
    )
    return replace(finding, fault=BoomFault.AS_PREDICTED, words=words)


def _thing(finding: BoomFinding) -> str:
    kind, section = _key(finding)
    names = {"section": f"in section {section}", "ends": "at the ends", "tilt": "from left to right"}
    return names[kind]
