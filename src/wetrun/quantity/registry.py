"""The unit registry: made once, on first need.

Every conversion in Wetrun is made here from definitions; nowhere is there a hand-written factor.
"""

from __future__ import annotations

from functools import cache
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    import pint

# Since 2023 the survey foot is withdrawn and an acre is 1/640 of an international square mile; the registry's own
# acre is still built on the survey foot, 4 parts in a million larger.
_ACRE: Final = "acre_1959 = mile ** 2 / 640"
# Labels give what goes into a tank per hundred of spray; a unit of the registry may carry no factor of its own.
_HUNDREDS: Final = ("hundred_gallon = 100 * gallon", "hundred_liter = 100 * liter")


@cache
def registry() -> pint.UnitRegistry[float]:
    """Return the one registry.

    Returns
    -------
    pint.UnitRegistry
        With the acre of the international foot.

    References
    ----------
    nist-acre-2023
    """
    import pint  # noqa: PLC0415 - a third of a second, not to be paid by commands that read no quantity

    units: pint.UnitRegistry[float] = pint.UnitRegistry(on_redefinition="raise")
    for definition in (_ACRE, *_HUNDREDS):
        units.define(definition)
    return units


@cache
def unit_of_expression(expression: str) -> pint.Unit:
    """Return the registry's unit for an expression, dimensionless for an empty one.

    Parameters
    ----------
    expression : str
        As `wetrun.quantity.spellings` gives it.

    Returns
    -------
    pint.Unit
        The unit, with `acre` meaning the acre of the international foot.
    """
    return registry().Unit(expression.replace("acre", "acre_1959"))
