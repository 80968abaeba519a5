"""Receiver logs as the tests write them: GPX, NMEA 0183 and reports as JSON lines, of a straight drive northward."""

from __future__ import annotations

import datetime as dt
import json
import random
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

NORTH_DEG = 1 / 111_194.93  # one metre northward
START = dt.datetime(2031, 5, 1, 23, 59, 40, tzinfo=dt.UTC)


@dataclass(frozen=True)
class Fix:
    """One fix: the moment, the place in degrees, and speed over ground in metres per second."""

    at: dt.datetime
    lon: float
    lat: float
    speed: float = 5.0


def drive(count: int, *, step_s: float = 1.0, start: dt.datetime = START) -> list[Fix]:
    """Return fixes of a drive at 5 m/s northward."""
    return [
        Fix(start + dt.timedelta(seconds=nth * step_s), 10.0, 50.0 + 5 * nth * step_s * NORTH_DEG)
        for nth in range(count)
    ]


def sentence(body: str) -> str:
    """Return an NMEA sentence with its checksum."""
    total = 0
    for letter in body.encode():
        total ^= letter
    return f"${body}*{total:02X}"


def minutes(value: float, digits: int) -> str:
    """Return degrees as degrees and minutes in one number, with so many digits for the degrees."""
    tens_of_microminutes = round(abs(value) * 60e7)
    whole, rest = divmod(tens_of_microminutes, 60 * 10**7)
    return f"{whole:0{digits}d}{rest / 1e7:010.7f}"


def place(fix: Fix) -> str:
    """Return the four fields of a place."""
    sides = "S" if fix.lat < 0 else "N", "W" if fix.lon < 0 else "E"
    return f"{minutes(fix.lat, 2)},{sides[0]},{minutes(fix.lon, 3)},{sides[1]}"


def clock(fix: Fix) -> str:
    """Return the time of day to the hundredth."""
    return f"{fix.at:%H%M%S}.{fix.at.microsecond // 10_000:02d}"


def rmc(fix: Fix, talker: str = "GP") -> str:
    """Return the sentence with place, speed and date."""
    knots = fix.speed * 3600 / 1852
    return sentence(f"{talker}RMC,{clock(fix)},A,{place(fix)},{knots:.3f},0.0,{fix.at:%d%m%y},,,A")


def gga(fix: Fix, talker: str = "GP", quality: int = 4) -> str:
    """Return the sentence with place and quality of the fix."""
    return sentence(f"{talker}GGA,{clock(fix)},{place(fix)},{quality},12,0.8,120.0,M,47.0,M,,")


def vtg(fix: Fix, talker: str = "GP") -> str:
    """Return the sentence with speed and course."""
    return sentence(f"{talker}VTG,0.0,T,,M,{fix.speed * 3600 / 1852:.3f},N,{fix.speed * 3.6:.3f},K,A")


def nmea_text(fixes: Sequence[Fix], talker: str = "GP") -> str:
    """Return a log with three sentences for each fix."""
    return "".join(f"{gga(fix, talker)}\r\n{vtg(fix, talker)}\r\n{rmc(fix, talker)}\r\n" for fix in fixes)


def gpx_text(
    parts: Sequence[Sequence[Fix]], *, head: str = '<gpx version="1.1">', prefix: str = "", inside: str = ""
) -> str:
    """Return a GPX file of one track with segments; ``inside`` stands in every point."""
    segments = "".join(
        f"<{prefix}trkseg>{''.join(_point(fix, prefix, inside) for fix in fixes)}</{prefix}trkseg>" for fixes in parts
    )
    track = f"<{prefix}trk><{prefix}name>A. Name</{prefix}name>{segments}</{prefix}trk>"
    return f'<?xml version="1.0"?>{head}{track}</{prefix}gpx>'


def _point(fix: Fix, prefix: str, inside: str) -> str:
    stamp = f"{fix.at:%Y-%m-%dT%H:%M:%S}.{fix.at.microsecond:06d}Z"
    return (
        f'<{prefix}trkpt lat="{fix.lat:.9f}" lon="{fix.lon:.9f}"><{prefix}ele>1.0</{prefix}ele>'
        f"<{prefix}time>{stamp}</{prefix}time>{inside}</{prefix}trkpt>\n"
    )


def json_text(fixes: Sequence[Fix]) -> str:
    """Return reports as JSON lines."""
    lines = [json.dumps({"class": "VERSION", "release": "3"})]
    for fix in fixes:
        stamp = f"{fix.at:%Y-%m-%dT%H:%M:%S}.{fix.at.microsecond // 1000:03d}Z"
        report = {"class": "TPV", "mode": 3, "time": stamp, "lat": fix.lat, "lon": fix.lon, "track": 0.0, "speed": 5.0}
        lines += [json.dumps(report), json.dumps({"class": "SKY", "satellites": [{"PRN": 3}]})]
    return "\n".join(lines) + "\n"


def gpx_sample(folder: Path, chance: random.Random) -> list[Path]:
    """A track of one to three segments, with some namespace, encoding and extensions."""
    fixes = drive(chance.randint(30, 90), step_s=chance.choice([0.2, 1.0, 2.0]))
    cut = chance.randint(5, 25)
    parts = chance.choice([[fixes], [fixes[:cut], fixes[cut:]], [fixes[:5], [], fixes[9:]]])
    inside = chance.choice(["", "<speed>5.0</speed>", "<extensions><a:speed xmlns:a='x'>18.0</a:speed></extensions>"])
    prefix = chance.choice(["", "g:"])
    head = '<g:gpx xmlns:g="http://www.topografix.com/GPX/1/1">' if prefix else '<gpx version="1.0">'
    encoding = chance.choice(["utf-8", "utf-8-sig", "utf-16"])
    file = folder / "track.gpx"
    file.write_text(gpx_text(parts, head=head, prefix=prefix, inside=inside), encoding=encoding)
    return [file]


def nmea_sample(folder: Path, chance: random.Random) -> list[Path]:
    """A log over midnight, with other sentences, comments and junk."""
    talker = chance.choice(["GP", "GN", "GL", "GA"])
    text = nmea_text(drive(chance.randint(30, 60), step_s=chance.choice([0.2, 1.0])), talker)
    lines = text.splitlines(keepends=True)
    if chance.random() < 0.5:
        lines.insert(chance.randrange(len(lines)), "# a comment\n$SDDPT,5.3,0.4,*79\n$PXXX,1,2\n")
    if chance.random() < 0.2:
        lines = [line.partition("*")[0] + "\n" for line in lines]
    content = "".join(lines).encode()
    if chance.random() < 0.3:
        content = content[:200] + chance.randbytes(50) + content[200:]
    file = folder / "receiver.log"
    file.write_bytes(content)
    return [file]


def json_sample(folder: Path, chance: random.Random) -> list[Path]:
    """Reports as JSON lines."""
    file = folder / "reports.log"
    file.write_text(json_text(drive(chance.randint(30, 60), step_s=chance.choice([0.2, 1.0]))), encoding="utf-8")
    return [file]
