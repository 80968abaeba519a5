"""Clean-outs the tests of the paper share: an invented machine between two invented passes."""

from __future__ import annotations

from datetime import date

from wetrun.changeover.question import ChangeoverQuestion, TankUse
from wetrun.changeover.rinse_task import WaterSupply
from wetrun.changeover.tolerated import PUBLISHED
from wetrun.machine.boom import Boom
from wetrun.machine.typical_plumbing import typical_layout
from wetrun.machine.typical_volumes import MachineClass

US_GALLON_M3 = 3.785411784e-3
MADE = {
    "machine_class": MachineClass.SELF_PROPELLED,
    "section_tips": (24, 24, 24),
    "tank_m3": 1200 * US_GALLON_M3,
    "ends_open": True,
    "recirculating": False,
}


def question(**changes):
    """A self-propelled sprayer between soybeans and corn; what is named here or in `MADE` may be changed."""
    made = {key: changes.pop(key, value) for key, value in MADE.items()}
    machine_class, tips = made.pop("machine_class"), made.pop("section_tips")
    boom = Boom(spacing_m=0.508, section_tips=tips)
    usual = {
        "machine": "Number 7, 120 ft",
        "earlier": TankUse(
            name="Post herbicide", crop="soybeans", contents=("Broadstop", "Grassline"), rate_m3pm2=1.4e-5
        ),
        "later": TankUse(name="Fungicide", crop="corn", contents=("Leafkeep",), rate_m3pm2=1.87e-5),
        "layout": typical_layout(machine_class, boom, **made),
        "section_tips": tips,
        "tolerated": PUBLISHED["nozzle-rinsate-denmark"],
        "supply": WaterSupply(rinse_tank_m3=120 * US_GALLON_M3, refills=2, step_m3=40 * US_GALLON_M3),
        "load_m3": 1100 * US_GALLON_M3,
        "out_m3s": 0.003,
        "speed_mps": 5.8,
        "most_rinses": 3,
        "on": date(2027, 7, 1),
    }
    return ChangeoverQuestion(**{**usual, **changes})
