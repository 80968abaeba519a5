"""Makes the record of the monitor: its profile, its numbers, and what plan and tape say should stand there."""

from __future__ import annotations

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from typing import Final

from wetrun.documents.refusing import refuse
from wetrun.documents.wetrun_ground import Ground
from wetrun.documents.wetrun_monitor_entry import SETTINGS, FormEntry, MonitorEntry, SnapshotEntry, form_named
from wetrun.machine.tip import Tip
from wetrun.proving.budget import Budget, Component
from wetrun.proving.monitor import SIZE_FORMS, Entry, Moment, Profile, Setting, SettingForm, Snapshot
from wetrun.proving.number_form import TypedNumber
from wetrun.proving.session_record import MonitorTest
from wetrun.proving.settings import DensityRecord, Wanted
from wetrun.spray.supply import Hold
from wetrun.units import M3pm2

_TAPE: Final = Budget((Component("tape and body spacing", 0.001),))
"""A spacing read off a tape is good to a thousandth; our own choice, so that 13.33 ft is not called wrong."""


def monitor_of(entry: MonitorEntry, ground: Ground) -> MonitorTest:
    """Return what stood in the monitor, and what should.

    Parameters
    ----------
    entry : MonitorEntry
        As typed.
    ground : Ground
        Machine and pass, which say what should stand there.

    Returns
    -------
    MonitorTest
        Profile, snapshots, wanted settings, density.

    Raises
    ------
    PydanticCustomError
        Widths that are not one for each section.
    """
    widths = len(ground.sprayer.boom.section_tips)
    for moment in ("as_found", "as_left"):
        snapshot: SnapshotEntry | None = getattr(entry, moment)
        if snapshot is not None and snapshot.section_width and len(snapshot.section_width) != widths:
            limit = f"there are {len(snapshot.section_width)} widths for {widths} sections"
            raise refuse(limit, "Give one for every section, left to right", at=f"{moment}.section_width")
    return MonitorTest(
        profile=profile_of(entry),
        as_found=snapshot_of(entry, entry.as_found, Moment.AS_FOUND),
        as_left=None if entry.as_left is None else snapshot_of(entry, entry.as_left, Moment.AS_LEFT),
        wanted=tuple(_wanted(entry, ground)),
        density=_density(entry, ground),
    )


def profile_of(entry: MonitorEntry) -> Profile:
    """Return how the monitor keeps its settings."""
    kept = ((setting, _kept(entry, key)) for key, setting in SETTINGS.items())
    forms = tuple(_form(setting, form) for setting, form in kept if form is not None)
    return Profile(entry.name, tuple(form for form in forms if form is not None), entry.scales_meter_by_density)


def found_number(entry: MonitorEntry | None) -> TypedNumber | None:
    """Return the flow meter's number as it was found in the monitor; None if it was not written down."""
    kept = None if entry is None else entry.profile.meter_number
    text = None if entry is None else entry.as_found.meter_number
    if kept is None or text is None:
        return None
    return TypedNumber(text, form_named(Setting.METER_NUMBER, kept.form))


def _kept(entry: MonitorEntry, key: str) -> FormEntry | None:
    kept: FormEntry | None = getattr(entry.profile, key)
    return kept


def _form(setting: Setting, kept: FormEntry) -> SettingForm | None:
    """A setting whose steps nobody wrote down can be compared, but not rounded for."""
    if kept.step is None:
        return None
    step = kept.step.replace(",", ".")
    return SettingForm(setting=setting, form=form_named(setting, kept.form), step=step, low=kept.low, high=kept.high)


def snapshot_of(entry: MonitorEntry, snapshot: SnapshotEntry, moment: Moment) -> Snapshot:
    """Return what stood in the monitor at one moment, each number in the form its profile says."""
    return Snapshot(moment, tuple(_entries(entry, snapshot)))


def _entries(entry: MonitorEntry, snapshot: SnapshotEntry) -> Iterator[Entry]:
    for key, setting in SETTINGS.items():
        kept, typed = _kept(entry, key), getattr(snapshot, key)
        if kept is None or not typed:
            continue
        form = form_named(setting, kept.form)
        if isinstance(typed, list):
            yield from (Entry(setting, TypedNumber(text, form), n) for n, text in enumerate(typed, start=1))
        else:
            yield Entry(setting, TypedNumber(typed, form))


def _hold(hold: Hold, read: AbstractSet[str]) -> Iterator[Wanted]:
    """The plan's minimum hold, where the monitor keeps one of its kind."""
    kinds = (("hold_pressure", hold.cab_pressure_pa), ("hold_flow", hold.boom_flow_m3s), ("hold_duty", hold.duty_frac))
    for key, quantity in kinds:
        if quantity is not None and key in read:
            yield Wanted(setting=SETTINGS[key], quantity=quantity, why="the plan's minimum hold")


def _wanted(entry: MonitorEntry, ground: Ground) -> Iterator[Wanted]:
    boom, control, planned = ground.sprayer.boom, ground.sprayer.control, ground.planned
    read = {key for m in (entry.as_found, entry.as_left) if m is not None for key in SETTINGS if getattr(m, key)}
    if planned is not None:
        yield Wanted(setting=Setting.TARGET_RATE, quantity=_target(ground), why=f"the pass {planned.ident}")
    if "section_width" in read:
        for section, tips in enumerate(boom.section_tips, start=1):
            why = f"{tips} tips at the spacing by tape"
            width_m = tips * boom.spacing_m
            yield Wanted(setting=Setting.SECTION_WIDTH, quantity=width_m, why=why, section=section, budget=_TAPE)
    yield from () if control.hold is None else _hold(control.hold, read)
    if control.cab_high_pa is not None and "high_pressure" in read:
        yield Wanted(setting=Setting.PRESSURE_HIGH, quantity=control.cab_high_pa, why="the machine's limit in the plan")
    if "tip_size" in read:
        yield from _size(ground.tip)
    product = _product(entry, ground)
    if product is not None and "density" in read:
        yield Wanted(setting=Setting.DENSITY, quantity=product, why="the liquid that will be sprayed")


def _target(ground: Ground) -> M3pm2:
    return 0.0 if ground.planned is None else ground.planned.rate_m3pm2


def _size(tip: Tip) -> Iterator[Wanted]:
    """Only a size that is stamped as one can be wanted; a maker's free text cannot."""
    form = SIZE_FORMS[0]
    if tip.size.replace(".", "").isdigit():
        quantity = TypedNumber(tip.size, form).quantity
        yield Wanted(setting=Setting.TIP_SIZE, quantity=quantity, why=f"{tip.ident} is on the boom")


def _product(entry: MonitorEntry, ground: Ground) -> float | None:
    """Density of what will be sprayed [kg/m3]: as typed, else that of the pass."""
    if entry.product_density is not None:
        return entry.product_density.si_value
    return None if ground.planned is None else ground.planned.carrier.density_kgpm3


def _density(entry: MonitorEntry, ground: Ground) -> DensityRecord | None:
    kept, product = entry.profile.density, _product(entry, ground)
    if kept is None or product is None:
        return None
    form, left = form_named(Setting.DENSITY, kept.form), entry.as_left
    during = entry.water_density or entry.as_found.density
    return DensityRecord(
        during=None if during is None else TypedNumber(during, form),
        left=None if left is None or left.density is None else TypedNumber(left.density, form),
        signed_by=entry.density_signed_by,
        product_kgpm3=product,
    )
