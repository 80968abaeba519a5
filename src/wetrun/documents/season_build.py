"""Makes the records of a season from its entries: every quantity by its SI value."""

from __future__ import annotations

from dataclasses import replace
from typing import Final, overload

from wetrun.documents.family_words import family_named
from wetrun.documents.load_entry import LoadEntry, fill_of_entry, water_of_entry, wish_of_entry
from wetrun.documents.machine_entry import ControlEntry, HoldEntry, MachineEntry, PulseEntry, PumpEntry
from wetrun.documents.mixing_entry import mixing_of_entry
from wetrun.documents.pass_entry import PassEntry, ProductEntry
from wetrun.documents.plumbing_build import pipes_of_entry
from wetrun.documents.plumbing_entry import LossEntry, PlumbingEntry
from wetrun.documents.response_entry import response_of_entry
from wetrun.documents.season_entry import SeasonEntry
from wetrun.documents.speeds_entry import SpeedsEntry
from wetrun.machine.boom import Boom, OddPositions, PositionKind
from wetrun.machine.boom_pipes import BoomPipes
from wetrun.machine.sprayer import Control, Sprayer
from wetrun.machine.tip import OwnedSet
from wetrun.planning.passes import GroundSpeed, Pass, PermittedTip, Product, RateMeaning, Season, StatedSpeeds
from wetrun.quantity import Kind, Typed
from wetrun.spray.controller import Loop
from wetrun.spray.losses import BodyLoss, SensorLoss, loss_from_gauges
from wetrun.spray.pulse import DutySource, PulseSetting
from wetrun.spray.supply import Hold, MeterRange, PumpPoint, PumpSupply
from wetrun.spray.turn_across import TurnCompensation
from wetrun.units import Frac, M3s

LOOPS: Final = {
    "flow meter": Loop.METER,
    "pressure": Loop.PRESSURE,
    "pulse width": Loop.PULSE,
    "none": Loop.FIXED,
}
_DUTY_SOURCES: Final = {"flow meter": DutySource.METER, "pressure": DutySource.PRESSURE}
_USUAL_TOLERANCE_FRAC: Final[Frac] = 0.05


def season_of_entry(entry: SeasonEntry) -> Season:
    """Return the season an entry describes.

    Parameters
    ----------
    entry : SeasonEntry
        A season file that was accepted.

    Returns
    -------
    Season
        Its records.

    Notes
    -----
    The usual tolerance on the rate is 5 %, for a pass and a plan that state none.

    References
    ----------
    osu-5-percent
    """
    stated = entry.plan.tolerance
    tolerance_frac = _USUAL_TOLERANCE_FRAC if stated is None else stated.si_value
    return Season(
        title=entry.title,
        customer=entry.customer.name,
        sprayer=replace(sprayer_of_entry(entry.machine), fill=fill_of_entry(entry.machine.fill)),
        passes=tuple(pass_of_entry(each, tolerance_frac=tolerance_frac) for each in entry.passes),
        most_sets=entry.plan.most_sets,
        budget_cents=entry.plan.budget,
        generic=entry.plan.generic,
        water_test=water_of_entry(entry.water),
    )


def sprayer_of_entry(entry: MachineEntry) -> Sprayer:
    """Return the machine an entry describes.

    Parameters
    ----------
    entry : MachineEntry
        The machine as typed.

    Returns
    -------
    Sprayer
        Its records.
    """
    odd = tuple(OddPositions(PositionKind(each.kind), each.positions, each.tip) for each in entry.boom.odd)
    boom = Boom(
        spacing_m=entry.boom.spacing.si_value,
        section_tips=tuple(entry.boom.sections),
        exceptions=odd,
        body_positions=entry.boom.body_positions,
    )
    pump = None if entry.pump is None else _pump(entry.pump)
    return Sprayer(
        name=entry.name,
        boom=boom,
        control=_control(entry.control),
        pump=pump,
        loss=SensorLoss() if entry.loss is None else _loss(entry.loss, boom, pump),
        pipes=None if entry.plumbing is None else _pipes(entry, entry.plumbing, boom, pump),
        check_valve_pa=_si(entry.check_valve),
        relief_pa=_si(entry.relief),
        tank_m3=_si(entry.tank),
        owned=tuple(OwnedSet(each.tip, 1.0 + _si(each.wear, 0.0), each.count) for each in entry.owned),
    )


def pass_of_entry(entry: PassEntry, *, tolerance_frac: Frac) -> Pass:
    """Return the pass an entry describes.

    Parameters
    ----------
    entry : PassEntry
        The pass as typed.
    tolerance_frac : float
        Tolerance on the rate if the pass states none [frac].

    Returns
    -------
    Pass
        Its records.
    """
    target = entry.rate.target.si_value
    families = [family_named(word) for word in entry.fit]
    return Pass(
        ident=entry.name,
        crop=entry.crop,
        area_m2=entry.area.si_value,
        first_day=entry.first,
        last_day=entry.last,
        carrier=entry.carrier.carrier(),
        rate_m3pm2=target,
        rate_low_m3pm2=_si(entry.rate.low, target),
        rate_high_m3pm2=_si(entry.rate.high, target),
        products=tuple(_product(each, tuple(one.name for one in entry.product)) for each in entry.product),
        classes=entry.droplets,
        speeds=None if entry.speeds is None else _speeds(entry.speeds),
        height_m=_si(entry.height),
        logs=tuple(entry.logs),
        tolerance_frac=_si(entry.tolerance, tolerance_frac),
        rate_meaning=RateMeaning(entry.rate_is),
        fit_families=frozenset(family for family in families if family is not None) or None,
        fit_tips=frozenset(word for word in entry.fit if family_named(word) is None) or None,
        odd_positions=entry.odd,
        after=entry.after,
        work_days=entry.days or 0,
        load=wish_of_entry(entry.load or LoadEntry()),
        at_once=tuple(entry.at_once),
    )


