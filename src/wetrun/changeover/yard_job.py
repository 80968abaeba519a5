"""What a clean-out list is made from: products, label steps, circuits, cleaners, water, as somebody gave them."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from wetrun.errors import NotDefined
from wetrun.units import M3, S

_BLEACH: Final = re.compile(r"bleach|chlorine|hypochlorite", re.IGNORECASE)
_AMMONIA: Final = re.compile(r"ammoni|\bAMS\b|\bUAN\b|\b1\d-34-0\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True, kw_only=True)
class LabelStep:
    """A step a label asks for.

    Attributes
    ----------
    product : str
        Whose label.
    words : str
        As typed from it.
    water_m3 : float or None
        Water it asks for [m3].
    stand_s : float or None
        How long it asks to let stand [s].
    """

    product: str
    words: str
    water_m3: M3 | None = None
    stand_s: S | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CircuitFlush:
    """A circuit to flush, with where its valves have to stand for it.

    Attributes
    ----------
    circuit : str
        Its name, as the machine's own.
    valves : str
        Positions of the valves, in words.
    water_m3 : float or None
        Water of its own, from a hose for example [m3]; None if it takes the rinse's.
    """

    circuit: str
    valves: str
    water_m3: M3 | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Cleaner:
    """A tank cleaner, as the label of the product that has to come out names it.

    Attributes
    ----------
    name : str
        What the user calls it.
    words : str
        The label's words on it.
    stand_s : float or None
        Standing time of the label [s]; None if nobody typed it.
    """

    name: str
    words: str = ""
    stand_s: S | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class YardJob:
    """One clean-out between two tanks.

    Attributes
    ----------
    machine, crop_to : str
        The sprayer, and the crop it is made ready for.
    products_from, products_to : tuple of str
        Everything since the last clean-out, carrier included, and what comes next.
    label_steps : tuple of LabelStep
        Steps of the labels, in their order.
    rinses_m3 : tuple of float
        Water of each rinse through the tank [m3]; the rinse plan's, or the user's.
    first_flush_m3 : float or None
        Water round pump and tank before the first rinse [m3].
    circuits : tuple of CircuitFlush
        In the order their valves are to be moved.
    cleaners : tuple of Cleaner
        In the second rinse; none if the labels name none.
    rinsate : str
        Where rinsate may go, by label and local rules, as typed.
    nurse : bool
        Whether a nurse tank, transfer pump or hoses carried the product.
    """

    machine: str
    crop_to: str
    products_from: tuple[str, ...]
    products_to: tuple[str, ...]
    label_steps: tuple[LabelStep, ...] = ()
    rinses_m3: tuple[M3, ...] = ()
    first_flush_m3: M3 | None = None
    circuits: tuple[CircuitFlush, ...] = ()
    cleaners: tuple[Cleaner, ...] = ()
    rinsate: str = ""
    nurse: bool = True


def check_cleaners(job: YardJob) -> None:
    """Refuse a job in which chlorine bleach would meet ammonia or an ammonium salt in the tank.

    Parameters
    ----------
    job : YardJob
        The job; names of cleaners and of what was and will be in the tank are looked at.

    Raises
    ------
    NotDefined
        With both names.

    Notes
    -----
    Looks for words in names, in English. A name that does not say what it holds passes: read its label.

    References
    ----------
    grdc-7-2, purdue-cleanout, bleach-and-ammonium
    """
    names = (*(cleaner.name for cleaner in job.cleaners), *job.products_from, *job.products_to)
    bleach = next((name for name in names if _BLEACH.search(name)), None)
    ammonia = next((name for name in names if _AMMONIA.search(name)), None)
    if bleach is not None and ammonia is not None:
        raise NotDefined(
            f"a clean-out with {bleach} and {ammonia}",
            reason="chlorine bleach with ammonia, or with what holds ammonium, gives off toxic gas",
            remedy="Take another cleaner that the label allows; never put both in one tank or one after the other.",
        )


def check_amounts(job: YardJob) -> None:
    """Refuse water or standing times that are not above zero, and circuits named twice.

    Parameters
    ----------
    job : YardJob
        The job.

    Raises
    ------
    NotDefined
        With the thing that is wrong.
    """
    given = {
        "the first flush": job.first_flush_m3,
        **{f"rinse {number}": water_m3 for number, water_m3 in enumerate(job.rinses_m3, start=1)},
        **{f"the water for {flush.circuit}": flush.water_m3 for flush in job.circuits},
        **{f"the water of {step.product}'s label": step.water_m3 for step in job.label_steps},
        **{f"the standing time of {step.product}'s label": step.stand_s for step in job.label_steps},
        **{f"the standing time of {cleaner.name}": cleaner.stand_s for cleaner in job.cleaners},
    }
    for thing, amount in given.items():
        if amount is not None and not 0.0 < amount < float("inf"):
            raise NotDefined(thing, reason="it has to be above zero", remedy="Give the amount, or leave it out.")
    names = [circuit_key(flush.circuit) for flush in job.circuits]
    twice = next((name for name in names if names.count(name) > 1), None)
    if twice is not None:
        raise NotDefined(twice, reason="the circuit stands in the list twice", remedy="Name every circuit once.")


def circuit_key(circuit: str) -> str:
    """Return a circuit's name as the idents of its steps carry it.

    Parameters
    ----------
    circuit : str
        As named.

    Returns
    -------
    str
        In small letters, joined by hyphens.

    Example
    -------
    >>> circuit_key("Eductor  line")
    'eductor-line'
    """
    return "-".join(circuit.casefold().replace("-", " ").split())
