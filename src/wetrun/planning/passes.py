"""A pass: one planned application, and the limits all its products set together."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum

from wetrun.machine.sprayer import Sprayer
from wetrun.planning.load_wish import LoadWish
from wetrun.planning.mixing import Mixing
from wetrun.planning.water_test import WaterTest
from wetrun.spray.carrier import Carrier
from wetrun.spray.droplets import DropletClass, Family
from wetrun.units import M2, Cents, Frac, Kgpm2, M, M3pm2, Mps, Pa, Ratio


@dataclass(frozen=True, slots=True)
class PermittedTip:
    """A tip a label names, with its own maximum pressure.

    Attributes
    ----------
    tip : str
        Ident in the catalogue.
    high_pa : float or None
        Maximum pressure the label gives for it [Pa].
    """

    tip: str
    high_pa: Pa | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Product:
    """A product of a tank mix with its label's limits, as the user reads the label.

    Attributes
    ----------
    name : str
        What the user calls it.
    rate_m3pm2, label_high_m3pm2 : float or None
        Planned and most allowed rate of a liquid product [m3/m2].
    rate_kgpm2, label_high_kgpm2 : float or None
        The same for a dry product [kg/m2].
    carrier_low_m3pm2, carrier_high_m3pm2 : float or None
        Least and most carrier [m3/m2].
    classes : frozenset of DropletClass or None
        Droplet classes allowed; None if the label names none.
    permitted_tips : tuple of PermittedTip or None
        Tips the label names; None if it names none. A class never stands in for such a list.
    forbidden_carriers : tuple of str
        Names of carriers the label rules out.
    speed_high_mps, wind_low_mps, wind_high_mps : float or None
        Ground speed and wind [m/s].
    height_high_m : float or None
        Boom height over the target [m].
    first_day, last_day : date or None
        Dates between which the label allows it.
    risky_on : tuple of str or None
        Crops its residue can hurt, as typed; empty if the label was read and names none, None if nobody typed it.
    risky_words : str
        The words that come from, as typed.
    tolerated_frac : float or None
        Share of its own rate the next crop tolerates, if the label gives one [frac].
    clean_after : bool
        Whether it is to be cleaned out whatever comes next, by its label or the user's wish.
    mixing : Mixing or None
        How it goes into the tank; None if nothing was typed.
    """

    name: str
    rate_m3pm2: M3pm2 | None = None
    label_high_m3pm2: M3pm2 | None = None
    rate_kgpm2: Kgpm2 | None = None
    label_high_kgpm2: Kgpm2 | None = None
    carrier_low_m3pm2: M3pm2 | None = None
    carrier_high_m3pm2: M3pm2 | None = None
    classes: frozenset[DropletClass] | None = None
    permitted_tips: tuple[PermittedTip, ...] | None = None
    forbidden_carriers: tuple[str, ...] = ()
    speed_high_mps: Mps | None = None
    wind_low_mps: Mps | None = None
    wind_high_mps: Mps | None = None
    height_high_m: M | None = None
    first_day: date | None = None
    last_day: date | None = None
    risky_on: tuple[str, ...] | None = None
    risky_words: str = ""
    tolerated_frac: Frac | None = None
    clean_after: bool = False
    mixing: Mixing | None = None

    @property
    def label_ratio(self) -> Ratio | None:
        """How far the rate may rise before this product passes its label's maximum [ratio]."""
        if self.label_high_m3pm2 is not None and self.rate_m3pm2:
            return self.label_high_m3pm2 / self.rate_m3pm2
        if self.label_high_kgpm2 is not None and self.rate_kgpm2:
            return self.label_high_kgpm2 / self.rate_kgpm2
        return None


@dataclass(frozen=True, slots=True)
class GroundSpeed:
    """Speed on one kind of ground, as the customer says it.

    Attributes
    ----------
    name : str
        Such as hills or waterways.
    speed_mps : float
        Speed there [m/s].
    share_frac : float or None
        Its share of the area [frac]; None if nobody knows.
    """

    name: str
    speed_mps: Mps
    share_frac: Frac | None = None


