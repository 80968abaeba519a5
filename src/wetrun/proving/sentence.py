"""The answer of a cross-check in one sentence, with what else could be and what one more reading would tell."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from wetrun.percent import per_cent
from wetrun.proving.crosscheck import CrossCheck
from wetrun.proving.explain import Explanation, SizedFault
from wetrun.proving.faults import FaultKind
from wetrun.proving.further import Further, Unseen, further_for_unseen, further_reading
from wetrun.proving.gross_error import ALARM_FRAC
from wetrun.proving.redundant import Tool
from wetrun.proving.second_route import SecondRoute, second_route
from wetrun.units import Pa

SOME = 4
"""More names than this in one sentence are counted instead of listed."""


def pascals(pressure_pa: Pa) -> str:
    """Return a pressure [Pa] as it stands inside; the doors hand over their reader's units instead.

    Example
    -------
    >>> pascals(30000.0)
    '30000 Pa'
    """
    return f"{pressure_pa:.0f} Pa"


Words = Callable[[float], str]


@dataclass(frozen=True, slots=True)
class Answer:
    """What a cross-check says.

    Attributes
    ----------
    sentence : str
        What is wrong, by how much, give or take how much.
    alternatives : tuple of str
        What else would explain it alone, best first.
    further : Further or None
        The reading that would tell them apart.
    unseen : tuple of str
        What these readings cannot see.
    hidden : tuple of Unseen
        The same with what would show it, the most useful reading first.
    second : SecondRoute or None
        Whether leaving readings out ends at the same; None where nothing was named of the readings.
    """

    sentence: str
    alternatives: tuple[str, ...]
    further: Further | None
    unseen: tuple[str, ...]
    hidden: tuple[Unseen, ...] = ()
    second: SecondRoute | None = None


def answer(check: CrossCheck, *, pressure_words: Words = pascals) -> Answer:
    """Return the answer of a cross-check in words.

    Parameters
    ----------
    check : CrossCheck
        What was found.
    pressure_words : callable
        Makes words of a pressure in pascal.

    Returns
    -------
    Answer
        One sentence, alternatives, the next reading.
    """
    further = further_reading(check)
    enough = [other for other in check.alternatives if other.left_frac > ALARM_FRAC]
    return Answer(
        sentence=_sentence(check, further, pressure_words),
        alternatives=tuple(_either(other.faults, pressure_words) for other in enough),
        further=further,
        unseen=tuple(fault.words for fault in check.unseen),
        hidden=further_for_unseen(check),
        second=second_route(check),
    )


def _sentence(check: CrossCheck, further: Further | None, pressure_words: Words) -> str:
    if not check.alarm:
        return "All readings agree within their uncertainties."
    if not check.named:
        return "The readings disagree, and no fault that is known here explains it: read everything again."
    said = "; and ".join(_either(explanation.faults, pressure_words) for explanation in check.named)
    said = said[0].upper() + said[1:]
    if check.or_pairs:
        others = "; or ".join(_both(pair, pressure_words) for pair in check.or_pairs)
        said = f"{said}; or else {others}: these readings cannot tell which two"
    elif any(explanation.tied for explanation in check.named):
        said = f"{said}: these readings cannot tell which"
    if further is not None and any(explanation.tied for explanation in check.named):
        how = "would tell" if further.apart == further.pairs else "would tell most of them apart"
        said = f"{said}, and {further.words} {how}"
    if check.left_frac < ALARM_FRAC:
        said = f"{said}; even so they do not agree, so something else is wrong, too"
    return f"{said}."


def _both(pair: Iterable[Explanation], pressure_words: Words) -> str:
    return " and ".join(_either(explanation.faults, pressure_words) for explanation in pair)


def _either(faults: Sequence[SizedFault], pressure_words: Words) -> str:
    """Join what is tied; the strainers of many sections are one thing to say."""
    strainers = [sized for sized in faults if sized.fault.kind is FaultKind.STRAINER]
    listed = [sized for sized in faults if len(strainers) < SOME or sized not in strainers]
    said = [phrase(sized, pressure_words) for sized in listed]
    if len(strainers) >= SOME:
        said.append(f"the strainer of one section is plugged (any of {len(strainers)})")
    return f"either {', or '.join(said)}" if len(said) > 1 else said[0]


def phrase(sized: SizedFault, pressure_words: Words = pascals) -> str:
    """Return one fault with its size and how sure that is.

    Parameters
    ----------
    sized : SizedFault
        What, how much.
    pressure_words : callable
        Makes words of a pressure in pascal.

    Returns
    -------
    str
        Without capital or full stop.

    Example
    -------
    >>> from wetrun.proving.faults import Fault
    >>> phrase(SizedFault(Fault(FaultKind.METER), 0.05, 0.013))
    'the flow meter reads 5.0 % high (± 1.3 %)'
    """
    fault, size = sized.fault, sized.size
    if fault.kind is FaultKind.SENSOR:
        way = "high" if size > 0.0 else "low"
        return (
            f"the cab pressure sensor shows {pressure_words(abs(size))} too {way} (± {pressure_words(sized.expanded)})"
        )
    amount = per_cent(abs(size))
    doubt = f"(± {per_cent(sized.expanded)})"
    return f"{_reading(sized, amount)} {doubt}"


def _reading(sized: SizedFault, amount: str) -> str:
    """What a fault does, without the doubt about it."""
    fault, high = sized.fault, sized.size > 0.0
    if fault.tool is not None:
        way = ("fast", "slow") if fault.tool is Tool.STOPWATCH else ("high", "low")
        return f"the {fault.tool.value} is {amount} {way[0] if high else way[1]}"
    whats = {
        FaultKind.METER: f"the flow meter reads {amount} {'high' if high else 'low'}",
        FaultKind.GAUGE: f"the gauge at the tip reads {amount} {'high' if high else 'low'}",
        FaultKind.SPEED: f"the speed source {fault.name} reads {amount} {'high' if high else 'low'}",
        FaultKind.STRAINER: f"section {fault.section} gets {amount} less than its chart: look at its strainer",
        FaultKind.WIDTH: f"the monitor works with a width {amount} too {'great' if high else 'small'}",
    }
    if fault.kind is FaultKind.TIPS:
        more, less = "more than their chart: worn, or a greater size", "less than their chart"
        return f"the tips let through {amount} {more if high else less}"
    return whats.get(fault.kind, f"the {fault.kind.value} does not fit the tips' chart by {amount}")
