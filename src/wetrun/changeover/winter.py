"""The end of the season and its beginning: antifreeze in, and every drop of it out before anything is measured."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from wetrun.changeover.yard_job import CircuitFlush, circuit_key
from wetrun.changeover.yard_step import Signing, StepKind, YardStep

METHOD: Final = "winter-list-1"
_PRACTICE: Final = ("common-practice-winter",)


def winter_steps(circuits: Sequence[CircuitFlush], *, antifreeze: str = "") -> tuple[YardStep, ...]:
    """Return the steps that put a sprayer away for the winter.

    Parameters
    ----------
    circuits : sequence of CircuitFlush
        Every circuit, in the order its valves are to be moved.
    antifreeze : str
        The winter fluid and its label's words, as typed; empty if nobody typed them.

    Returns
    -------
    tuple of YardStep
        A clean-out by its own list comes before the first of them.

    References
    ----------
    common-practice-winter

    Example
    -------
    >>> [step.ident for step in winter_steps([])]
    ['cleaned-out', 'drain', 'parts-off', 'antifreeze', 'to-every-tip', 'valves-half', 'instruments', 'tag', 'record']
    """
    fluid = antifreeze or "Nobody typed which: see its label and the maker's manual."
    return (
        _step(
            "cleaned-out",
            "Do a clean-out by its own list first, and sign its record.",
            "Product that stands all winter dries on, and nobody remembers in spring what it was.",
        ),
        _step(
            "drain",
            "Drain tanks, sump, pump, strainers, load line, bowl, marker and injection lines; open every low point.",
            "Water that freezes breaks what holds it.",
        ),
        _step(
            "parts-off",
            "Take off tips and screens, brush them, and store each set by itself with its count and its last catch.",
            "A set that is mixed over winter is a set that has to be caught tip by tip in spring.",
        ),
        _step("antifreeze", f"Put the winter fluid in, by its label. {fluid}", "It reaches only where it is sent."),
        *(_through(flush, "winter", "the fluid comes through undiluted") for flush in circuits),
        _step(
            "to-every-tip",
            "Run it until it comes undiluted out of every nozzle body of every section and out of both boom ends.",
            "One body full of water is one body to replace.",
        ),
        _step(
            "valves-half",
            "Leave ball valves half open, and caps loose.",
            "A ball holds water in its bore when it is shut.",
        ),
        _step(
            "instruments",
            "Flow meter, pressure sensors and gauges as their makers' manuals say; write down the meter's number.",
            "A rotor that stood dirty or froze reads something else in spring.",
        ),
        _step(
            "tag",
            "Hang a tag on the wheel and on the fill: winter fluid inside, flush before any test and any load.",
            "Whoever starts it in spring may be somebody else.",
            binding=True,
        ),
        _step(
            "record",
            "Write down fluid, amount, day and name.",
            "Spring goes by it.",
            signing=Signing.LAST,
            binding=True,
        ),
    )


def spring_steps(circuits: Sequence[CircuitFlush], *, where_it_goes: str = "") -> tuple[YardStep, ...]:
    """Return the steps that get the winter fluid out again, before any meter or catch test.

    Parameters
    ----------
    circuits : sequence of CircuitFlush
        Every circuit, in the order its valves are to be moved.
    where_it_goes : str
        Where the fluid may go, by its label and local rules, as typed.

    Returns
    -------
    tuple of YardStep
        The last but one says what a test before it is worth: nothing.

    References
    ----------
    common-practice-winter
    """
    goes = where_it_goes or "Nobody typed where: find out first."
    return (
        _step(
            "ppe",
            "Put on what the labels of the winter fluid and of the last product say to wear.",
            "The plumbing is contaminated, and the fluid has a label of its own.",
            signing=Signing.BEFORE,
            binding=True,
        ),
        _step(
            "fluid-out",
            f"Drain the winter fluid into containers; it goes where its label and local rules allow. {goes}",
            "Some kinds poison water and animals.",
            binding=True,
        ),
        _step("flush", "Fill with clean water and circulate, agitation on.", "What drained is not all there was."),
        *(_through(flush, "spring", "no colour, foam or slipperiness is left") for flush in circuits),
        _step(
            "out-of-every-tip",
            "Bodies open, flush every section and both boom ends until it runs clear; then fit screens and tips.",
            "The fluid stays longest beyond the last tip.",
        ),
        _step("leaks", "Bring it up to pressure on water and look for leaks.", "Frost shows in the first minute."),
        _step(
            "before-any-test",
            "Only now test meter, gauges and tips. A catch or meter test with winter fluid in a line is worth nothing.",
            "It is denser and thicker than water, and it foams: meter, gauge and jug all read it wrong.",
            binding=True,
        ),
        _step(
            "record", "Write down day and name, and take the tag off.", "The tag is what warns.", signing=Signing.LAST
        ),
    )


def _step(ident: str, do: str, why: str, *, signing: Signing = Signing.DONE, binding: bool = False) -> YardStep:
    return YardStep(
        ident=ident, kind=StepKind.WINTER, do=do, why=why, source_keys=_PRACTICE, signing=signing, binding=binding
    )


def _through(flush: CircuitFlush, season: str, until: str) -> YardStep:
    return YardStep(
        ident=f"{season}-{circuit_key(flush.circuit)}",
        kind=StepKind.WINTER,
        do=f"{flush.circuit}: {flush.valves}. Let it flow until {until}; move each valve to and fro.",
        why="Nothing passes a closed valve.",
        source_keys=_PRACTICE,
        water_m3=flush.water_m3,
    )
