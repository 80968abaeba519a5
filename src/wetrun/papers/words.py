"""Limits, refusals and conflicts in the words of the trade: what closes each end, and what the operator sees."""

from __future__ import annotations

from typing import Final

from wetrun.planning.label_limits import LimitThing
from wetrun.planning.tip_set import Refusal
from wetrun.spray.feedback import DensityPlace
from wetrun.spray.limits import Limit, Side

_SHORT: Final[dict[Limit, str]] = {
    Limit.TIP_LOW: "tip's lowest pressure",
    Limit.TIP_HIGH: "tip's highest pressure",
    Limit.CLASS_COARSE: "droplets too coarse",
    Limit.CLASS_FINE: "droplets too fine",
    Limit.LABEL_PRESSURE: "label's pressure for this tip",
    Limit.CHECK_VALVE: "check valve closes",
    Limit.HOLD: "minimum hold",
    Limit.DUTY_LOW: "lowest duty",
    Limit.DUTY_HIGH: "full duty",
    Limit.METER_LOW: "meter's least flow",
    Limit.METER_HIGH: "meter's greatest flow",
    Limit.CAB_HIGH: "controller's maximum pressure",
    Limit.PUMP: "pump has no more to give",
    Limit.RELIEF: "relief valve opens",
    Limit.FIXED_PRESSURE: "pressure is fixed",
    Limit.LABEL_SPEED: "label's highest speed",
    Limit.SHUT_OFF: "machine shuts off",
    Limit.RATE_OFF: "rate off by wear or density",
}
_LONG: Final[dict[Limit, str]] = {
    Limit.TIP_LOW: "the tip falls below its lowest pressure; its pattern closes up and coverage suffers",
    Limit.TIP_HIGH: "the tip goes above its highest pressure; its spray breaks up finer and it wears faster",
    Limit.CLASS_COARSE: "the droplets get coarser than the label or the plan allows",
    Limit.CLASS_FINE: "the droplets get finer than the label or the plan allows",
    Limit.LABEL_PRESSURE: "the pressure passes what the label gives for this tip",
    Limit.CHECK_VALVE: "the pressure is too low to keep the check valves open; tips drop out",
    Limit.HOLD: "the controller stays at its minimum hold and puts on more than the target",
    Limit.DUTY_LOW: "the tips are at their lowest duty and put on more than the target",
    Limit.DUTY_HIGH: "the tips are open all the time and put on less than the target",
    Limit.METER_LOW: "the flow is below what the flow meter reads truly; the shown rate means little",
    Limit.METER_HIGH: "the flow is above what the flow meter reads truly; the shown rate means little",
    Limit.CAB_HIGH: "the controller stays at its maximum pressure and puts on less than the target",
    Limit.PUMP: "the pump has no more to give after agitation, and less than the target goes on",
    Limit.RELIEF: "the relief valve opens, and less than the target goes on",
    Limit.FIXED_PRESSURE: "nothing follows the speed: the rate goes up when slower and down when faster",
    Limit.LABEL_SPEED: "the ground speed passes what the label allows",
    Limit.SHUT_OFF: "the machine shuts its sections off by itself",
    Limit.RATE_OFF: "flow is worked out from pressure, and wear or density puts the rate off at every speed",
}
_DO: Final[dict[Side, str]] = {Side.LOW: "Drive faster.", Side.HIGH: "Slow down."}
_THINGS: Final[dict[LimitThing, str]] = {
    LimitThing.RATE: "carrier rate",
    LimitThing.CLASSES: "droplet class",
    LimitThing.TIPS: "list of tips",
    LimitThing.WIND: "wind",
    LimitThing.HEIGHT: "boom height",
    LimitThing.DATES: "dates",
    LimitThing.CARRIER: "carrier",
}
_REFUSED: Final[dict[Refusal, str]] = {
    Refusal.CONFLICT: "out because the limits of the pass leave nothing",
    Refusal.NOT_WISHED: "not among the tips asked for",
    Refusal.GENERIC: "generic, and only tips with rows of their own are asked for",
    Refusal.NO_PRICE: "without a known price, and there is a budget",
    Refusal.ODD_NOT_PERMITTED: "out because the tip at the odd positions is not on the label's list of tips",
    Refusal.ODD_NO_CLASS: "out because the tip at the odd positions has no droplet class, and one is asked for",
    Refusal.NOT_PERMITTED: "not on the label's list of tips (a droplet class does not stand in for the list)",
    Refusal.NO_CLASS: "streamers, which have no droplet class, and a class is asked for",
    Refusal.NOT_FERTILISER: "streamers, which put down fertiliser and not a broadcast spray",
    Refusal.NOT_PULSED: "not to be pulsed unless the maker says so",
    Refusal.LAYOUT: "no pressure suits both the tip and the odd positions of the boom",
}
_PLACES: Final[dict[DensityPlace, str]] = {
    DensityPlace.TIP_PRESSURE: "in the pressure the tip needs",
    DensityPlace.HOSE_LOSS: "in the losses of hose, strainer and valve",
    DensityPlace.PRESSURE_DERIVED_FLOW: "in the flow the monitor works out from pressure",
    DensityPlace.PUMP_CURVE: "in the curve of the centrifugal pump",
}
CAUTIONS: Final = (
    "The label is the law. Limits printed here are the ones typed into the plan; read the label itself before mixing.",
    "Wear what the label asks for. A used sprayer's plumbing is contaminated, whatever the tank looks like.",
    "Test with clean water before product: tips seated, check valves, strainers, pressure at the tip, a timed catch.",
    "Droplet classes are for clean water at the tip's pressure, not for your tank mix; additives can move the class.",
    "Pressures and speeds are the settled ones with all sections on. Starts, stops and turns are not in them.",
)
GENERIC_CAUTION: Final = (
    "Tips marked generic stand in for a size and a family, not for any maker's tip. Import the maker's own rows before "
    "you order or spray."
)


def short_words(limit: Limit) -> str:
    """Return a limit in a few words, for a picture or a table."""
    return _SHORT[limit]


def long_words(limit: Limit) -> str:
    """Return what happens beyond a limit, as half a sentence."""
    return _LONG[limit]


def what_to_do(side: Side) -> str:
    """Return what the operator does at one end of the speed window."""
    return _DO[side]


def thing_words(thing: LimitThing) -> str:
    """Return what products disagree about."""
    return _THINGS[thing]


def refusal_words(refusal: Refusal) -> str:
    """Return why sets are out of the question for a pass."""
    return _REFUSED[refusal]


def place_words(place: DensityPlace) -> str:
    """Return where density was applied."""
    return _PLACES[place]
