"""One customer's season in a real browser: from a new machine to a changeover that is signed, the way people do it.

Everything is typed and pressed on the pages; only the worker is called between them, as it runs beside the server.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Final

import pytest
from django.core.management import call_command
from playwright.sync_api import Locator
from tests.e2e.conftest import Windows
from tests.shop_browser import DESKTOP, PHONE, Look, Watched
from tests.shop_cases import PASSWORD, make_user, today_in

from wetrun.machine.walk_round import WALK
from wetrun.shop.accounts.models import Branch
from wetrun.shop.accounts.roles import Role
from wetrun.shop.records.models import Changeover, Handover, Machine, MonitorSettings, Season, TipPlan, WetRun

TIPS: Final = 18
NOTHING_WAITS = "() => !globalThis.Yard || Yard.entriesOf(Yard.person).then((all) => all.length === 0)"


@dataclass(frozen=True, slots=True)
class Units:
    """What somebody types, in the units printed at the fields of his pages."""

    system: str
    spacing: str
    area: str
    rate: str
    speeds: tuple[str, str, str]
    pressure: str
    jug: str
    per_size_04: float
    """What a tip of size 04 gives into the jug in 30 s at that pressure."""


# An ISO size is the flow in US gallons a minute at 40 psi, ten times; 128 fl oz to the gallon, half a minute.
US: Final = Units("us", "20", "100", "15", ("6", "9", "11"), "40", "fl oz", 0.4 * 128 / 2)
# 40 psi are 2.758 bar; 0.4 US gal/min are 1514 mL/min.
METRIC: Final = Units("si", "50.8", "40", "140", ("10", "14", "18"), "2.758", "mL", 1514.2 / 2)


class Person:
    """Somebody at the browser: fills what is named, presses what is written."""

    def __init__(self, seen: Watched) -> None:
        self.seen, self.page = seen, seen.page

    def fill(self, **fields: str) -> None:
        for name, value in fields.items():
            self.put(name, value)

    def put(self, name: str, value: str) -> None:
        """Type into a field, choose from it, or tick it; what is folded away is opened first."""
        field = self.page.locator(f"main [name='{name}']:not([type=hidden])").first
        self._unfold(field)
        tag, kind = (field.evaluate(f"one => one.{what}") for what in ("tagName", "type"))
        if tag == "SELECT":
            field.select_option(value)
        elif kind in {"checkbox", "radio"}:
            field.check()
        else:
            field.fill(value)

    def put_all(self, fields: Mapping[str, str]) -> None:
        for name, value in fields.items():
            self.put(name, value)

    def _unfold(self, field: Locator) -> None:
        """Open what the field is folded away in, from the outside in, by a press on its summary."""
        while not field.is_visible():
            field.locator("xpath=ancestor::details[not(@open)]").first.locator("summary").first.click()

    def press(self, words: str, nth: int = 0) -> None:
        """Press a button or a link that says something, in the page's own part."""
        main = self.page.locator("main")
        pattern = re.compile(rf"^\s*{re.escape(words)}\s*(,.*)?$")
        found = main.get_by_role("button", name=pattern).or_(main.get_by_role("link", name=pattern))
        self._unfold(found.nth(nth))
        found.nth(nth).click()
        self.page.wait_for_load_state()
        if "/wet-runs/" in self.page.url and self.seen.look.scripts:
            # What is typed in the yard is on the device first, and in the shop a moment later.
            self.page.wait_for_timeout(500)
            self.page.wait_for_function(NOTHING_WAITS)
            self.page.wait_for_load_state()

    def says(self, words: str) -> bool:
        return words in self.page.locator("main").inner_text()

    def goes(self, address: str) -> None:
        self.seen.go(address)


def worker() -> None:
    """What runs beside the server, until nothing waits any more."""
    call_command("work", once=True)


LOOKS: Final = [
    pytest.param(DESKTOP, US, id="desktop-us-light"),
    pytest.param(replace(PHONE, theme="dark"), METRIC, id="phone-metric-dark"),
    pytest.param(replace(DESKTOP, scripts=False), US, id="desktop-us-without-scripts"),
]


@pytest.mark.parametrize(("look", "units"), LOOKS)
def test_a_season_from_a_new_machine_to_a_signed_changeover(
    branch: Branch, window: Windows, look: Look, units: Units
) -> None:
    make_user(branch, Role.SPECIALIST, "ann", name="Ann Reed", units=units.system)
    seen = window(look)
    someone = Person(seen)
    sign_in(someone)
    take_down(someone, units)
    type_season(someone, branch, units)
    plan_tips(someone)
    order_parts(someone)
    run_with_water(someone, units)
    hand_over(someone)
    clean_out(someone)
    someone.goes("/")
    seen.check()
    seen.shot("story-board")
    assert someone.says("Number 2")


