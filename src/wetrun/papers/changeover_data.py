"""A clean-out as plain data: everything its paper prints, already in the reader's units."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from wetrun.changeover.answer import ChangeoverAnswer
from wetrun.changeover.methods import METHODS
from wetrun.changeover.rinse_plan import Remedy, RemedyKind
from wetrun.changeover.tolerated import Tolerated
from wetrun.papers.carry_picture import carry_svg, told
from wetrun.papers.carry_table import carry_table, carry_title, carry_words
from wetrun.papers.carry_view import carry_view, in_basis, share_of, shared
from wetrun.papers.changeover_circuits import held_data, volume_rows
from wetrun.papers.changeover_skips import priming_words, skip_data
from wetrun.papers.changeover_yard import step_sources, yard_data
from wetrun.papers.reader import Reader, day, listed
from wetrun.papers.small_amounts import one_in, share_text, water_text
from wetrun.sources import source

METHOD: Final = "changeover-sheet-1"
_RESTS_ON: Final = ("ideal-mixing-dilution", "osu-adjuvants-strip", "section-front", "own-choice-exchange")


def changeover_data(answer: ChangeoverAnswer, reader: Reader, shop: str = "") -> dict[str, Any]:
    """Return a clean-out as plain data for its template.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.
    shop : str
        Name of the shop; empty if it wants none.

    Returns
    -------
    dict
        Strings, lists, dicts, numbers and truth values only.
    """
    asked, view = answer.question, carry_view(answer, reader)
    return {
        "machine": asked.machine,
        "shop": shop,
        "on": "" if asked.on is None else day(asked.on),
        "from": _use(asked.earlier.name, asked.earlier.crop, asked.earlier.contents),
        "to": _use(asked.later.name, asked.later.crop, asked.later.contents),
        "sentence": sentence_of(answer, reader),
        "reached": answer.plan.reached,
        **_plan(answer, reader),
        "carry_title": carry_title(answer),
        "tolerated": _tolerated(answer, reader),
        "yard": yard_data(answer, reader),
        "share_words": share_of(answer),
        "share_noun": shared(answer),
        "picture_svg": "" if view is None else carry_svg(view, reader),
        "picture_words": "" if view is None else told(view, reader),
        **carry_table(answer, reader),
        "carry_words": carry_words(answer),
        "held": held_data(answer, reader),
        "volumes": volume_rows(asked.layout, reader),
        "skips": skip_data(answer, reader),
        "priming": priming_words(answer, reader),
        "cautions": list(_cautions(answer)),
        "meaning": answer.meaning,
        "methods": ", ".join(dict.fromkeys((METHOD, answer.method, *METHODS.values(), answer.yard.method))),
        "sources": _sources(answer),
    }


def sentence_of(answer: ChangeoverAnswer, reader: Reader) -> str:
    """Return the answer in one sentence.

    Parameters
    ----------
    answer : ChangeoverAnswer
        The clean-out.
    reader : Reader
        Whose units.

    Returns
    -------
    str
        Never more than “diluted to x if nothing is bound”.
    """
    plan = answer.plan
    left, end = (share_text(in_basis(answer, share)) for share in (plan.left_frac, plan.acres.end_frac))
    level = share_text(answer.question.tolerated.level_frac)
    if not plan.rinses:
        return f"No rinse is needed for the tolerated {level}: diluted to {left} by the next load if nothing is bound."
    rinses = _rinses_words(answer, reader)
    if plan.reached:
        return f"{rinses}: diluted to {left} in the first drop and {end} by the end of the load, if nothing is bound."
    best = f"{rinses[:1].lower()}{rinses[1:]}"
    return f"The water there is does not reach {level}. Best is to {best}: diluted to {left}, if nothing is bound."


def _rinses_words(answer: ChangeoverAnswer, reader: Reader) -> str:
    plan = answer.plan
    amounts = [water_text(rinse.water_m3, reader) for rinse in plan.rinses]
    number = len(amounts)
    if number == 1:
        return f"Rinse once with {amounts[0]}"
    times = "twice" if number == 2 else f"{number} times"
    each = f"{amounts[0]} each" if len(set(amounts)) == 1 else f"{listed(amounts, joint='then')}"
    return f"Rinse {times} with {each} ({water_text(plan.water_m3, reader)} in all)"


def _use(name: str, crop: str, contents: tuple[str, ...]) -> dict[str, str]:
    return {"name": name, "crop": crop, "contents": listed(list(contents)) or "nothing typed"}


def _plan(answer: ChangeoverAnswer, reader: Reader) -> dict[str, Any]:
    plan, supply = answer.plan, answer.question.supply
    more = "" if plan.next_step_frac is None else share_text(in_basis(answer, plan.next_step_frac))
    return {
        "rinses": [
            {"number": str(n), "way": rinse.way.value, "water": water_text(rinse.water_m3, reader)}
            for n, rinse in enumerate(plan.rinses, start=1)
        ],
        "water": water_text(plan.water_m3, reader),
        "tank": water_text(supply.rinse_tank_m3, reader),
        "refills": str(plan.refills),
        "left": share_text(in_basis(answer, plan.left_frac)),
        "left_one_in": one_in(in_basis(answer, plan.left_frac), reader),
        "worst_section": plan.acres.worst_section,
        "end": share_text(in_basis(answer, plan.acres.end_frac)),
        "binding": plan.binding,
        "step": water_text(supply.step_m3, reader),
        "more": more,
        "remedies": [remedy_words(remedy, answer) for remedy in plan.remedies],
    }


def remedy_words(remedy: Remedy, answer: ChangeoverAnswer) -> str:
    """Return one way out, with what it would reach.

    Parameters
    ----------
    remedy : Remedy
        What would help.
    answer : ChangeoverAnswer
        The clean-out.

    Returns
    -------
    str
        A sentence.
    """
    names = remedy.circuits
    which = f"{names[0]} to {names[-1]}" if len(names) > 2 else listed(list(names))
    then = "" if remedy.left_frac is None else f": then {share_text(in_basis(answer, remedy.left_frac))}"
    if remedy.kind is RemedyKind.REFILL:
        times = f"{remedy.refills} more time{'s' if remedy.refills > 1 else ''}"
        known = then or ", if that is enough: even so many were not tried"
        return f"Fill the rinse tank {times} than allowed{known}."
    if remedy.kind is RemedyKind.OPEN:
        return f"After the last rinse open and drain by hand {which}{then}."
    return (
        f"Measure what {which} really hold{'' if len(names) > 1 else 's'}: the volume is typical, not this machine's."
    )


def _tolerated(answer: ChangeoverAnswer, reader: Reader) -> dict[str, Any]:
    level = answer.question.tolerated
    from_user = level.source_key == "user"
    return {
        "level": share_text(level.level_frac),
        "one_in": one_in(level.level_frac, reader),
        "words": level.words,
        "basis": level.basis.value,
        "source": "" if from_user else source(level.source_key).citation,
        "status": "" if from_user else level.status,
        "kind": "" if level.kind is None else level.kind.value,
        "spread": _spread(level),
        "harms": level.harms_at_level,
    }


def _cautions(answer: ChangeoverAnswer) -> Iterator[str]:
    """All but those on circuits no valve flushes: the page with the valves says what a hand has to do there."""
    beside = {str(one).casefold() for one in answer.never_rinsed}
    yield from (caution for caution in answer.cautions if caution.casefold() not in beside)


def _spread(level: Tolerated) -> str:
    ends = (level.spread_low_frac, level.spread_high_frac)
    if ends[0] is None or ends[1] is None or ends[0] == ends[1]:
        return ""
    return f"figures found for the same thing: {share_text(ends[0])} to {share_text(ends[1])}"


def _sources(answer: ChangeoverAnswer) -> list[dict[str, str]]:
    found = [source(key) for key in dict.fromkeys(_source_keys(answer)) if key != "user"]
    return [{"citation": one.citation, "status": one.status} for one in found]


def _source_keys(answer: ChangeoverAnswer) -> Iterator[str]:
    yield from _RESTS_ON
    yield answer.question.tolerated.source_key
    for circuit in answer.circuits:
        yield from (circuit.volume_source, circuit.residue_source)
    yield from step_sources(answer)