def _control(entry: ControlEntry) -> Control:
    meter = entry.meter
    return Control(
        loop=LOOPS[entry.loop],
        hold=None if entry.hold is None else _hold(entry.hold),
        cab_high_pa=_si(entry.max_pressure),
        off_below_mps=_si(entry.off_below),
        density_setting_kgpm3=_si(entry.density_setting),
        meter=None if meter is None else MeterRange(meter.least.si_value, meter.greatest.si_value, meter.sees_return),
        pulse=None if entry.pulse is None else _pulse(entry.pulse),
        response=response_of_entry(entry.response),
        hysteresis_mps=_si(entry.stage_hysteresis),
        turns=TurnCompensation(entry.turn_compensation),
    )


def _hold(entry: HoldEntry) -> Hold:
    return Hold(cab_pressure_pa=_si(entry.pressure), boom_flow_m3s=_si(entry.boom_flow), duty_frac=_si(entry.duty))


def _pulse(entry: PulseEntry) -> PulseSetting:
    usual = PulseSetting(frequency_hz=entry.frequency.si_value, set_pressure_pa=entry.set_pressure.si_value)
    return PulseSetting(
        frequency_hz=usual.frequency_hz,
        set_pressure_pa=usual.set_pressure_pa,
        least_frac=_si(entry.least_duty, usual.least_frac),
        greatest_frac=_si(entry.greatest_duty, usual.greatest_frac),
        duty_from=_DUTY_SOURCES[entry.duty_from],
    )


def _pump(entry: PumpEntry) -> PumpSupply:
    return PumpSupply(
        capacity_m3s=entry.flow.si_value,
        agitation_m3s=_si(entry.agitation, 0.0),
        return_m3s=_si(entry.return_flow, 0.0),
        wear_reserve_frac=_si(entry.wear_reserve, 0.0),
        curve=tuple(PumpPoint(point.flow.si_value, point.pressure.si_value) for point in entry.curve),
    )


def _loss(entry: LossEntry, boom: Boom, pump: PumpSupply | None) -> SensorLoss:
    body = None
    if entry.body is not None:
        body = BodyLoss(entry.body.drop.si_value, entry.body.flow.si_value, boom.tips)
    gauges = entry.cab.si_value, entry.tip.si_value, entry.boom_flow.si_value
    return loss_from_gauges(*gauges, body=body, passing_m3s=_passing_m3s(entry, pump))


def _pipes(machine: MachineEntry, entry: PlumbingEntry, boom: Boom, pump: PumpSupply | None) -> BoomPipes:
    body = None if machine.loss is None else machine.loss.body
    return pipes_of_entry(entry, machine.loss, boom, body=body, passing_m3s=_passing_m3s(machine.loss, pump))


def _passing_m3s(entry: LossEntry | None, pump: PumpSupply | None) -> M3s:
    return pump.return_m3s if entry is not None and entry.return_passes and pump is not None else 0.0


def _speeds(entry: SpeedsEntry) -> StatedSpeeds:
    grounds = tuple(GroundSpeed(name, one.speed.si_value, _si(one.share)) for name, one in entry.grounds().items())
    return StatedSpeeds(entry.slow.si_value, entry.usual.si_value, entry.fast.si_value, grounds)


def _product(entry: ProductEntry, names: tuple[str, ...]) -> Product:
    tips = None
    if entry.tips is not None:
        tips = tuple(PermittedTip(each.tip, _si(each.max_pressure)) for each in entry.tips)
    return Product(
        name=entry.name,
        rate_m3pm2=_si(_of_kind(entry.rate, Kind.PRODUCT_RATE)),
        label_high_m3pm2=_si(_of_kind(entry.label_max, Kind.PRODUCT_RATE)),
        rate_kgpm2=_si(_of_kind(entry.rate, Kind.DRY_RATE)),
        label_high_kgpm2=_si(_of_kind(entry.label_max, Kind.DRY_RATE)),
        carrier_low_m3pm2=_si(entry.min_carrier),
        carrier_high_m3pm2=_si(entry.max_carrier),
        classes=entry.droplets,
        permitted_tips=tips,
        forbidden_carriers=tuple(entry.forbidden_carriers),
        speed_high_mps=_si(entry.max_speed),
        wind_low_mps=_si(entry.min_wind),
        wind_high_mps=_si(entry.max_wind),
        height_high_m=_si(entry.max_height),
        first_day=entry.first,
        last_day=entry.last,
        risky_on=None if entry.risky_on is None else tuple(entry.risky_on),
        risky_words=entry.risky_words or "",
        tolerated_frac=_si(entry.tolerated),
        clean_after=entry.clean_after,
        mixing=mixing_of_entry(entry, names, entry.density),
    )


def _of_kind(typed: Typed | None, kind: Kind) -> Typed | None:
    return typed if typed is not None and typed.kind is kind else None


@overload
def _si(typed: Typed | None) -> float | None: ...
@overload
def _si(typed: Typed | None, default: float) -> float: ...
def _si(typed: Typed | None, default: float | None = None) -> float | None:
    return default if typed is None else typed.si_value
