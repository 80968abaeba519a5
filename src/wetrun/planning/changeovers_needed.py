"""The changeovers an order of passes needs: what is in the machine before each pass, and whether it has to come out."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from wetrun.planning.passes import Pass
from wetrun.planning.residue import Residue, residues_on, same_mix


class Need(StrEnum):
    """Whether a clean-out is needed between two passes, by what was typed."""

    NEEDED = "needed"
    UNKNOWN = "unknown"
    NOT_NEEDED = "not needed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Changeover:
    """The change from one pass to the next.

    Attributes
    ----------
    earlier, later : Pass
        The pass before, and the one the machine is made ready for.
    need : Need
        Whether a clean-out is needed.
    residues : tuple of Residue
        What calls for it, and what is in doubt; of a product that several passes left, the latest.
    inside : tuple of str
        Everything that was in the tank since the last clean-out: a clean-out has to suit every one of their labels.
    repeat : bool
        Whether it is the same mix again.
    """

    earlier: Pass
    later: Pass
    need: Need
    residues: tuple[Residue, ...]
    inside: tuple[str, ...]
    repeat: bool

    @property
    def sure(self) -> tuple[Residue, ...]:
        """What calls for the clean-out."""
        return tuple(residue for residue in self.residues if residue.reason.sure)

    @property
    def doubtful(self) -> tuple[Residue, ...]:
        """What may call for one."""
        return tuple(residue for residue in self.residues if not residue.reason.sure)


def changeovers_of_order(order: Sequence[Pass]) -> tuple[Changeover, ...]:
    """Return the change before every pass but the first.

    Parameters
    ----------
    order : sequence of Pass
        In the order sprayed, on one machine.

    Returns
    -------
    tuple of Changeover
        One less than there are passes.

    Notes
    -----
    What a pass leaves stays in the machine until a clean-out that is needed: loads that were sprayed since thin it by
    an amount nobody measured, and do not make it harmless. A clean-out is counted as one for everything inside. In
    doubt none is counted as done. What the machine sprayed before the first pass is not known here.

    References
    ----------
    osu-cleanout-2018, unl-qa-2018
    """
    inside: list[Pass] = []
    found = []
    for earlier, later in pairwise(order):
        inside.append(earlier)
        change = _change(tuple(inside), later)
        found.append(change)
        if change.need is Need.NEEDED:
            inside.clear()
    return tuple(found)


def most_changeovers(order: Sequence[Pass]) -> int:
    """Return how many clean-outs an order needs if everything in doubt turns out to be risky.

    Parameters
    ----------
    order : sequence of Pass
        In the order sprayed.

    Returns
    -------
    int
        At least as many as are needed by what was typed.
    """
    inside: list[Pass] = []
    count = 0
    for earlier, later in pairwise(order):
        inside.append(earlier)
        if any(residues_on(one, later, passes_back=back) for back, one in enumerate(reversed(inside), start=1)):
            count += 1
            inside.clear()
    return count


def _change(inside: tuple[Pass, ...], later: Pass) -> Changeover:
    residues = _latest(
        residue
        for back, one in enumerate(reversed(inside), start=1)
        for residue in residues_on(one, later, passes_back=back)
    )
    sure = any(residue.reason.sure for residue in residues)
    names = (name for one in reversed(inside) for name in [*(product.name for product in one.products), _carrier(one)])
    return Changeover(
        earlier=inside[-1],
        later=later,
        need=Need.NEEDED if sure else Need.UNKNOWN if residues else Need.NOT_NEEDED,
        residues=residues,
        inside=tuple(dict.fromkeys(filter(None, names))),
        repeat=same_mix(inside[-1], later),
    )


def _latest(residues: Iterable[Residue]) -> tuple[Residue, ...]:
    """Each product once, as it was left last; a sure reason is never hidden behind a doubt."""
    found: dict[tuple[str, bool], Residue] = {}
    for residue in residues:
        found.setdefault((residue.name, residue.reason.sure), residue)
    return tuple(residue for (name, sure), residue in found.items() if sure or (name, True) not in found)


def _carrier(one: Pass) -> str:
    return "" if one.carrier.is_water else one.carrier.name