@dataclass(frozen=True, slots=True)
class StatedSpeeds:
    """Speeds as the customer says them.

    Attributes
    ----------
    slow_mps, usual_mps, fast_mps : float
        Slowest worth holding, usual, fastest [m/s].
    grounds : tuple of GroundSpeed
        Kinds of ground with a speed of their own, between slow and fast.
    """

    slow_mps: Mps
    usual_mps: Mps
    fast_mps: Mps
    grounds: tuple[GroundSpeed, ...] = ()


class RateMeaning(StrEnum):
    """Whether a typed rate is what lands on the field or already the water a tip chart would need."""

    SOLUTION = "solution"
    WATER_EQUIVALENT = "water equivalent"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pass:
    """One planned application.

    Attributes
    ----------
    ident, crop : str
        Name of the pass and its crop.
    area_m2 : float
        Planned area [m2].
    first_day, last_day : date
        Window of dates.
    carrier : Carrier
        Liquid in the tank, with its density.
    rate_m3pm2 : float
        Target rate of the tank mix [m3/m2].
    rate_low_m3pm2, rate_high_m3pm2 : float
        Range the customer accepts for it [m3/m2]; equal to the target if a single rate was typed.
    products : tuple of Product
        Everything in the tank.
    classes : frozenset of DropletClass or None
        The customer's own wish, besides the labels.
    speeds : StatedSpeeds or None
        Stated speeds; logs, if any, are held beside the plan by ident.
    height_m : float or None
        Boom height the customer runs [m].
    logs : tuple of str
        Names of field logs that stand for this pass.
    tolerance_frac : float
        How far the rate may be off and still count as held [frac].
    rate_meaning : RateMeaning
        What the typed rate means.
    fit_families : frozenset of Family or None
        Families the customer wants fitted; None leaves it open.
    fit_tips : frozenset of str or None
        Tips the customer wants fitted, by ident, besides those families; None leaves it open.
    odd_positions : bool
        False if the odd positions of the boom carry the set's own tip in this pass.
    after : tuple of str
        Idents of passes that have to be done before this one.
    work_days : int
        Whole days the pass takes; 0 if nobody typed it, and the next pass may then begin on the same day.
    load : LoadWish
        How its loads are wanted.
    at_once : tuple of str
        Idents of two tips that the bodies can spray alone and together; empty for plain bodies.
    """

    ident: str
    crop: str
    area_m2: M2
    first_day: date
    last_day: date
    carrier: Carrier
    rate_m3pm2: M3pm2
    rate_low_m3pm2: M3pm2
    rate_high_m3pm2: M3pm2
    products: tuple[Product, ...] = ()
    classes: frozenset[DropletClass] | None = None
    speeds: StatedSpeeds | None = None
    height_m: M | None = None
    logs: tuple[str, ...] = ()
    tolerance_frac: Frac = 0.05
    rate_meaning: RateMeaning = RateMeaning.SOLUTION
    fit_families: frozenset[Family] | None = None
    fit_tips: frozenset[str] | None = None
    odd_positions: bool = True
    after: tuple[str, ...] = ()
    work_days: int = 0
    load: LoadWish = field(default_factory=LoadWish)
    at_once: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Season:
    """One customer's season on one machine.

    Attributes
    ----------
    title : str
        What the plan is called on paper.
    customer : str
        Whose it is.
    sprayer : Sprayer
        The machine.
    passes : tuple of Pass
        Planned applications.
    most_sets : int or None
        Most different tip sets the customer will carry; None leaves it open.
    budget_cents : int or None
        Most money for new tips [cents]; None leaves it open.
    generic : bool
        Whether the built-in generic tips may be proposed, or only the shop's own rows and owned sets.
    water_test : WaterTest or None
        What a laboratory found in the customer's water; None if it was not tested.
    """

    title: str
    customer: str
    sprayer: Sprayer
    passes: tuple[Pass, ...]
    most_sets: int | None = None
    budget_cents: Cents | None = None
    generic: bool = True
    water_test: WaterTest | None = None
