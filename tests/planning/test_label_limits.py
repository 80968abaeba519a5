"""All products of a tank mix together, and an empty intersection explained product by product."""

from __future__ import annotations

from datetime import timedelta

import pytest
from tests.season_cases import FIRST_DAY, LITRE_PER_HECTARE, planned

from wetrun.planning.label_limits import WISH, LimitThing, combined_limits
from wetrun.planning.passes import PermittedTip, Product
from wetrun.spray.carrier import fertiliser
from wetrun.spray.droplets import DropletClass

COARSE = frozenset({DropletClass.C, DropletClass.VC})
FINE = frozenset({DropletClass.F, DropletClass.M})


def test_the_narrowest_of_all_limits_stands() -> None:
    one = Product(
        name="one",
        classes=COARSE | {DropletClass.M},
        carrier_low_m3pm2=100 * LITRE_PER_HECTARE,
        speed_high_mps=6.0,
        wind_high_mps=5.0,
        height_high_m=0.6,
        last_day=FIRST_DAY + timedelta(days=5),
        rate_m3pm2=1e-7,
        label_high_m3pm2=2e-7,
    )
    two = Product(
        name="two",
        classes=COARSE,
        carrier_high_m3pm2=200 * LITRE_PER_HECTARE,
        speed_high_mps=7.0,
        wind_low_mps=1.0,
        wind_high_mps=4.0,
        first_day=FIRST_DAY + timedelta(days=2),
        rate_kgpm2=1e-4,
        label_high_kgpm2=1.1e-4,
    )
    wide = {"rate_low_m3pm2": 80 * LITRE_PER_HECTARE, "rate_high_m3pm2": 300 * LITRE_PER_HECTARE}
    limits = combined_limits(planned("p", products=(one, two), **wide))
    assert limits.conflicts == ()
    assert limits.classes == COARSE
    assert limits.rate_low_m3pm2 == 100 * LITRE_PER_HECTARE
    assert limits.rate_high_m3pm2 == 200 * LITRE_PER_HECTARE
    assert (limits.speed_high_mps, limits.wind_low_mps, limits.wind_high_mps) == (6.0, 1.0, 4.0)
    assert limits.height_high_m == 0.6
    assert (limits.first_day, limits.last_day) == (FIRST_DAY + timedelta(days=2), FIRST_DAY + timedelta(days=5))
    assert limits.label_ratio == pytest.approx(1.1)
    assert limits.label_owner == "two"


def test_permitted_tips_are_those_every_list_names_at_their_lowest_pressure() -> None:
    one = Product(name="one", permitted_tips=(PermittedTip("a", 4e5), PermittedTip("b", None)))
    two = Product(name="two", permitted_tips=(PermittedTip("a", 3e5), PermittedTip("c", None)))
    silent = Product(name="three")
    assert combined_limits(planned("p", products=(one, two, silent))).permitted == {"a": 3e5}


@pytest.mark.parametrize(
    ("changes", "thing", "owners"),
    [
        (
            {"products": (Product(name="one", classes=COARSE), Product(name="two", classes=FINE))},
            "CLASSES",
            ["one", "two"],
        ),
        ({"classes": FINE, "products": (Product(name="one", classes=COARSE),)}, "CLASSES", [WISH, "one"]),
        ({"products": (Product(name="one", carrier_low_m3pm2=2e-5),)}, "RATE", [WISH, "one"]),
        ({"height_m": 0.8, "products": (Product(name="low", height_high_m=0.6),)}, "HEIGHT", [WISH, "low"]),
        (
            {"products": (Product(name="a", wind_low_mps=4.0), Product(name="b", wind_high_mps=3.0))},
            "WIND",
            ["a", "b"],
        ),
        (
            {
                "products": (
                    Product(name="a", permitted_tips=(PermittedTip("x"),)),
                    Product(name="b", permitted_tips=(PermittedTip("y"),)),
                )
            },
            "TIPS",
            ["a", "b"],
        ),
        ({"products": (Product(name="late", first_day=FIRST_DAY + timedelta(days=99)),)}, "DATES", [WISH, "late"]),
        (
            {"carrier": fertiliser("UAN 28", 288.7), "products": (Product(name="no", forbidden_carriers=("uan 28",)),)},
            "CARRIER",
            [WISH, "no"],
        ),
    ],
)
def test_an_empty_intersection_names_every_owner(changes: dict[str, object], thing: str, owners: list[str]) -> None:
    conflicts = combined_limits(planned("p", **changes)).conflicts
    assert [conflict.thing for conflict in conflicts] == [LimitThing[thing]]
    assert [part.owner for part in conflicts[0].parts] == owners
