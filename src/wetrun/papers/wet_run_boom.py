"""The catch on paper: the picture's table, tips to change or to swap, and what the boom has in common."""

from __future__ import annotations

from typing import Any

from wetrun.papers.boom_picture import boom_svg
from wetrun.papers.boom_view import BoomView, State, TipMark, boom_view
from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import measured
from wetrun.percent import off_per_cent, per_cent
from wetrun.proving.catch_diagnosis import TipFinding
from wetrun.proving.session_pulse import weak_words
from wetrun.proving.session_result import Findings, WetRunResult
from wetrun.proving.session_rows import positions
from wetrun.proving.swap import SwapVerdict
from wetrun.proving.swaps import SwapResult
from wetrun.quantity import Kind
from wetrun.sources import source
from wetrun.units import FRACTION, RATIO


def boom_data(result: WetRunResult, reader: Reader) -> dict[str, Any] | None:
    """Return the catch as plain data: picture, table, what is found; None if no tip was caught.

    Parameters
    ----------
    result : WetRunResult
        The wet run.
    reader : Reader
        Whose units.

    Returns
    -------
    dict or None
        Strings, lists and dicts only, and the picture.
    """
    view, catch = boom_view(result), result.findings.catch
    if view is None or catch is None or result.run.catch is None:
        return None
    base, run = catch.base, result.run.catch.run
    level = measured(catch.level.value - 1.0, catch.level.expanded, RATIO, reader)
    return {
        "picture_svg": boom_svg(view, reader),
        "picture_words": f"{view.title}, {view.rule_words}: {view.counted()}",
        "counted": view.counted(),
        "rule": f"{base.rule.words} ({source(base.rule.source_key).status})",
        "caution": base.rule.caution,
        "base": f"0 is the {base.rule.base.value}: {base.definition}",
        "pressure": reader.pressure(run.pressure_pa),
        "tip": " ".join(part for part in (result.run.machine.tip, run.size and f"size {run.size}") if part),
        "conditions": run.conditions,
        "flow_unit": reader.unit(Kind.TIP_FLOW),
        "rows": [_row(mark, reader) for mark in view.marks],
        "level": f"Whole set against new: {level.text}, {catch.level.verdict.value}.",
        "spread": f"Ordinary tips spread by {per_cent(catch.spread_frac)}; one catch is known to "
        f"{per_cent(catch.reading_frac)} (standard). A tip is unlike its boom beyond "
        f"{per_cent(catch.alike_ratio - 1.0)} or so.",
        "remedy": catch.words,
        "findings": [finding.words for finding in (*catch.boom, *catch.as_predicted)],
        "wear": _wear(result.findings),
        "low": _low_duty(result),
        "gaps": positions(catch.gaps) if catch.gaps else "",
    }


def tip_rows(result: WetRunResult, reader: Reader) -> list[dict[str, str]]:
    """Return the tips to change or to swap, each with what to do next.

    Parameters
    ----------
    result : WetRunResult
        The wet run.
    reader : Reader
        Whose units.

    Returns
    -------
    list of dict
        Along the boom.
    """
    swaps = {swap.odd: swap for swap in result.findings.swaps}
    return [_tip(tip, swaps.get(tip.caught.tip), reader) for tip in result.tips]


def pictures_of(result: WetRunResult, readers: tuple[Reader, ...]) -> dict[str, bytes]:
    """Return the picture of the boom for each reader by file name; nothing if no tip was caught."""
    view = boom_view(result)
    return {} if view is None else {f"boom-{reader.system.value}.svg": _bytes(view, reader) for reader in readers}


def _bytes(view: BoomView, reader: Reader) -> bytes:
    return boom_svg(view, reader).encode()


def _row(mark: TipMark, reader: Reader) -> dict[str, str]:
    """One position of the table; what was not caught says so."""
    found = mark.found
    if found is None or mark.off_ratio is None:
        return _cells(mark, ("–", "–", "–", ""))
    off = measured(mark.off_ratio, mark.expanded_ratio, RATIO, reader)
    flow = f"{reader.number(found.caught.flow_m3s, Kind.TIP_FLOW):.3f}"
    return _cells(mark, (flow, off.value, off.plus, off_per_cent(found.to_boom_ratio - 1.0).removesuffix(" %")))


def _cells(mark: TipMark, numbers: tuple[str, str, str, str]) -> dict[str, str]:
    flow, off, plus, boom = numbers
    return {
        "tip": str(mark.tip),
        "section": str(mark.section),
        "flow": flow,
        "off": off,
        "plus": plus,
        "boom": f"{boom} ≠" if mark.unlike else boom,
        "state": mark.state.words,
        "letter": mark.state.letter,
        "plain": "yes" if mark.state is State.PASS and not mark.unlike else "",
    }


def _tip(tip: TipFinding, swap: SwapResult | None, reader: Reader) -> dict[str, str]:
    likely = f", {' or '.join(tip.other_sizes)}" if tip.other_sizes else ""
    return {
        "tip": str(tip.caught.tip),
        "section": str(tip.caught.section),
        "fault": f"{tip.fault.value}{likely}",
        "off": off_per_cent(tip.to_boom_ratio - 1.0),
        "words": tip.words,
        "swap": "" if swap is None or swap.verdict is None else f"with {swap.good}: {swap.verdict.outcome.value}",
        "share": "" if swap is None or swap.verdict is None else _share(swap.verdict, reader),
    }


def _share(found: SwapVerdict, reader: Reader) -> str:
    share = measured(found.with_tip_frac, found.doubt.expanded(), FRACTION, reader)
    return f"{share.text} went with the tip"


def _wear(found: Findings) -> list[str]:
    """Wear of the set in words; what the findings below say already is left to them."""
    said = [part.words for part in (found.reference, found.wear, found.next_check) if part is not None]
    below = " ".join(finding.words for finding in found.catch.boom) if found.catch is not None else ""
    return [words for words in said if words not in below]


def _low_duty(result: WetRunResult) -> list[str]:
    """What the same boom gave at low duty; empty if it was not caught."""
    test, weak = result.run.catch, result.findings.low_duty
    if test is None or test.low is None or weak is None:
        return []
    none = "no tip pulses unlike its boom."
    return [f"At {test.low.conditions}: {words}" for words in weak_words(result.findings) or (none,)]
