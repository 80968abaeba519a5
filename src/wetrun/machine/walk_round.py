"""The walk round a sprayer before it is handed over: what is looked at, and why. Our own list, from the trade."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from wetrun.errors import NotDefined


class Found(StrEnum):
    """What was found at one point of the walk."""

    RIGHT = "right"
    WRONG = "wrong"
    NOT_THERE = "not on this machine"


@dataclass(frozen=True, slots=True)
class Look:
    """One point of the walk.

    Attributes
    ----------
    key : str
        Its name in records.
    words : str
        What should be so.
    why : str
        What happens otherwise.
    source_key : str
        Whose advice it is; empty for common practice without a source.
    """

    key: str
    words: str
    why: str
    source_key: str = ""


WALK: Final = (
    Look("cleaned", "The last clean-out is done and written down", "What is left burns the next crop.", "grdc-6-4"),
    Look(
        "tips",
        "The same tip and screen at every position, as on the cab card",
        "One other tip streaks.",
        "omafra-88-129",
    ),
    Look(
        "bodies", "No nozzle body drips when the boom is shut off", "A check valve that leaks puts product on the turn."
    ),
    Look(
        "strainers",
        "Suction, pressure and section strainers are clean and whole",
        "A full strainer takes the pressure.",
    ),
    Look("leaks", "With water at working pressure nothing leaks", "A leak is product on somebody.", "omafra-88-129"),
    Look("hoses", "Hoses are not worn, kinked or pinched, folded and unfolded", "They burst under pressure."),
    Look(
        "valves",
        "Every valve stands for spraying; drain and fill are shut",
        "An open drain empties the tank in the yard.",
    ),
    Look("agitation", "Agitation runs and leaves enough for the boom", "What settles is not sprayed, then too strong."),
    Look(
        "rinse",
        "The rinse tank is full and its valve turns",
        "Without water it cannot be cleaned where it stands.",
        "grdc-6-4",
    ),
    Look(
        "gauge", "Gauge and cab pressure stand at zero at rest and agree under load", "Pressure is what the tips feel."
    ),
    Look(
        "hold",
        "The minimum hold is set for the tips that are on",
        "Below it the rate rises as the machine slows.",
        "grdc-6-4",
    ),
    Look(
        "boom",
        "The boom hangs level, at the card's height, and breaks away and returns",
        "Height decides drift.",
        "grdc-6-4",
    ),
    Look("tires", "Tires have the pressure the speed sensor was proved with", "A softer tire is a wrong speed."),
    Look("guards", "Shaft guards, steps, rails and locks of the folded boom are on", "Moving parts and height injure."),
    Look("road", "Lights, signs and marks for the road work", "It leaves the yard by road."),
    Look(
        "water",
        "Clean water for hands and eyes, and what the label asks to wear, are on board",
        "The label is the law.",
    ),
    Look(
        "card", "Cab card and labels are in the cab and were read together", "Who drives did not set it up.", "grdc-6-4"
    ),
)


def look_of(key: str) -> Look:
    """Return one point of the walk.

    Parameters
    ----------
    key : str
        Its name.

    Returns
    -------
    Look
        The point.

    Raises
    ------
    NotDefined
        If there is none of that name.

    Example
    -------
    >>> look_of("rinse").words
    'The rinse tank is full and its valve turns'
    """
    found = next((look for look in WALK if look.key == key), None)
    if found is None:
        known = ", ".join(look.key for look in WALK)
        raise NotDefined(f"“{key}”", reason="the walk round has no such point", remedy=f"It has: {known}.")
    return found


@dataclass(frozen=True, slots=True)
class Answered:
    """What somebody found at one point.

    Attributes
    ----------
    key : str
        The point.
    found : Found or None
        None if nobody looked.
    remark : str
        What is wrong, or where it is not there.
    """

    key: str
    found: Found | None
    remark: str = ""


def open_points(answers: tuple[Answered, ...]) -> tuple[str, ...]:
    """Return what keeps a walk from being signed, as sentences.

    Parameters
    ----------
    answers : tuple of Answered
        In any order.

    Returns
    -------
    tuple of str
        A point nobody looked at; one that is wrong without a remark. What is wrong and told may be signed: whoever
        takes the machine then knows.

    Example
    -------
    >>> told = [Answered(look.key, Found.RIGHT) for look in WALK]
    >>> open_points((*told[1:], Answered("cleaned", Found.WRONG)))
    ('“The last clean-out is done and written down” is wrong: write down what is.',)
    """
    given = {answer.key: answer for answer in answers}
    said = []
    for look in WALK:
        answer = given.get(look.key)
        if answer is None or answer.found is None:
            said.append(f"Nobody looked yet: {look.words[:1].lower()}{look.words[1:]}.")
        elif answer.found is Found.WRONG and not answer.remark.strip():
            said.append(f"“{look.words}” is wrong: write down what is.")
    return tuple(said)
