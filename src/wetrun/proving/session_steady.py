"""What is read while the whole boom runs steadily, and how far each instrument is trusted before it is proved."""

from __future__ import annotations

from dataclasses import dataclass

from wetrun.units import Frac, M3s, Pa


@dataclass(frozen=True, slots=True, kw_only=True)
class SteadyRead:
    """One steady pressure with every section on; what was not read is None.

    Attributes
    ----------
    name : str
        What the sheet calls it.
    meter_m3s : float or None
        Flow the monitor shows [m3/s].
    cab_pa : float or None
        Pressure the cab shows [Pa].
    gauge_pa : float or None
        Pressure a gauge at a tip shows [Pa].
    tank_m3s : float or None
        What left the tank over time [m3/s].
    caught : bool
        True if the tips were caught at this pressure.
    """

    name: str
    meter_m3s: M3s | None = None
    cab_pa: Pa | None = None
    gauge_pa: Pa | None = None
    tank_m3s: M3s | None = None
    caught: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingDoubts:
    """Standard uncertainties, as shares of a reading, that no test of the day gives.

    They are the figures of the *typical* column of docs/proof/crosscheck-noise.md unless the sheet says otherwise.

    Attributes
    ----------
    meter_number_frac, meter_reading_frac : float
        Meter's number, the same at every reading, and one reading [frac].
    speed_number_frac : float
        Number of a speed source [frac].
    cab_sensor_frac, cab_reading_frac : float
        Cab sensor throughout, and one reading [frac].
    gauge_frac, gauge_reading_frac : float
        Gauge at a tip throughout, and one reading [frac].
    catch_pressure_frac : float
        What the pressure moved while a section was caught does to its flow [frac].
    tips_frac, tip_to_tip_frac : float
        Mean of the set when new against its chart, and one tip against the next [frac].
    hose_frac : float
        The machine's own figure of the loss from cab to tip, as a share of the loss [frac].
    tank_frac : float
        Volume that left the tank [frac].
    """

    meter_number_frac: Frac = 0.010
    meter_reading_frac: Frac = 0.006
    speed_number_frac: Frac = 0.005
    cab_sensor_frac: Frac = 0.015
    cab_reading_frac: Frac = 0.010
    gauge_frac: Frac = 0.012
    gauge_reading_frac: Frac = 0.008
    catch_pressure_frac: Frac = 0.0072
    tips_frac: Frac = 0.015
    tip_to_tip_frac: Frac = 0.02
    hose_frac: Frac = 0.25
    tank_frac: Frac = 0.015
