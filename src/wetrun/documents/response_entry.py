"""How fast a machine follows its controller, as it is written in a season file."""

from __future__ import annotations

from typing import Final, Literal

from wetrun.documents.entry import Entry
from wetrun.documents.fields import LagTime
from wetrun.quantity import Typed
from wetrun.spray.response import Response, ShutOff
from wetrun.units import S

_SHUT_OFFS: Final = {"pressure stays": ShutOff.PRESSURE, "flow stays": ShutOff.FLOW}


class ResponseEntry(Entry):
    """Lag and delay as fitted to the machine's own log or timed in the yard; what its section valves take."""

    lag: LagTime | None = None
    delay: LagTime | None = None
    open: LagTime | None = None
    close: LagTime | None = None
    shut_off: Literal["pressure stays", "flow stays"] = "pressure stays"


def response_of_entry(entry: ResponseEntry | None) -> Response | None:
    """Return the response an entry describes, None for none.

    Parameters
    ----------
    entry : ResponseEntry or None
        The response as typed; a time left out is none.

    Returns
    -------
    Response or None
        Its record.
    """
    if entry is None:
        return None
    return Response(
        lag_s=_seconds(entry.lag),
        delay_s=_seconds(entry.delay),
        open_s=_seconds(entry.open),
        close_s=_seconds(entry.close),
        shut_off=_SHUT_OFFS[entry.shut_off],
    )


def _seconds(typed: Typed | None) -> S:
    return 0.0 if typed is None else typed.si_value
