"""Known areas: the course to drive, and the rate a catch over it means."""

from __future__ import annotations

from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.spray.demand import rate_at
from wetrun.units import (
    CUBIC_METRE,
    M2,
    M3,
    METRE,
    SECOND,
    SQUARE_METRE,
    M,
    M3pm2,
    M3s,
    Mps,
    S,
)

_WIDTH_REMEDY = "Enter the swath, the row, the band or the tip spacing that the catch stands for."
_COURSE_REMEDY = "Enter the measured length of the course."


def course_length_m(area_m2: M2, width_m: M) -> M:
    """Return the course that covers a known area at a width.

    Parameters
    ----------
    area_m2
        Area to cover [m2].
    width_m
        Width covered in one pass [m].

    Returns
    -------
    M
        Length of the course [m].

    Raises
    ------
    OutOfRange
        An area or a width that is not positive.

    Notes
    -----
    The ounce method takes 1/128 acre because a gallon has 128 fluid ounces: ounces caught are gallons per acre.

    References
    ----------
    lsu-ounce-method, usu-no-math-2014

    Example
    -------
    >>> course_length_m(31.6, 0.5)
    63.2
    """
    check_positive("area", area_m2, SQUARE_METRE, remedy="Enter the area the course should cover.")
    check_positive("width", width_m, METRE, remedy=_WIDTH_REMEDY)
    return area_m2 / width_m


def covered_area_m2(course_m: M, width_m: M) -> M2:
    """Return the area covered over a course.

    Parameters
    ----------
    course_m
        Length driven [m].
    width_m
        Width covered [m].

    Returns
    -------
    M2
        Area [m2].

    Raises
    ------
    OutOfRange
        A length or a width that is not positive.

    References
    ----------
    unl-applicator-math

    Example
    -------
    >>> covered_area_m2(100.0, 30.0)
    3000.0
    """
    check_positive("course", course_m, METRE, remedy=_COURSE_REMEDY)
    check_positive("width", width_m, METRE, remedy=_WIDTH_REMEDY)
    return course_m * width_m


def rate_from_catch_m3pm2(volume_m3: M3, course_m: M, width_m: M) -> M3pm2:
    """Return the rate that a volume caught or used over a course means.

    Parameters
    ----------
    volume_m3
        Volume caught, or filled up again after the course [m3].
    course_m
        Length of the course [m].
    width_m
        Width that the volume was spread over [m].

    Returns
    -------
    M3pm2
        Rate [m3/m2]: per treated area if the width is a band.

    Raises
    ------
    OutOfRange
        A negative volume, or a length or width that is not positive.

    References
    ----------
    lsu-ounce-method, ufa-50-m-course

    Example
    -------
    >>> round(rate_from_catch_m3pm2(0.0005, 100.0, 0.5) * 1e7, 9)  # 0.5 L over 100 m on 0.5 m: 100 L/ha
    100.0
    """
    check_not_negative("volume caught", volume_m3, CUBIC_METRE, remedy="Enter the volume in the jug.")
    return volume_m3 / covered_area_m2(course_m, width_m)


def rate_from_boom(flow_m3s: M3s, speed_mps: Mps, swath_m: M) -> M3pm2:
    """Return the rate of a whole boom from its flow, its speed and its swath.

    Parameters
    ----------
    flow_m3s
        Flow of the whole boom [m3/s].
    speed_mps
        Ground speed [m/s].
    swath_m
        Width sprayed [m].

    Returns
    -------
    M3pm2
        Rate [m3/m2].

    Raises
    ------
    OutOfRange
        A negative flow, or a speed or swath that is not positive.

    References
    ----------
    countryco-boom

    Example
    -------
    >>> round(rate_from_boom(0.0004, 10.0 / 3.0, 12.0) * 1e7, 9)  # 24 L/min, 200 m/min, 12 m: 100 L/ha
    100.0
    """
    return rate_at(flow_m3s, speed_mps, swath_m)


def speed_over_course_mps(course_m: M, time_s: S) -> Mps:
    """Return the speed of a timed run.

    Parameters
    ----------
    course_m
        Length of the course [m].
    time_s
        Time taken from mark to mark, entered at speed [s].

    Returns
    -------
    Mps
        Ground speed [m/s].

    Raises
    ------
    OutOfRange
        A length or a time that is not positive.

    References
    ----------
    lsu-ounce-method

    Example
    -------
    >>> speed_over_course_mps(100.0, 25.0)
    4.0
    """
    check_positive("course", course_m, METRE, remedy=_COURSE_REMEDY)
    check_positive("time over the course", time_s, SECOND, remedy="Enter the time on the stopwatch.")
    return course_m / time_s
