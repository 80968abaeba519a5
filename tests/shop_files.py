"""A small machine's files, quickly worked on: a short boom, two passes, one rinse, a drive of six minutes."""

from __future__ import annotations

import tomllib
from datetime import datetime, timedelta
from hashlib import sha256
from math import cos, pi, radians
from typing import Any

from django.conf import settings

from wetrun.shop.accounts.models import Branch
from wetrun.shop.records.models import Changeover, ColumnMap, Customer, FieldLog, Machine, Season, WetRun

SMALL_SEASON = """\
# A short boom, so that tests do not wait.
format_version = 1
title = "Small season"
units = "si"

[customer]
name = "Two Creeks"

[machine]
name = "Number 2, 12 m"
tank = "1000 L"

[machine.boom]
spacing = "50 cm"
sections = [8, 8, 8]

[machine.control]
loop = "flow meter"
hold = { pressure = "1.2 bar" }

[machine.pump]
flow = "200 L/min"

[[machine.owned]]
tip = "iso-11004-pre"
wear = "3 %"

[plan]
most_sets = 1

[[pass]]
name = "Spring"
crop = "wheat"
area = "80 ha"
first = 2027-04-01
last = 2027-04-30
carrier = "water"
rate = "200 L/ha"
speeds = { slow = "7 km/h", usual = "9 km/h", fast = "11 km/h" }

[[pass]]
name = "Flag leaf"
crop = "wheat"
area = "80 ha"
first = 2027-05-20
last = 2027-06-10
carrier = "water"
rate = { target = "200 L/ha", low = "180 L/ha", high = "220 L/ha" }
speeds = { slow = "8 km/h", usual = "10 km/h", fast = "12 km/h" }
"""


def small_season_text(**replaced: str) -> str:
    """The small season with some texts replaced by others."""
    text = SMALL_SEASON
    for old, new in replaced.items():
        assert old in text
        text = text.replace(old, new)
    return text


SMALL_CHANGEOVER = """\
format_version = 1
title = "Small clean-out"
units = "si"
on = 2027-05-19
season = "season.toml"
from = "Spring"
to = { pass = "Flag leaf", speed = "10 km/h" }

[plumbing]
class = "mounted"
rinse_tank = "100 L"

[water]
step = "50 L"
most_rinses = 1

[tolerated]
own = "2 %"
of = "tank mix"
"""

SMALL_RUN = """\
format_version = 1
title = "Small wet run"
units = "si"
on = 2027-03-12
technician = "A. Reed"
season = "season.toml"
pass = "Spring"

[tips]
fitted = "iso-11004-ai"

[catch]
pressure = "3 bar"
time = "30 s"
jug = "5 mL"
unit = "mL"
readings = [
  790, 795, 785, 790, 800, 790, 785, 790, 795, 790, 785, 790,
  790, 795, 785, 640, 800, 790, 785, 790, 795, 790, 785, 790,
]

[monitor]
name = "cab monitor"

[monitor.profile]
target_rate = { form = "L/ha", step = "1" }

[monitor.as_found]
target_rate = "190"

[monitor.as_left]
target_rate = "200"
"""

SMALL_MAP = """\
format_version = 1

[columns]
time = { column = "Clock" }
distance = { column = "Dist", unit = "m" }
width = { column = "Swath", unit = "m" }
speed = { column = "Gs", unit = "km/h" }
heading = { column = "Track", unit = "deg" }
longitude = { column = "Lon", unit = "deg" }
latitude = { column = "Lat", unit = "deg" }
target_rate = { column = "RateSet", unit = "L/ha" }
applied_rate = { column = "RateOut", unit = "L/ha" }

[boom]
full_width = { value = 12, unit = "m" }
"""


def small_log_text(seconds: int = 360, *, speed_mps: float = 2.5, rate: float = 200.0) -> str:
    """A drive to the east at a speed that swells and ebbs, as a terminal would write it."""
    rows, way_m, start = ["Clock,Dist,Swath,Gs,Track,Lon,Lat,RateSet,RateOut"], 0.0, datetime(2026, 5, 20, 7)  # noqa: DTZ001
    for second in range(seconds):
        speed = speed_mps * (1.0 + 0.3 * cos(2 * pi * second / 60))
        way_m += speed
        longitude = -40.0 + way_m / (111_320.0 * cos(radians(41.0)))
        clock = (start + timedelta(seconds=second)).isoformat()
        rows.append(f"{clock},{speed:.2f},12,{3.6 * speed:.2f},90,{longitude:.7f},41.0,{rate:.0f},{rate * 0.98:.1f}")
    return "\n".join(rows) + "\n"


def make_small_season(branch: Branch, document: dict[str, Any] | None = None, **more: Any) -> Season:
    """The small season with its machine and customer, saved."""
    whole = document or tomllib.loads(SMALL_SEASON)
    customer, _ = Customer.objects.get_or_create(branch=branch, name=whole["customer"]["name"])
    machine = Machine.objects.create(branch=branch, customer=customer, units="si", document=whole["machine"])
    typed = {key: value for key, value in whole.items() if key not in {"customer", "machine"}}
    return Season.objects.create(
        branch=branch, machine=machine, title=typed["title"], units="si", document=typed, **more
    )


def make_small_changeover(season: Season) -> Changeover:
    """The small clean-out, saved, not answered."""
    typed = {key: value for key, value in tomllib.loads(SMALL_CHANGEOVER).items() if key != "season"}
    return Changeover.objects.create(
        branch=season.branch,
        machine=season.machine,
        season=season,
        title=typed["title"],
        units="si",
        document=typed,
        on=typed["on"],
    )


def make_small_run(season: Season) -> WetRun:
    """The small wet run, saved, not judged; tip 16 gives a fifth too little."""
    typed = {key: value for key, value in tomllib.loads(SMALL_RUN).items() if key != "season"}
    return WetRun.objects.create(
        branch=season.branch,
        machine=season.machine,
        season=season,
        title=typed["title"],
        units="si",
        document=typed,
        on=typed["on"],
        technician=typed["technician"],
    )


def make_map(branch: Branch, text: str = SMALL_MAP) -> ColumnMap:
    return ColumnMap.objects.create(branch=branch, name="map.toml", text=text)


def make_log(machine: Machine, text: str = "", name: str = "drive.csv", **more: Any) -> FieldLog:
    """A log as it was handed in, its file among the uploads."""
    raw = (text or small_log_text()).encode()
    digest = sha256(raw).hexdigest()
    place = settings.UPLOADS / "logs" / f"{digest}.csv"
    place.parent.mkdir(parents=True, exist_ok=True)
    place.write_bytes(raw)
    return FieldLog.objects.create(
        branch=machine.branch,
        machine=machine,
        name=name,
        stored=f"logs/{digest}.csv",
        size=len(raw),
        sha256=digest,
        **{"column_map": "map.toml", **more},
    )
