"""Shares and deviations as a reader reads them: one way to write per cent, below every room that makes a sentence."""

from __future__ import annotations

from math import floor, log10
from typing import Final

PER_CENT: Final = 100.0


def signed(number: float, places: int, sign: str = "+") -> str:
    """Return a number with a true minus, and without one where rounding leaves nothing.

    Parameters
    ----------
    number : float
        What to show.
    places : int
        Decimals.
    sign : str
        "+" to show the sign of what is above zero, too; empty for none.

    Returns
    -------
    str
        Without unit.

    Example
    -------
    >>> signed(-2.51, 1), signed(-0.004, 1), signed(-0.004, 1, ""), signed(0.3, 1, "")
    ('−2.5', '0.0', '0.0', '0.3')
    """
    text = f"{number:{sign}.{places}f}"
    return text.lstrip("+-") if float(text) == 0.0 else text.replace("-", "−")


def per_cent(share: float, *, places: int = 1) -> str:
    """Return a share in per cent.

    Parameters
    ----------
    share : float
        A share, or the size of a deviation, of 1.
    places : int
        Decimals.

    Returns
    -------
    str
        Number, space, sign, as any other unit.

    Example
    -------
    >>> per_cent(0.0131), per_cent(0.05, places=0)
    ('1.3 %', '5 %')
    """
    return f"{signed(PER_CENT * share, places, '')} %"


def little_per_cent(share: float, *, digits: int = 2) -> str:
    """Return a share in per cent that may be very small, without a power of ten.

    Parameters
    ----------
    share : float
        A share of 1.
    digits : int
        Significant digits; zeros behind them are left out.

    Returns
    -------
    str
        Number, space, sign.

    Example
    -------
    >>> little_per_cent(0.000123), little_per_cent(0.0001), little_per_cent(0.1), little_per_cent(0.0)
    ('0.012 %', '0.01 %', '10 %', '0 %')
    """
    number = PER_CENT * share
    places = max(0, digits - 1 - floor(log10(abs(number)))) if number else 0
    text = signed(number, places, "")
    return f"{text.rstrip('0').rstrip('.') if '.' in text else text} %"


def off_per_cent(off: float, *, places: int = 1) -> str:
    """Return a deviation in per cent, with its sign.

    Parameters
    ----------
    off : float
        A ratio less one.
    places : int
        Decimals.

    Returns
    -------
    str
        Such as "+3.4 %".

    Example
    -------
    >>> off_per_cent(0.0342), off_per_cent(-0.0006)
    ('+3.4 %', '−0.1 %')
    """
    return f"{signed(PER_CENT * off, places)} %"


def more_or_less(off: float, *, places: int = 1) -> str:
    """Return a deviation in per cent, its sign in words.

    Parameters
    ----------
    off : float
        A ratio less one.
    places : int
        Decimals.

    Returns
    -------
    str
        Ready for "than".

    Example
    -------
    >>> more_or_less(-0.713), more_or_less(0.134, places=0)
    ('71.3 % less', '13 % more')
    """
    return f"{per_cent(abs(off), places=places)} {'more' if off > 0.0 else 'less'}"
