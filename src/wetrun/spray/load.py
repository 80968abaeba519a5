"""What is in a tank: how far it goes, and how much product is in it."""

from __future__ import annotations

from wetrun.spray.bounds import check_not_negative, check_positive
from wetrun.units import CUBIC_METRE, CUBIC_METRE_PER_SQUARE_METRE, M2, M3, M3pm2, Ratio


def area_of_load_m2(volume_m3: M3, rate_m3pm2: M3pm2) -> M2:
    """Return the area a volume covers at a rate.

    Parameters
    ----------
    volume_m3
        Volume of spray in the tank [m3].
    rate_m3pm2
        Rate [m3/m2].

    Returns
    -------
    M2
        Area [m2]: treated area if the rate is per treated area.

    Raises
    ------
    OutOfRange
        A negative volume or a rate that is not positive.

    References
    ----------
    msu-calibration

    Example
    -------
    >>> area_of_load_m2(3.0, 1.5e-5)  # 3000 L at 150 L/ha: 20 ha
    200000.0
    """
    check_not_negative("volume in the tank", volume_m3, CUBIC_METRE, remedy="Enter the volume of spray in the tank.")
    check_positive("rate", rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy="Enter the volume wanted per area.")
    return volume_m3 / rate_m3pm2


def product_in_spray_ratio(product_m3pm2: M3pm2, rate_m3pm2: M3pm2) -> Ratio:
    """Return the volume of product in each volume of spray.

    Parameters
    ----------
    product_m3pm2
        Product rate [m3/m2].
    rate_m3pm2
        Rate of the whole spray [m3/m2].

    Returns
    -------
    Ratio
        Product over spray, by volume [ratio].

    Raises
    ------
    OutOfRange
        A negative product rate or a spray rate that is not positive.

    References
    ----------
    ounce-method-slides

    Example
    -------
    >>> round(product_in_spray_ratio(2e-7, 2e-5), 9)  # 2 L/ha in 200 L/ha
    0.01
    """
    check_not_negative("product rate", product_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy="Enter the label's rate.")
    check_positive("rate", rate_m3pm2, CUBIC_METRE_PER_SQUARE_METRE, remedy="Enter the volume wanted per area.")
    return product_m3pm2 / rate_m3pm2
