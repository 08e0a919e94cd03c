"""A house with nothing in it, to which a test adds the one thing that it is about."""

from typing import Any

from moistsim import Envelope, Gains, House, MoistureStore

NO_SKIN: dict[str, float] = {
    "aspect": 1.0,
    "wall_u": 0.0,
    "roof_u": 0.0,
    "floor_u": 0.0,
    "window_u": 0.0,
    "window_to_wall_ratio": 0.0,
}
NO_GAINS: dict[str, float] = {"occupants": 0.0, "appliances_and_lights": 0.0, "moisture": 0.0}


def bare_house(
    *,
    envelope: dict[str, Any] | None = None,
    gains: dict[str, Any] | None = None,
    moisture_store: MoistureStore | None = None,
    **changes: Any,
) -> House:
    """A square, airtight house of 100 m2 without losses, windows, gains or moisture storage.

    Parameters
    ----------
    envelope, gains : dict
        Fields to be set against `NO_SKIN` and `NO_GAINS`.
    moisture_store : MoistureStore
        By default none of it.
    **changes
        Other fields of `House`.
    """
    return House(
        **{
            "floor_area": 100.0,
            "ach50": 0.0,
            "envelope": Envelope(**{**NO_SKIN, **(envelope or {})}),
            "gains": Gains(**{**NO_GAINS, **(gains or {})}),
            "moisture_store": moisture_store or MoistureStore(area=0.0),
            **changes,
        }
    )
