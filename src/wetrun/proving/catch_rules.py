"""What a tip's flow may be: rules by name, each with its base, its limits and how well its source is known.

*Beyond the rule* is a verdict of its own. A tip may be within every rule and yet unlike its boom, and a whole boom may
be even and yet worn out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Final

import numpy as np

from wetrun.errors import NotDefined
from wetrun.proving.uncertainty import Budget, Component, Judged, judged
from wetrun.sources import source
from wetrun.spray.bounds import FloatArray
from wetrun.units import Ratio


class Base(StrEnum):
    """What a tip is held against."""

    BOOM = "mean of the boom"
    NEW = "new tip at the same pressure"


@dataclass(frozen=True, slots=True)
class Rule:
    """A limit of the trade.

    Attributes
    ----------
    key : str
        Short name for files.
    words : str
        The rule for a reader.
    base : Base
        What 1 is.
    low_ratio, high_ratio : float or None
        Limits [ratio]; None where there is none.
    source_key : str
        Where it is from.
    """

    key: str
    words: str
    base: Base
    low_ratio: Ratio | None
    high_ratio: Ratio | None
    source_key: str

    @property
    def caution(self) -> str:
        """What to say beside a verdict by this rule; empty if its number was read or is the user's own."""
        status = source(self.source_key).status
        doubtful = f"the limit of this rule is {status}: check it before you rely on it"
        return "" if status in {"read", "definition"} else doubtful


RULES: Final[Mapping[str, Rule]] = MappingProxyType(
    {
        rule.key: rule
        for rule in (
            Rule("boom-5", "within 5 % of the boom's mean", Base.BOOM, 0.95, 1.05, "unl-tip-5-percent"),
            Rule("boom-10", "within 10 % of the boom's mean", Base.BOOM, 0.90, 1.10, "uga-sb16"),
            Rule("new-10", "no more than 10 % over a new tip", Base.NEW, None, 1.10, "unl-tip-5-percent"),
            Rule("stated-5", "within 5 % of the maker's stated flow", Base.NEW, 0.95, 1.05, "eioperator-5-percent"),
            Rule("in-use-10", "in-use inspection: within 10 % of nominal", Base.NEW, 0.90, 1.10, "czech-207-2012"),
            Rule(
                "in-use-set-5",
                "in-use inspection, nominal unknown: within 5 % of the set's mean",
                Base.BOOM,
                0.95,
                1.05,
                "iso-16122-2",
            ),
            Rule("new-machine-5", "new sprayer: within 5 % of nominal", Base.NEW, 0.95, 1.05, "iso-16119-2"),
        )
    }
)


@dataclass(frozen=True, slots=True)
class Baseline:
    """Against what the flows are held.

    Attributes
    ----------
    rule : Rule
        The rule.
    base_ratio : float
        What one is: the mean flow over new of the tips that count, or 1 for a rule against new [ratio].
    tips : int
        Tips in the mean; 0 for a rule against new.
    definition : str
        By which definition a tip is new, or which tips make the mean.
    doubt : Budget
        Doubt of the base itself, as a share.
    """

    rule: Rule
    base_ratio: Ratio
    tips: int
    definition: str
    doubt: Budget


def baseline(rule: Rule, to_new: FloatArray, own: FloatArray, *, definition: str, shared: Budget) -> Baseline:
    """Return what a rule holds the tips against.

    Parameters
    ----------
    rule : Rule
        The rule.
    to_new : array
        Flow over new of the tips that count, shape (tips,): those not in question and not unlike their boom, so that
        bad tips do not move the mean.
    own : array
        Standard uncertainty of each one's catch, as a share, shape (tips,).
    definition : str
        By which definition the flow of a new tip is known.
    shared : Budget
        Doubt the catches have in common; it falls out of a comparison along the boom.

    Returns
    -------
    Baseline
        The base with its doubt.
    """
    if rule.base is Base.NEW:
        return Baseline(rule, 1.0, 0, definition, shared)
    words = f"mean of the {to_new.size} tips that are neither in question nor unlike the boom"
    doubt = Budget((Component("mean of the boom", float(np.sqrt(own @ own)) / own.size),))
    return Baseline(rule, float(np.mean(to_new)), to_new.size, words, doubt)


def beyond_rule(to_new_ratio: Ratio, own: Budget, base: Baseline) -> Judged:
    """Return whether one tip keeps a rule: pass, fail or undecided.

    Parameters
    ----------
    to_new_ratio : float
        Its flow over that of a new tip [ratio].
    own : Budget
        Doubt of its catch, as a share.
    base : Baseline
        The rule with its base.

    Returns
    -------
    Judged
        Its flow over the base with the guard band.

    References
    ----------
    gum-jcgm-100, guard-band-106
    """
    value = to_new_ratio / base.base_ratio
    doubt = own.joined(base.doubt).scaled(value)
    return judged(value, doubt, low=base.rule.low_ratio, high=base.rule.high_ratio)


def rule_of(key: str) -> Rule:
    """Return a rule by its key.

    Parameters
    ----------
    key : str
        One of `RULES`.

    Returns
    -------
    Rule
        The rule.

    Raises
    ------
    NotDefined
        An unknown key; the message names the known ones.

    Example
    -------
    >>> rule_of("boom-5").words
    "within 5 % of the boom's mean"
    """
    if key not in RULES:
        raise NotDefined(f"rule “{key}”", reason="no rule has that name", remedy=f"Choose one of {', '.join(RULES)}")
    return RULES[key]


def own_rule(base: Base, *, low_ratio: Ratio | None = None, high_ratio: Ratio | None = None) -> Rule:
    """Return a rule with the shop's own limits.

    Parameters
    ----------
    base : Base
        What a tip is held against.
    low_ratio, high_ratio : float or None
        Limits [ratio]; at least one.

    Returns
    -------
    Rule
        The rule, named as the user's own.

    Example
    -------
    >>> own_rule(Base.NEW, high_ratio=1.05).words
    'own limits against new tip at the same pressure'
    """
    return Rule("own", f"own limits against {base}", base, low_ratio, high_ratio, "user")
