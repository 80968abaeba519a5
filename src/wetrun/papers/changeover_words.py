"""The changeovers an order of passes needs, and a better order, in words for screen and paper."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from wetrun.papers.reader import day, listed
from wetrun.percent import little_per_cent
from wetrun.planning.changeovers_needed import Changeover, Need
from wetrun.planning.pass_order import OrderedPasses, Outlook, PassOrder
from wetrun.planning.residue import Reason, Residue
from wetrun.planning.season_result import SetsOption, changes_in_order
from wetrun.units import Frac

UNTYPED: Final = (
    "Changeovers: nobody typed which crops a product is risky on, so none is judged; read each label before the next "
    "crop's load."
)
BEFORE_THE_FIRST: Final = (
    "What the machine held before the first pass is not in this plan. A clean-out is by the label's steps; rinsing "
    "alone is “diluted to x if nothing is bound”, no more."
)
_NEEDS: Final[dict[Need, str]] = {
    Need.NEEDED: "clean out",
    Need.UNKNOWN: "not known",
    Need.NOT_NEEDED: "nothing typed against it",
}


def changeover_data(order: PassOrder, option: SetsOption) -> dict[str, Any]:
    """Return everything said of the order of passes, as plain data.

    Parameters
    ----------
    order : PassOrder
        What the order needs.
    option : SetsOption
        The sets proposed, for how often they change.

    Returns
    -------
    dict
        ``opening``, ``rows`` (changes that need a clean-out or are in doubt), ``after`` (sentences, a better order
        among them); ``opening`` alone where nothing was typed, and it is empty for a single pass.
    """
    if len(order.written.passes) < 2:
        return {"opening": "", "rows": [], "after": []}
    if order.outlook is Outlook.NOTHING_TYPED:
        return {"opening": UNTYPED, "rows": [], "after": []}
    return {
        "opening": opening_words(order.written),
        "rows": [_row(change) for change in order.written.changeovers if change.need is not Need.NOT_NEEDED],
        "after": [*better_words(order, option), BEFORE_THE_FIRST],
    }


def opening_words(written: OrderedPasses) -> str:
    """Return how many clean-outs an order needs, and how many more what is in doubt could add.

    Parameters
    ----------
    written : OrderedPasses
        The order.

    Returns
    -------
    str
        One sentence.
    """
    changes, needed = len(written.changeovers), written.needed
    sure = "none" if not needed else f"{needed} clean-out{'s' if needed > 1 else ''}"
    doubt = f"; {written.most} if all that is in doubt is risky" if written.most > needed else ""
    return f"Changeovers this order needs: {sure} in {changes} change{'s' if changes > 1 else ''}{doubt}."


def residue_words(residue: Residue, crop: str) -> str:
    """Return why something left in the machine matters.

    Parameters
    ----------
    residue : Residue
        What is left.
    crop : str
        The crop of the pass it matters to.

    Returns
    -------
    str
        A sentence without its full stop.
    """
    left = f"{residue.name}, left by {residue.left_by},"
    said = {
        Reason.CROP: f"{left} is risky on {residue.meant}",
        Reason.ALWAYS: f"{left} is to be cleaned out whatever comes next",
        Reason.CARRIER: f"{residue.meant}'s label rules out {residue.name}, which {residue.left_by} leaves",
        Reason.NOT_TYPED: f"nobody typed which crops {left} is risky on: read its label",
        Reason.SPELLING: f"{left} is risky on “{residue.meant}”; is that “{crop}”? Type both alike if so, or closer",
        Reason.NO_PRODUCT: f"no product was typed for {residue.left_by}, so nobody knows what it leaves",
    }[residue.reason]
    return f"{said}{_label_words(residue)}{_back_words(residue)}"


def better_words(order: PassOrder, option: SetsOption) -> list[str]:
    """Return what another order would save, or why there is none, in sentences.

    Parameters
    ----------
    order : PassOrder
        What the search came to.
    option : SetsOption
        The sets proposed.

    Returns
    -------
    list of str
        Empty where there is nothing to save.
    """
    written, late = order.written, order.written.late
    if order.outlook is Outlook.NOT_SEARCHED:
        return ["These passes can be ordered in too many ways to look at them all, so no other order is proposed."]
    if order.outlook is Outlook.NOTHING_FITS and late is not None:
        return [f"No order fits all the days: as planned, {late.ident} would begin too late. Correct days or dates."]
    if order.better is None:
        least = "Within these dates no other order needs fewer; passes on one crop keep their order."
        return [least] if written.needed else []
    return list(_better(order, order.better, option))


def _better(order: PassOrder, better: OrderedPasses, option: SetsOption) -> Iterator[str]:
    written = order.written
    names = listed([one.ident for one in better.passes], joint="then")
    if written.late is None:
        yield f"Fewer, if it suits: {names} needs {better.needed} instead of {written.needed}."
    else:
        opened = f"The order as planned does not fit its days: {written.late.ident} would begin too late."
        yield f"{opened} This one does: {names}; it needs {better.needed}."
    yield f"What moves: {'; '.join(f'{first} goes before {second}' for first, second in order.exchanged)}."
    yield f"Earliest starts: {_starts(order, better)}."
    idents = [[one.ident for one in each.passes] for each in (written, better)]
    as_planned, now = (changes_in_order(option, each) for each in idents)
    yield f"Tip-set changes, with the sets proposed: {now} instead of {as_planned}."
    if better.most > better.needed:
        yield f"If all that is in doubt is risky it needs {better.most}, the order as planned {written.most}."
    yield "A suggestion only: everything else here keeps the order as planned. Crop stage, weather and ground decide."


def _starts(order: PassOrder, better: OrderedPasses) -> str:
    """When the passes that move can begin, and which of them were given no days of work."""
    moved = {ident for pair in order.exchanged for ident in pair}
    starts = [
        f"{one.ident} {day(start)}{'' if one.work_days else ' (no days of work were typed for it)'}"
        for one, start in zip(better.passes, better.starts, strict=True)
        if one.ident in moved
    ]
    return ", ".join(starts)


def _row(change: Changeover) -> dict[str, str]:
    sure = [residue_words(residue, change.later.crop) for residue in change.sure]
    doubts = [residue_words(residue, change.later.crop) for residue in change.doubtful]
    named = {residue.name for residue in change.sure}
    others = [name for name in change.inside if name not in named]
    if sure and others:
        doubts.append(f"inside as well, and to come out by its own label: {listed(others)}")
    why = ". ".join(f"{words[0].upper()}{words[1:]}" for words in [*sure, *doubts])
    return {
        "change": f"{change.earlier.ident} → {change.later.ident}",
        "crop": change.later.crop,
        "need": _NEEDS[change.need],
        "why": f"{why}.",
    }


def _label_words(residue: Residue) -> str:
    quoted = f" (“{residue.words}”)" if residue.words and residue.reason is not Reason.NOT_TYPED else ""
    if residue.tolerated_frac is None or residue.reason is not Reason.CROP:
        return quoted
    return f"{quoted}; tolerated: {tolerated_words(residue.tolerated_frac)}"


def tolerated_words(tolerated_frac: Frac) -> str:
    """Return a tolerated carry-over.

    Parameters
    ----------
    tolerated_frac : float
        Share of the product's own rate [frac].

    Returns
    -------
    str
        In per cent, or "none".

    Example
    -------
    >>> tolerated_words(0.0001), tolerated_words(0.0)
    ('0.01 % of its rate', 'none')
    """
    return f"{little_per_cent(tolerated_frac, digits=4)} of its rate" if tolerated_frac else "none"


def _back_words(residue: Residue) -> str:
    if residue.passes_back == 1:
        return ""
    return f"; that was {residue.passes_back} passes back, and the loads since prove nothing"
