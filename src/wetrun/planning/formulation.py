"""Formulation types and adjuvants by the letters labels print, as the places of a mixing order name them."""

from __future__ import annotations

from enum import StrEnum
from typing import Final


class Form(StrEnum):
    """What a product is made as; the value is how it is printed."""

    WSB = "water-soluble packet"
    FERTILISER = "dry fertiliser"
    AMS = "AMS"
    AMS_BLEND = "AMS with surfactant"
    COMPATIBILITY = "compatibility agent"
    DEFOAMER = "defoamer"
    SP = "SP"
    SG = "SG"
    WP = "WP"
    WG = "WG"
    SC = "SC"
    CS = "CS"
    SE = "SE"
    EW = "EW"
    OD = "OD"
    EC = "EC"
    SL = "SL"
    NIS = "NIS"
    COC = "COC"
    MSO = "MSO"
    DRIFT = "drift agent"

    @property
    def words(self) -> str:
        """What the letters stand for; the value itself where they are words already."""
        return _WORDS.get(self, self.value)

    @property
    def settles(self) -> bool:
        """Whether it is kept in suspension by agitation only, and settles when that stops."""
        return self in {Form.WP, Form.WG, Form.SC, Form.CS, Form.SE}


_WORDS: Final = {
    Form.AMS: "ammonium sulfate alone",
    Form.AMS_BLEND: "ammonium sulfate premixed with a surfactant",
    Form.SP: "soluble powder",
    Form.SG: "soluble granules",
    Form.WP: "wettable powder",
    Form.WG: "water-dispersible granules, dry flowable",
    Form.SC: "suspension concentrate, flowable",
    Form.CS: "capsule suspension, microencapsulated",
    Form.SE: "suspo-emulsion",
    Form.EW: "emulsion in water",
    Form.OD: "oil dispersion",
    Form.EC: "emulsifiable concentrate",
    Form.SL: "soluble liquid, solution",
    Form.NIS: "non-ionic surfactant",
    Form.COC: "crop oil concentrate",
    Form.MSO: "methylated seed oil",
    Form.DRIFT: "drift reduction agent",
}
# Letters and words labels use for the same thing.
_ALIASES: Final = {
    Form.WSB: ("WSP", "water soluble packet", "water soluble bag"),
    Form.FERTILISER: ("dry fertilizer",),
    Form.AMS: ("ammonium sulfate", "ammonium sulphate"),
    Form.AMS_BLEND: ("AMS blend", "AMS + surfactant", "AMS and surfactant"),
    Form.WG: ("WDG", "DF", "DG", "WDF"),
    Form.SC: ("F", "FL", "AS", "ASC", "L", "flowable"),
    Form.CS: ("ME", "capsule suspension"),
    Form.SL: ("S", "SN", "solution"),
    Form.NIS: ("surfactant",),
    Form.DRIFT: ("drift reduction agent", "DRA"),
}


def form_named(word: str) -> Form | None:
    """Return the formulation a word of a label means.

    Parameters
    ----------
    word : str
        Letters or words, in any case.

    Returns
    -------
    Form or None
        None if nothing here is called that.

    Notes
    -----
    A product's own trade name never tells its formulation reliably; the label's ingredient block does.

    References
    ----------
    osu-mixing-order, nd-weed-guide-apples

    Example
    -------
    >>> form_named("wdg"), form_named("EC"), form_named("brew")
    (<Form.WG: 'WG'>, <Form.EC: 'EC'>, None)
    """
    return _BY_WORD.get(_plain(word))


def _plain(word: str) -> str:
    return "".join(letter for letter in word.casefold() if letter.isalnum())


_BY_WORD: Final = {
    _plain(word): form for form in Form for word in (form.name, form.value, form.words, *_ALIASES.get(form, ()))
}
