"""Above the label's maximum, in sentences: where, how much, and the choices."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from wetrun.fieldlog.turns import TurnTally
from wetrun.papers.reader import Reader, percent
from wetrun.planning.over_label import TRIFLE_FRAC, OverLabel
from wetrun.planning.report import PassNotes
from wetrun.planning.season_result import PassPlan
from wetrun.planning.window import SpeedWindow

ALL_BUT_ALL: Final = 0.995


def over_label_words(plan: PassPlan, window: SpeedWindow, reader: Reader, notes: PassNotes) -> Iterator[str]:
    """Return what is put down above a label's maximum, at the minimum hold and inside turns.

    Parameters
    ----------
    plan : PassPlan
        The pass.
    window : SpeedWindow
        What its set holds.
    reader : Reader
        Whose units.
    notes : PassNotes
        Turns and choices.

    Yields
    ------
    str
        Whole sentences; one that says so where no maximum was typed.
    """
    if plan.limits.label_ratio is None:
        yield "No label maximum was typed for this pass, so nothing could be compared with it."
    else:
        yield from _at_the_hold(plan, window, reader)
    if notes.over_label is not None and notes.over_label.area_m2 > TRIFLE_FRAC * plan.planned.area_m2:
        own = None if plan.trial is None else plan.trial.tip_set.key
        yield from _choices(notes.over_label, own, reader)
    if sum(tally.total_cm2 for tally in notes.turns):
        yield _in_turns(notes.turns, plan, reader)


def _at_the_hold(plan: PassPlan, window: SpeedWindow, reader: Reader) -> Iterator[str]:
    shares = [judgement.over_label for judgement in plan.judgements if judgement.over_label is not None]
    most = max((share.upper_frac for share in shares), default=0.0)
    owner = plan.limits.label_owner
    if not window.over_label_mps:
        yield f"The controller has no floor that could put on more {owner} than its label's maximum."
        return
    below = f"Below {reader.at_least(window.over_label_mps)} more {owner} goes on than its label's maximum"
    if most == 0.0:
        yield f"{below}; the speeds of the field never go there."
        return
    yield f"{below}: {reader.area(most * plan.planned.area_m2)} ({percent(most)} of the pass)."


def _choices(choices: OverLabel, own: tuple[str, bool] | None, reader: Reader) -> Iterator[str]:
    yield (
        f"Choices: keep above {reader.at_least(choices.below_mps)}; let the machine shut off below it "
        f"({reader.area(choices.unsprayed_m2)} would stay unsprayed); lower the hold if tips and label allow."
    )
    # A set that is the plan's own, and a share that reads as all of it, are no choices.
    if choices.other_set is not None and choices.other_set.key != own:
        held = percent(choices.other_held_frac)
        yield f"Or another tip: {choices.other_set.tip.words} stays under the maximum and holds {held} of the pass."
    if choices.product_frac < ALL_BUT_ALL:
        lower = percent(choices.product_frac)
        yield f"Or less {choices.owner} per tank: {lower} of the planned rate, if its label allows the lower rate."


def _in_turns(turns: tuple[TurnTally, ...], plan: PassPlan, reader: Reader) -> str:
    total = sum(tally.total_cm2 for tally in turns)
    over = sum(tally.over_label_cm2 for tally in turns) / total
    off = sum(tally.off_by_a_tenth_cm2 for tally in turns) / total
    turning = sum(tally.turning_cm2 for tally in turns) / total
    area = plan.planned.area_m2
    said = f"Turns: {percent(turning)} of the pass is sprayed in turns; {reader.area(off * area)} of it"
    said += f" ({percent(off)}) is off by more than a tenth across the boom"
    if plan.limits.label_ratio is not None:
        said += f", {reader.area(over * area)} ({percent(over)}) above the label's maximum"
    return f"{said}."
