"""The monitor on paper: new numbers with their convention, and every setting as found and as left with what it does."""

from __future__ import annotations

from wetrun.papers.reader import Reader
from wetrun.papers.wet_run_values import MOST_DECIMALS
from wetrun.percent import off_per_cent
from wetrun.proving.monitor import Change, Entry, Moment, Rounded, Setting
from wetrun.proving.rate_effect import Acts
from wetrun.proving.session_record import WetRun
from wetrun.proving.session_result import Findings, NewNumber, Part, WetRunResult
from wetrun.proving.session_rows import positions
from wetrun.proving.settings import Agreement, Compared
from wetrun.quantity import Kind

NEVER_WRITTEN = "not written down"
_SETTING_OF = {Part.METER: Setting.METER_NUMBER, Part.COURSE: Setting.SPEED_NUMBER}


def number_rows(result: WetRunResult) -> list[dict[str, str]]:
    """Return the new calibration numbers as rows.

    Parameters
    ----------
    result : WetRunResult
        The wet run.

    Returns
    -------
    list of dict
        Number as found, proved, to enter and as left, with its convention.
    """
    return [_number(result.run, number) for number in result.numbers]


def setting_rows(found: Findings) -> list[dict[str, str | bool]]:
    """Return every setting as found and as left, with its effect on the rate.

    Parameters
    ----------
    found : Findings
        The tests' results.

    Returns
    -------
    list of dict
        In the order of what the settings should be; sections that stand alike in one row.
    """
    left = {_place(each): each for each in found.settings_left}
    alike: dict[tuple[str | bool, ...], list[int]] = {}
    rows: dict[tuple[str | bool, ...], dict[str, str | bool]] = {}
    for each in found.settings_found:
        row = _setting(each, left.get(_place(each)))
        key = tuple(row.values())
        rows[key] = row
        alike.setdefault(key, []).extend([] if each.wanted.section is None else [each.wanted.section])
    return [row | {"setting": f"{row['setting']}{_sections(alike[key])}"} for key, row in rows.items()]


def other_changes(result: WetRunResult) -> list[str]:
    """Return settings that were left otherwise than found and that nothing says anything about."""
    known = {_place(each) for each in result.findings.settings_found}
    others = [c for c in result.findings.left_otherwise if (c.setting, c.section) not in known]
    return [_change(change) for change in others]


def density_rows(result: WetRunResult, reader: Reader) -> list[str]:
    """Return what became of the density over the run: water in, the product's back, by whom."""
    monitor = result.run.monitor
    if monitor is None or monitor.density is None:
        return []
    record = monitor.density
    during = NEVER_WRITTEN if record.during is None else f"{record.during.text} {record.during.form.words}"
    left = NEVER_WRITTEN if record.left is None else f"{record.left.text} {record.left.form.words}"
    signed = f"signed by {record.signed_by}" if record.signed_by else "signed by nobody"
    product = reader.text(record.product_kgpm3, Kind.DENSITY)
    said = f"Density during the run: {during}; as left: {left}, {signed}; the product's: {product}."
    missing = [f"Left out: {each.step.value}." for each in result.findings.density_missing]
    return [said, *missing]


def _number(run: WetRun, number: NewNumber) -> dict[str, str]:
    form = number.found.form
    places = min(max(4 - len(str(int(number.new))), 0), MOST_DECIMALS)
    left = _left_as(run, number)
    return {
        "thing": number.thing,
        "form": form.words,
        "convention": f"{form.convention.value}{': goes down as the true amount goes up' if form.inverts else ''}",
        "found": number.found.text,
        "new": f"{number.new:.{places}f} ± {number.new * number.expanded_ratio:.{places}f}",
        "enter": "see the monitor's steps" if number.enter is None else number.enter.text,
        "rounding": "" if number.enter is None else _rounding(number.enter),
        "left": NEVER_WRITTEN if left is None else left.typed.text,
    }


def _left_as(run: WetRun, number: NewNumber) -> Entry | None:
    monitor, setting = run.monitor, _SETTING_OF.get(number.part)
    if monitor is None or monitor.as_left is None or setting is None:
        return None
    return monitor.as_left.entry(setting)


def _rounding(enter: Rounded) -> str:
    said = f"its steps cost {off_per_cent(enter.off_ratio, places=2)}"
    return said if enter.in_range else f"{said}; outside what the monitor takes"


def _place(each: Compared) -> tuple[Setting, int | None]:
    return each.wanted.setting, each.wanted.section


def _setting(found: Compared, left: Compared | None) -> dict[str, str | bool]:
    last = found if left is None or left.shown is None else left
    return {
        "setting": found.wanted.setting.value,
        "found": _shown(found),
        "left": NEVER_WRITTEN if left is None else _shown(left),
        "should": "the monitor has none" if found.enter is None else found.enter.text,
        "why": found.wanted.why,
        "form": "" if found.shown is None else found.shown.form.words,
        "effect_found": effect_words(found),
        "effect_left": "" if left is None else effect_words(left),
        "state": last.agreement.value,
        "moment": "" if last is found else Moment.AS_LEFT.value,
        "wrong": last.agreement is Agreement.DIFFERS,
        "slips": " or ".join(found.slips),
    }


def _sections(numbers: list[int]) -> str:
    if not numbers:
        return ""
    return f", section{'s' if len(numbers) > 1 else ''} {positions(numbers)}"


def _shown(each: Compared) -> str:
    return NEVER_WRITTEN if each.shown is None else each.shown.text


def effect_words(each: Compared) -> str:
    """Return what a setting that differs does to the rate.

    Parameters
    ----------
    each : Compared
        The setting.

    Returns
    -------
    str
        The rate's error and where it acts; empty for a setting that stands as it should.
    """
    if each.effect is None or each.agreement is not Agreement.DIFFERS:
        return ""
    if each.effect.acts is Acts.NOT_ON_RATE:
        return "does not act on the rate"
    if each.effect.rate_ratio is None:
        return f"effect on the rate {each.effect.acts.value}"
    said = f"rate {off_per_cent(each.effect.rate_ratio - 1.0)} {each.effect.acts.value}"
    if each.whole_boom_ratio is None:
        return said
    return f"{said} in this section, {off_per_cent(each.whole_boom_ratio - 1.0)} over the boom"


def _change(change: Change) -> str:
    section = "" if change.section is None else f", section {change.section}"
    before, after = (NEVER_WRITTEN if one is None else one.text for one in (change.found, change.left))
    return f"{change.setting.value}{section}: found {before}, left {after}"
