"""Ground speed over a course, strips of an acre, and a boom whose spacing is typed in wrong."""

from wetrun.machine.boom import Boom
from wetrun.proving.course import Course, Direction, Run
from wetrun.proving.course_result import course_result
from wetrun.proving.monitor import Setting
from wetrun.proving.rate_effect import Steering, rate_effect
from wetrun.spray.area import covered_area_m2

TABLES = ["trade_speed_and_width"]


def speed(i):
    return course_result(Course(length_m=i["course"]), [Run("1", Direction.OUT, i["time"])], []).speed_mps


def seconds(i):
    """Time at which the course says the speed, found by asking it for one second."""
    return speed({"course": i["course"], "time": 1.0}) / i["speed"]


def width(i):
    return Boom(spacing_m=i["spacing"], section_tips=(i["tips"],)).width_m


def rate_error(i):
    entered, true = (width({"spacing": i[name], "tips": i["tips"]}) for name in ("entered", "true"))
    return 1.0 - (rate_effect(Setting.SECTION_WIDTH, entered / true, Steering(metered=True)).rate_ratio or 0.0)


ANSWERS = {
    ("seconds-over-200-ft", "time"): seconds,
    ("speed-identities", "feet_per_minute"): speed,
    ("speed-identities", "feet_per_second"): speed,
    ("acre-strips", "area"): lambda i: covered_area_m2(i["distance"], i["width"]),
    ("spacing-20-in-as-50-cm", "spacing"): width,
    ("spacing-20-in-as-50-cm", "section_width"): width,
    ("boom-at-9-km-h", "speed"): speed,
    ("spacing-20-in-as-50-cm", "rate_error"): rate_error,
}


def test_speed_and_width(check, answer):
    check.compare(answer(check.inputs))
