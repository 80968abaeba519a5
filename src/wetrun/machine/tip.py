"""A tip as it is sold, and what is fitted where."""

from __future__ import annotations

from dataclasses import dataclass, replace

from wetrun.spray.droplets import Family, SprayPattern
from wetrun.spray.orifice import FlowLaw, worn
from wetrun.units import Cents, Pa, Ratio


@dataclass(frozen=True, slots=True, kw_only=True)
class Tip:
    """One kind of tip: size, fan, family, pressure range, flow and droplet rows.

    Attributes
    ----------
    ident : str
        Short name used in files, unique in a catalogue.
    words : str
        What to call it on paper.
    size : str
        ISO 10625 size ("04"), or a free text for tips outside the ISO sizes.
    family : Family
        How the drop is made.
    law : FlowLaw
        Flow over pressure, new.
    low_pa, high_pa : float
        Pressure range at the tip [Pa].
    pattern : SprayPattern or None
        What the droplet class follows from; None for streamers, which have no class.
    price_cents : int or None
        Price of one tip [cents]; None if not known.
    generic : bool
        True for the built-in ISO tips, False for a maker's own rows.
    origin : str
        Where flow and range come from.
    pulse : bool or None
        Whether maker or user says it may be pulsed; None if nobody said.
    wear_ratio : float
        Measured flow over new flow [ratio].
    height_note : str
        A rule of its own for boom height, such as a streamer's; empty if fan geometry says it.
    """

    ident: str
    words: str
    size: str
    family: Family
    law: FlowLaw
    low_pa: Pa
    high_pa: Pa
    pattern: SprayPattern | None
    price_cents: Cents | None = None
    generic: bool = True
    origin: str = "generic"
    pulse: bool | None = None
    wear_ratio: Ratio = 1.0
    height_note: str = ""

    @property
    def flow_law(self) -> FlowLaw:
        """Flow over pressure as it is today, wear included."""
        return self.law if self.wear_ratio == 1.0 else worn(self.law, self.wear_ratio)

    @property
    def may_pulse(self) -> bool:
        """Whether it may run on a pulse-width machine; air-induction tips only if somebody says so."""
        return self.family is not Family.AIR_INDUCTION if self.pulse is None else self.pulse

    def worn_by(self, wear_ratio: Ratio) -> Tip:
        """Return the same tip with measured wear.

        Parameters
        ----------
        wear_ratio : float
            Measured flow over new flow [ratio].

        Returns
        -------
        Tip
            A copy; its ident stays.
        """
        return replace(self, wear_ratio=wear_ratio)


@dataclass(frozen=True, slots=True)
class OwnedSet:
    """A full set a customer already has.

    Attributes
    ----------
    tip : str
        Ident in the catalogue.
    wear_ratio : float
        Measured flow over new flow [ratio]; 1 if never measured.
    count : int or None
        How many; None means enough for the boom.
    """

    tip: str
    wear_ratio: Ratio = 1.0
    count: int | None = None
