"""`wetrun trouble`: the numbers of a machine in trouble, what they tell, and the one reading to take next."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any, Final

from wetrun.cli.shown_units import system_shown
from wetrun.cli.telling import print_json, say, say_table
from wetrun.cli.typed_option import typed_option
from wetrun.documents.trouble_file import OnTheBoom, TroubleFile, read_trouble, sections_typed
from wetrun.errors import InputProblems, Problem
from wetrun.papers.reader import Reader
from wetrun.papers.trouble_looks import KIND_OF
from wetrun.papers.trouble_words import TroubleWords, trouble_words
from wetrun.proving.trouble import Trouble, trouble
from wetrun.proving.trouble_seen import Look, Seen, Symptom

FORMAT_VERSION: Final = 1
SYMPTOMS: Final[Mapping[str, Symptom]] = {
    "rate": Symptom.RATE,
    "pressure": Symptom.PRESSURE,
    "section": Symptom.SECTION,
}
OPTION_OF: Final[Mapping[Look, str]] = {
    Look.TARGET: "--set",
    Look.RATE: "--rate",
    Look.SPEED: "--speed",
    Look.OTHER_SPEED: "--other-speed",
    Look.CAB: "--cab",
    Look.FLOW: "--flow",
    Look.WIDTH: "--width",
    Look.DUTY: "--duty",
    Look.TIP: "--tip-gauge",
    Look.CATCH: "--catch",
    Look.ANOTHER_CATCH: "--second-catch",
    Look.SECTION_TIP: "--low-gauge",
    Look.SECTION_CATCH: "--low-catch",
    Look.ZERO: "--cab-at-rest",
    Look.BESIDE: "--test-gauge",
    Look.WEIGHED: "--weighed",
    Look.DENSITY_SET: "--density-set",
    Look.HOLD_SET: "--hold-set",
    Look.HIGHEST: "--highest",
}
"""What each reading is typed after."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleRequest:
    """What was asked on the command line."""

    file: Path
    says: str
    typed: Mapping[Look, str] = field(default_factory=dict)
    sections_on: str | None = None
    low_section: int | None = None
    boom: OnTheBoom = field(default_factory=OnTheBoom)
    units: str | None = None
    as_json: bool = False


def run_trouble(request: TroubleRequest) -> None:
    """Hold the numbers against the machine, and tell what they come to.

    Parameters
    ----------
    request : TroubleRequest
        What was asked.

    Raises
    ------
    WetrunError
        Whatever is wrong with the file or an option. A machine in trouble is a result, not an error.
    """
    file = read_trouble(request.file, request.boom)
    reader = Reader(system_shown(request.units, file.units))
    count = len(file.machine.boom.section_tips)
    found = trouble(file.machine, _seen(request, count), _symptom(request.says))
    told = trouble_words(found, reader)
    if request.as_json:
        print_json(_plain(file, found, told))
        return
    _tell(file, told)


def _symptom(says: str) -> Symptom:
    if says not in SYMPTOMS:
        limit = "no trouble is called that"
        raise InputProblems([Problem("--says", says, "", limit, f"Say one of: {', '.join(SYMPTOMS)}.")])
    return SYMPTOMS[says]


def _seen(request: TroubleRequest, count: int) -> Seen:
    on = sections_typed("--on", request.sections_on or "", count)
    low = request.low_section or 0
    if low > count:
        limit = f"the boom has {count} sections"
        raise InputProblems([Problem("--low-section", f"{low}", "", limit, "Count them from 1 at the left.")])
    seen = Seen(sections_on=on, low_section=low)
    for look, text in request.typed.items():
        value = typed_option(OPTION_OF[look], text, KIND_OF[look], positive=look is not Look.ZERO)
        seen = seen.also(look, value)
    return seen


def _tell(file: TroubleFile, told: TroubleWords) -> None:
    say(f"{file.title}: {file.tip}, {file.carrier}")
    for caution in told.cautions:
        say(caution)
    say()
    say(told.headline)
    for number, suspect in enumerate(told.suspects, start=1):
        say(f"{number}. {suspect}")
    for line in told.told:
        say(line)
    if told.next is not None:
        say()
        say(f"Take next: {told.next.words}. {told.next.how} {told.next.why}")
        for words, value in told.next.would_read:
            say(f"   {value:>12}  {words}")
    if told.evidence:
        say()
        say_table(
            ("reading", "read", "should be", "off", ""),
            [(row.words, row.read, row.expected, row.off, "far off" if row.far else "") for row in told.evidence],
            left=frozenset({0, 4}),
        )
    say()
    for line in told.unknown:
        say(line)


def _plain(file: TroubleFile, found: Trouble, told: TroubleWords) -> dict[str, Any]:
    suspects = [
        {
            "why": suspect.why.name,
            "size_ratio": suspect.size,
            "expanded_ratio": suspect.expanded,
            "sizes": suspect.sizes,
        }
        for suspect in found.suspects
    ]
    rate = None if found.rate is None else asdict(found.rate)
    return {
        "format_version": FORMAT_VERSION,
        "method": found.method,
        "machine": file.title,
        "outcome": found.outcome.name,
        "alarm": found.alarm,
        "suspects": suspects,
        "next": None if found.next is None else found.next.look.name,
        "rate": rate,
        "words": asdict(told),
    }
