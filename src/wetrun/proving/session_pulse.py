"""What low duty showed, in words: each weak solenoid with its next step as it stands after its swap test."""

from __future__ import annotations

from wetrun.proving.session_result import Findings


def weak_words(found: Findings) -> tuple[str, ...]:
    """Return what to say of each tip that pulses unlike its boom.

    Parameters
    ----------
    found : Findings
        The tests' results.

    Returns
    -------
    tuple of str
        Along the boom; a swap test that was done takes the place of the advice to do one.
    """
    done = {swap.odd: swap.words for swap in found.low_swaps if swap.verdict is not None}
    return tuple(f"{each.said} {done.get(each.tip, each.next_step)}".rstrip() for each in found.low_duty or ())
