"""What one pass leaves in the machine means to a later one: product by product, from what was typed of each label."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from wetrun.planning.crop_names import CropMatch, crop_match
from wetrun.planning.passes import Pass, Product
from wetrun.units import Frac


class Reason(StrEnum):
    """Why something left in the machine matters to a pass, or may matter."""

    CROP = "risky on the crop"
    ALWAYS = "cleaned out whatever comes next"
    CARRIER = "carrier ruled out by a label"
    NOT_TYPED = "nobody typed which crops"
    SPELLING = "the crop may be the one meant"
    NO_PRODUCT = "no product typed"

    @property
    def sure(self) -> bool:
        """Whether it calls for a clean-out by what was typed, and is no mere doubt."""
        return self in {Reason.CROP, Reason.ALWAYS, Reason.CARRIER}


@dataclass(frozen=True, slots=True, kw_only=True)
class Residue:
    """One thing an earlier pass leaves that a later one has to reckon with.

    Attributes
    ----------
    name : str
        Product or carrier; empty if no product was typed.
    left_by : str
        Ident of the pass that left it.
    reason : Reason
        Why it matters.
    meant : str
        The crop as typed at the product, or the product whose label rules the carrier out; empty where neither is.
    words : str
        The label's words, as typed.
    tolerated_frac : float or None
        Share of its own rate the next crop tolerates, if one was typed [frac].
    passes_back : int
        How many passes ago it was in the tank; 1 is the pass before.
    """

    name: str
    left_by: str
    reason: Reason
    meant: str = ""
    words: str = ""
    tolerated_frac: Frac | None = None
    passes_back: int = 1


def residues_on(earlier: Pass, later: Pass, *, passes_back: int = 1) -> tuple[Residue, ...]:
    """Return what a pass leaves behind that matters, or may matter, to a later one with no clean-out between.

    Parameters
    ----------
    earlier, later : Pass
        Two passes on one machine.
    passes_back : int
        How many passes lie from one to the other.

    Returns
    -------
    tuple of Residue
        Empty if nothing typed speaks of a risk and nothing is left untyped.

    Notes
    -----
    A repeat load of the same mix needs no clean-out, and a product that is in the later tank too is no residue there.
    A carrier counts where a label of the later tank rules it out, and only from the pass directly before: a label rules
    it out as what fills the tank, and another pass since has put its own carrier in its place. Fertiliser without a
    product is otherwise not judged, nor what an adjuvant of the later tank may strip loose, nor how much is left: that
    is the rinse's matter.

    References
    ----------
    unl-qa-2018, dtn-2018, osu-cleanout-2018
    """
    if same_mix(earlier, later):
        return ()
    in_later = {_folded(product.name) for product in later.products}
    left = [product for product in earlier.products if product.clean_after or _folded(product.name) not in in_later]
    found = [*_of_products(left, earlier, later, passes_back)]
    if passes_back == 1:
        found += _of_carrier(earlier, later)
    if not earlier.products and earlier.carrier.is_water:
        found.append(Residue(name="", left_by=earlier.ident, reason=Reason.NO_PRODUCT, passes_back=passes_back))
    return tuple(found)


def same_mix(one: Pass, other: Pass) -> bool:
    """Return whether two passes carry the same products in the same carrier.

    Parameters
    ----------
    one, other : Pass
        Two passes.

    Returns
    -------
    bool
        False if no product was typed: nobody knows then. Rates may differ.
    """
    names, others = ({_folded(product.name) for product in each.products} for each in (one, other))
    return bool(names) and names == others and _folded(one.carrier.name) == _folded(other.carrier.name)


def _of_products(left: list[Product], earlier: Pass, later: Pass, passes_back: int) -> Iterator[Residue]:
    for product in left:
        found = _reason(product, later.crop)
        if found is not None:
            yield Residue(
                name=product.name,
                left_by=earlier.ident,
                reason=found[0],
                meant=found[1],
                words=product.risky_words,
                tolerated_frac=product.tolerated_frac,
                passes_back=passes_back,
            )


def _reason(product: Product, crop: str) -> tuple[Reason, str] | None:
    """Why a product matters on a crop, with the crop as typed at the product; a sure reason before a doubt."""
    matches = {typed: crop_match(typed, crop) for typed in product.risky_on or ()}
    for match, reason in ((CropMatch.SAME, Reason.CROP), (CropMatch.DOUBTFUL, Reason.SPELLING)):
        typed = next((typed for typed, found in matches.items() if found is match), None)
        if typed is not None and (reason.sure or not product.clean_after):
            return reason, typed
    if product.clean_after:
        return Reason.ALWAYS, ""
    return (Reason.NOT_TYPED, "") if product.risky_on is None else None


def _of_carrier(earlier: Pass, later: Pass) -> Iterator[Residue]:
    """The carrier, where a label of the later tank rules it out; a tank that is filled with it is told of elsewhere."""
    carrier = _folded(earlier.carrier.name)
    if carrier == _folded(later.carrier.name):
        return
    for product in later.products:
        if carrier in map(_folded, product.forbidden_carriers):
            yield Residue(
                name=earlier.carrier.name,
                left_by=earlier.ident,
                reason=Reason.CARRIER,
                meant=product.name,
            )


def _folded(name: str) -> str:
    return " ".join(name.casefold().split())
