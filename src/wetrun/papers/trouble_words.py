"""What the numbers of a machine in trouble tell, in a reader's words and units; pages and command line say the same."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from wetrun.papers.reader import Reader, listed
from wetrun.papers.trouble_looks import CAUTIONS, HOW, KIND_OF
from wetrun.percent import more_or_less, off_per_cent, per_cent
from wetrun.proving.trouble import Outcome, Trouble
from wetrun.proving.trouble_held import Held
from wetrun.proving.trouble_model import Cause
from wetrun.proving.trouble_next import NextLook
from wetrun.proving.trouble_suspect import Suspect, Why
from wetrun.quantity import Kind
from wetrun.spray.limits import Bound, Side
from wetrun.units import M3pm2

FAR: Final = 3.0
"""Standard deviations from which a reading is marked as far off."""


@dataclass(frozen=True, slots=True)
class EvidenceRow:
    """One reading against what all the others make of it.

    Attributes
    ----------
    words, read, expected, off : str
        Which, as read, as it should be, and how far off.
    far : bool
        Whether it is off by more than chance would have it.
    """

    words: str
    read: str
    expected: str
    off: str
    far: bool


@dataclass(frozen=True, slots=True)
class NextWords:
    """The reading to take next, in words.

    Attributes
    ----------
    name, words, how, why : str
        Which in code and in words, how it is taken, and what it tells.
    would_read : tuple of tuple of str
        Each suspect with what the reading would then be.
    """

    name: str
    words: str
    how: str
    why: str
    would_read: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleWords:
    """What the numbers tell.

    Attributes
    ----------
    headline : str
        In one sentence.
    told : tuple of str
        What the rate set asks of the machine, and what is put down.
    suspects : tuple of str
        What would explain it, best first, each with its size.
    next : NextWords or None
        The reading to take next.
    evidence : tuple of EvidenceRow
        Reading by reading.
    unknown : tuple of str
        What it cannot know.
    cautions : tuple of str
        Before anybody does anything.
    method : str
        Name and number of the method.
    """

    headline: str
    told: tuple[str, ...]
    suspects: tuple[str, ...]
    next: NextWords | None
    evidence: tuple[EvidenceRow, ...]
    unknown: tuple[str, ...]
    cautions: tuple[str, ...]
    method: str


def trouble_words(found: Trouble, reader: Reader) -> TroubleWords:
    """Return what the numbers of a machine in trouble tell, in words.

    Parameters
    ----------
    found : Trouble
        The answer.
    reader : Reader
        Whose units.

    Returns
    -------
    TroubleWords
        Sentences and rows.
    """
    return TroubleWords(
        headline=_headline(found, reader),
        told=tuple(_told(found, reader)),
        suspects=tuple(_suspect(suspect, reader) for suspect in found.suspects),
        next=None if found.next is None else _next(found.next, reader),
        evidence=tuple(_evidence(found, reader)),
        unknown=tuple(_unknown(found)),
        cautions=CAUTIONS,
        method=found.method,
    )


def _headline(found: Trouble, reader: Reader) -> str:
    if found.outcome is Outcome.LIMIT and found.held is not None and found.held.limit is not None:
        return f"Nothing in these numbers is broken: {_acting(found.held, found.held.limit, reader)}"
    said = {
        Outcome.TOO_FEW: "Cannot tell yet: these numbers would agree even if something were far off.",
        Outcome.AS_EXPECTED: "Nothing is wrong with these numbers: they agree within what such readings are off.",
        Outcome.OPEN: f"Cannot tell yet: {len(found.suspects)} things would explain these numbers.",
        Outcome.NOT_EXPLAINED: "These numbers disagree, and no single thing known here explains them: more than one "
        "may be wrong, or one was misread. Read all of them again at one steady speed.",
    }
    named = f"{_capital(found.suspects[0].why.value)}." if found.suspects else ""
    return said.get(found.outcome, named)


def _acting(held: Held, limit: Bound, reader: Reader) -> str:
    expected = reader.text(held.expected_m3pm2, Kind.RATE)
    begins_mps = held.limit_mps or 0.0
    if limit.side is Side.LOW:
        under = reader.at_least(begins_mps)
        return (
            f"the machine is slower than its {limit.limit.value} allows. Under {under} it puts down more than is set: "
            f"here {expected}."
        )
    over = f"{reader.inward(0.0, begins_mps)[1]} {reader.unit(Kind.SPEED)}"
    return (
        f"the rate set asks for more than the {limit.limit.value} lets through. Over {over} it falls short of what is "
        f"set: here {expected}."
    )


def _told(found: Trouble, reader: Reader) -> Iterator[str]:
    held = found.held
    if held is not None:
        yield (
            f"The rate set needs {reader.text(held.demand_m3s, Kind.TIP_FLOW)} of a tip at this speed: "
            f"{reader.pressure(held.tip_pa)} at the tip, {reader.pressure(held.cab_pa)} in the cab."
        )
        if held.slowest_mps is not None and held.fastest_mps is not None and held.slowest_mps < held.fastest_mps:
            low, high = reader.inward(held.slowest_mps, held.fastest_mps)
            yield f"By the machine's file this set holds the rate from {low} to {high} {reader.unit(Kind.SPEED)}."
        yield from _limits(held)
    yield from (finding.words for finding in found.density)
    if found.rate is not None:
        low_text, high_text = _both(found.rate.low_m3pm2, found.rate.high_m3pm2, reader)
        with_any = " whichever it is" if len(found.suspects) > 1 else ""
        yield f"What is put down is {low_text} to {high_text}{with_any}, if the file and these readings are right."


def _limits(held: Held) -> Iterator[str]:
    if held.judged is not None:
        yield (
            f"Outside what the set is good for here: {held.judged.limit.value}. That is no fault of the machine's, but "
            "another set of tips, or another speed, is needed for this rate. See the label and the tips' chart."
        )
    if held.near is not None and held.limit is None:
        yield f"So near the {held.near.limit.value} nobody can say whether it acts."


def _both(low: M3pm2, high: M3pm2, reader: Reader) -> tuple[str, str]:
    return reader.digits(low, Kind.RATE), reader.text(high, Kind.RATE)


def _suspect(suspect: Suspect, reader: Reader) -> str:
    said = f"{_capital(suspect.why.value)}: {_amount(suspect, reader)}."
    if suspect.sizes:
        said += f" That is what size {listed(list(suspect.sizes), joint='or')} would give."
    effect = suspect.effect
    if effect is not None:
        off = effect.rate_ratio
        rate = "" if off is None or abs(off - 1.0) < 1e-3 else f" The rate put down is off by {off_per_cent(off - 1)}."
        said += f" {effect.words}{rate}"
    return said


def _amount(suspect: Suspect, reader: Reader) -> str:
    """How far off, with its doubt."""
    doubt = f"± {per_cent(suspect.expanded, places=0)}"
    if suspect.why in {Why.SENSOR, Why.PLUMBING}:
        tip_pa = suspect.fit.world.tip_pa
        size, wide = (reader.difference(abs(part) * tip_pa) for part in (suspect.size, suspect.expanded))
        way = "more than usual" if suspect.why is Why.PLUMBING else "too high" if suspect.size > 0.0 else "too low"
        return f"{size} {way}, ± {wide}"
    return f"{more_or_less(suspect.size, places=0)} {_THAN.get(suspect.why, 'than the rest says')}, {doubt}"


def _next(asked: NextLook, reader: Reader) -> NextWords:
    if asked.pairs:
        why = "It tells most of them apart." if asked.apart < asked.pairs else "It tells them apart."
    elif asked.shows:
        why = f"It would show {listed([_HIDDEN[cause] for cause in asked.shows], joint='or')} if it is far off."
    else:
        why = "The other readings can be held against it."
    would = tuple((_capital(why_.value), _shown(asked, value, reader)) for why_, value in asked.would_read)
    return NextWords(asked.look.name, asked.look.value, HOW[asked.look], why, would)


def _shown(asked: NextLook, value: float, reader: Reader) -> str:
    return reader.text(value, KIND_OF[asked.look])


def _evidence(found: Trouble, reader: Reader) -> Iterator[EvidenceRow]:
    for row in found.evidence:
        kind = KIND_OF[row.look]
        yield EvidenceRow(
            _capital(row.look.value),
            reader.text(row.read, kind),
            reader.text(row.expected, kind),
            off_per_cent(row.off_ratio, places=0),
            row.excess >= FAR,
        )


def _unknown(found: Trouble) -> Iterator[str]:
    if found.hidden:
        hidden = listed([_HIDDEN[cause] for cause in found.hidden], joint="or")
        yield f"These readings would not show {hidden} even if it were off by 15 %."
    yield (
        "Tips, spacing, sections, losses and limits are taken as the machine's file has them; one thing is looked for "
        "at a time, and steady numbers only."
    )
    yield "What is usual of tips, meters and gauges is our choice, between careful and typical: no source."


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]


_THAN: Final = {
    Why.TIPS_MORE: "than their chart",
    Why.TIPS_LESS: "than their chart",
    Why.METER: "shown than flows",
    Why.MONITOR_DENSITY: "shown than flows",
    Why.SPEED: "shown than driven",
    Why.WIDTH: "than the tape over what is on",
    Why.GAUGE: "shown than there is",
    Why.DENSITY: "than on file",
    Why.CHART: "shown than the pressure gives by the chart",
    Why.SUPPLY: "than the rate set",
    Why.CONTROL: "than the rate set",
    Why.HOLD: "than the rate set",
    Why.FEED: "pressure than the other sections have",
    Why.SECTION_TIPS_LESS: "than their pressure should give",
    Why.SECTION_TIPS_MORE: "than their pressure should give",
    Why.CAUGHT: "than the rest of the set gives",
}
_HIDDEN: Final = {
    Cause.TIPS: "worn or plugged tips",
    Cause.METER: "a wrong meter number",
    Cause.SPEED: "a wrong speed",
    Cause.WIDTH: "a wrong width",
    Cause.PLUMBING: "pressure lost in the plumbing",
    Cause.SENSOR: "a wrong pressure in the cab",
    Cause.GAUGE: "a wrong gauge",
    Cause.DENSITY: "another weight of the liquid",
    Cause.CHART: "a wrong tip size or density in the monitor",
    Cause.CAUGHT: "an odd tip under the jug",
    Cause.CONTROL: "a rate that is not reached",
    Cause.FEED: "a section fed too little",
    Cause.SECTION_TIPS: "plugged tips of a section",
}