def sign_in(someone: Person) -> None:
    someone.goes("/")
    someone.fill(username="ann", password=PASSWORD)
    someone.press("Sign in")
    assert someone.says("Readiness")


def take_down(someone: Person, units: Units) -> None:
    someone.goes("/customers/")
    someone.press("New customer")
    someone.fill(name="Two Creeks", person="Bo Cole")
    someone.press("Keep")
    someone.press("New machine")
    boom = {
        "machine.name": "Number 2",
        "machine.tank": "300 gal",
        "machine.boom.spacing": units.spacing,
        "machine.boom.sections": "6, 6, 6",
    }
    someone.put_all(boom | {"machine.control.loop": "flow meter"})
    someone.press("Keep")
    machine = Machine.objects.get()
    assert machine.document["boom"]["sections"] == [6, 6, 6]
    assert machine.document["boom"]["spacing"] == f"{units.spacing} {'in' if units is US else 'cm'}"
    someone.seen.check()


def type_season(someone: Person, branch: Branch, units: Units) -> None:
    someone.press("New season")
    someone.press("Begin")
    begin = today_in(branch) + timedelta(20)
    type_pass(someone, "Burndown", "soybeans", begin, units)
    someone.press("New pass")
    type_pass(someone, "Fungicide", "corn", begin + timedelta(40), units)
    season = Season.objects.get()
    assert [one["name"] for one in season.document["pass"]] == ["Burndown", "Fungicide"]
    assert season.problems == 0
    someone.seen.check()


def type_pass(someone: Person, name: str, crop: str, begin: date, units: Units) -> None:
    slow, usual, fast = units.speeds
    last = begin + timedelta(15)
    someone.put_all(
        {
            "sheet.name": name,
            "sheet.crop": crop,
            "sheet.area": units.area,
            "sheet.first": begin.isoformat(),
            "sheet.last": last.isoformat(),
            "sheet.carrier.name": "water",
            "sheet.rate.target": units.rate,
            "sheet.speeds.slow": slow,
            "sheet.speeds.usual": usual,
            "sheet.speeds.fast": fast,
        }
    )
    add_product(someone, f"{name} product")
    someone.seen.shot(f"story-pass-{name.lower()}")
    someone.press("Keep")


def add_product(someone: Person, name: str) -> None:
    """One more row: by a press that the server answers, with scripts or without."""
    add = someone.page.locator("button[value='add:sheet.product']")
    add.click()
    field = someone.page.locator("[name^='sheet.product.'][name$='.name']").first
    field.wait_for(state="attached")
    row = (field.get_attribute("name") or "").removesuffix(".name")
    someone.put_all({f"{row}.name": name, f"{row}.rate": "32 fl oz/ac"})


def plan_tips(someone: Person) -> None:
    someone.press("To the tip plan")
    someone.press("Make the tip plan")
    worker()
    season = Season.objects.get()
    someone.goes(f"/seasons/{season.pk}/tip-plan/")
    plan = TipPlan.objects.get()
    assert someone.says(plan.in_si["answer"] if seen_metric(someone) else plan.in_us["answer"])
    someone.seen.check()
    someone.seen.shot("story-plan")
    someone.press("The customer agrees")
    plan.refresh_from_db()
    assert plan.agreed_by is not None


def seen_metric(someone: Person) -> bool:
    return "km/h" in someone.page.locator("main").inner_text()


def order_parts(someone: Person) -> None:
    machine = Machine.objects.get()
    someone.goes(f"/machines/{machine.pk}/parts/")
    for words, state in (("Ordered", "ordered"), ("Here", "here")):
        someone.press(words)
        assert TipPlan.objects.get().parts_state == state
    someone.seen.check()


def run_with_water(someone: Person, units: Units) -> None:
    machine = Machine.objects.get()
    someone.goes(f"/machines/{machine.pk}/")
    someone.press("New wet run")
    someone.press("Begin")
    run = WetRun.objects.get()
    someone.goes(f"/wet-runs/{run.pk}/gates/")
    gates = ("last_product", "where_water_lands", "backflow", "overhead_lines", "nobody_under_boom", "cautions_read")
    someone.put_all({"sheet.by": "Ann Reed", **{f"sheet.{gate}.__is": "yes" for gate in gates}})
    someone.put("sheet.last_product.remark", "UAN 32 in June; rinsed three times")
    someone.put("sheet.where_water_lands.remark", "gravel yard, falls to grass")
    someone.press("Keep")
    catch_tips(someone, run, units)
    write_monitor(someone, run, units)
    prove(someone, run)


