"""The solved boom in words: what the sections get, which tips get least and most, and whether a pass allows that."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import Final

from wetrun.papers.reader import Reader
from wetrun.percent import off_per_cent, per_cent
from wetrun.planning.boom_along import BoomAlong, TipAlong
from wetrun.quantity import Kind, System
from wetrun.spray.boom_flow import LossPlace
from wetrun.units import Pa, Ratio

_REMEDIES: Final[Mapping[LossPlace, str]] = MappingProxyType(
    {
        LossPlace.INLET: "wider hoses to the sections that get least, or a valve and strainer there that lose less",
        LossPlace.LINE: "a wider line, or one that is fed in its middle",
        LossPlace.BODY: "bodies and strainers that lose less",
    }
)


def along_words(along: BoomAlong | None, reader: Reader) -> list[str]:
    """Return what the plumbing leaves to the tips at the usual speed.

    Parameters
    ----------
    along : BoomAlong or None
        The solved boom; None gives nothing to say.
    reader : Reader
        Whose units.

    Returns
    -------
    list of str
        Whole sentences.
    """
    if along is None:
        return []
    sections = ", ".join(reader.digits(each, Kind.PRESSURE) for each in along.sections_pa)
    ends = f"{_tip(along.least, reader)}, least, and {_tip(along.most, reader)}, most"
    by_section = f"By section from the left: {sections} {reader.unit(Kind.PRESSURE)}"
    said = [f"Along the boom at the usual speed the plumbing gives {ends}. {by_section}."]
    if along.losses:
        lost = "; ".join(f"{_small(loss.mean_pa, reader)} in the {loss.place.value}" for loss in along.losses)
        said.append(f"Lost from cab sensor to tips on the mean: {lost}.")
    if "not known" in along.liquid_note or "from memory" in along.liquid_note:
        said.append(f"{along.liquid_note[:1].upper()}{along.liquid_note[1:]}.")
    return said


def uneven_words(along: BoomAlong | None) -> list[str]:
    """Return the warning of a boom that its plumbing makes more uneven than the pass allows; nothing if it does not.

    Parameters
    ----------
    along : BoomAlong or None
        The solved boom.

    Returns
    -------
    list of str
        One sentence, or none.

    Notes
    -----
    The limit is what the pass allows its rate (5 % where it says nothing): under such a tip the rate is off by as much.

    References
    ----------
    osu-5-percent
    """
    if along is None or not along.too_uneven:
        return []
    worst = max((along.least, along.most), key=lambda tip: abs(tip.flow_ratio - 1.0))
    words = (
        f"The plumbing alone puts tip {worst.position} {_off(worst.flow_ratio)} off the mean flow, more than the "
        f"{per_cent(along.limit_frac)} this pass allows its rate (common practice, no source, for a single tip). "
        f"Look for {_REMEDIES[along.cause]}; a smaller tip at more pressure is more even, too."
    )
    return [words]


def _tip(tip: TipAlong, reader: Reader) -> str:
    return f"tip {tip.position} (section {tip.section}) {reader.pressure(tip.tip_pa)}, {_off(tip.flow_ratio)} of flow"


def _small(pressure_pa: Pa, reader: Reader) -> str:
    """A loss, finer than a pressure is shown: a tenth of a psi is a per cent of what a tip sees."""
    places = 1 if reader.system is System.US else 2
    return f"{reader.number(pressure_pa, Kind.PRESSURE):.{places}f} {reader.unit(Kind.PRESSURE)}"


def _off(ratio: Ratio) -> str:
    return off_per_cent(ratio - 1.0)