def catch_tips(someone: Person, run: WetRun, units: Units) -> None:
    someone.goes(f"/wet-runs/{run.pk}/catch/")
    how = {"sheet.unit": units.jug, "sheet.time": "30", "sheet.pressure": units.pressure, "sheet.jug": "0.2 fl oz"}
    someone.put_all(how)
    someone.press("Keep how it was caught")
    someone.goes(f"/wet-runs/{run.pk}/catch/")
    given = units.per_size_04 / 4 * size_fitted(run)
    ripple = (1.0, 1.004, 0.997, 1.002, 0.995, 1.003)
    someone.put_all({f"catch.readings.{tip}": f"{given * ripple[tip % 6]:.1f}" for tip in range(1, TIPS + 1)})
    someone.seen.shot("story-catch")
    someone.press("Keep the readings")
    assert run.readings.count() == TIPS
    someone.seen.check()


def size_fitted(run: WetRun) -> float:
    """The size of the tip the plan put on, in hundredths of US gallons a minute over ten: 04 is 4, 035 is 3.5."""
    run.refresh_from_db()
    shown = TipPlan.objects.get().in_us["passes"][0]["set"]
    assert run.document["tips"]["fitted"] == shown["ident"]
    size = shown["size"]
    return float(int(size)) / 10.0 ** (len(size) - 2)


def write_monitor(someone: Person, run: WetRun, units: Units) -> None:
    someone.goes(f"/wet-runs/{run.pk}/monitor/")
    rate = "gal/ac" if units is US else "L/ha"
    someone.put_all(
        {
            "sheet.name": "cab monitor",
            "sheet.profile.target_rate.form": rate,
            "sheet.profile.target_rate.step": "0.1",
            "sheet.profile.meter_number.form": "pulses per US gal",
            "sheet.profile.meter_number.step": "1",
            "sheet.as_found.target_rate": units.rate,
            "sheet.as_found.meter_number": "720",
            "sheet.as_left.target_rate": units.rate,
            "sheet.as_left.meter_number": "720",
        }
    )
    someone.press("Keep")


def prove(someone: Person, run: WetRun) -> None:
    someone.goes(f"/wet-runs/{run.pk}/result/")
    someone.seen.check()
    someone.seen.shot("story-result")
    someone.goes(f"/wet-runs/{run.pk}/prove/")
    assert someone.page.locator("main [name='sure']").count(), someone.page.locator("main").inner_text()
    someone.put("sure", "yes")
    someone.press("Close and prove")
    run.refresh_from_db()
    assert run.proven_at is not None
    assert run.sentence
    assert MonitorSettings.objects.get().wet_run == run


def hand_over(someone: Person) -> None:
    machine = Machine.objects.get()
    someone.goes(f"/machines/{machine.pk}/handovers/new/")
    someone.put_all({"operator": "Bo Cole", **{f"look-{look.key}": "right" for look in WALK}})
    for number in someone.page.locator("main [name^='number-']").all():
        left = number.locator("xpath=ancestor::tr").locator("td").first.inner_text()
        number.fill(left.split()[-1])
    someone.put("signed_name", "Bo Cole")
    someone.seen.shot("story-handover")
    someone.press("Sign and hand over")
    assert Handover.objects.get().signed_at is not None
    someone.seen.check()


def clean_out(someone: Person) -> None:
    machine = Machine.objects.get()
    someone.goes(f"/machines/{machine.pk}/")
    someone.press("New changeover")
    someone.fill(title="Beans to corn", earlier="Burndown", later="Fungicide")
    someone.press("Begin")
    someone.put_all({"sheet.plumbing.rinse_tank": "100 gal", "sheet.water.step": "25 gal", "sheet.to.speed": "9 mph"})
    someone.put_all({"sheet.tolerated.own": "1 %", "sheet.tolerated.of": "tank mix"})
    someone.press("Keep")
    someone.press("Work it out")
    worker()
    change = Changeover.objects.get()
    someone.goes(f"/changeovers/{change.pk}/")
    change.refresh_from_db()
    assert change.sentence, change.problems
    someone.seen.check()
    someone.seen.shot("story-changeover")
    write_down_steps(someone, change)


def write_down_steps(someone: Person, change: Changeover) -> None:
    """Every step done, one after the other, then the signature."""
    for _ in range(200):
        waiting = someone.page.locator("li.step:not(:has(.step-note)) button[value='done']")
        if not waiting.count():
            break
        someone._unfold(waiting.first)
        waiting.first.click()
        someone.page.wait_for_load_state()
    someone.put("signed_by", "Ann Reed")
    someone.press("Sign")
    change.refresh_from_db()
    assert change.signed_at is not None, someone.page.locator("main").inner_text()[:500]
