"""Houses: an invented tight house, a bare one for hand calculations, and random ones."""

from typing import Any

from hypothesis import strategies as st
from support.values import floats, stated

import moistsim as ms
from moistsim.core.units import Stated

NO_SKIN: dict[str, float] = {
    "aspect": 1.0,
    "wall_u": 0.0,
    "roof_u": 0.0,
    "floor_u": 0.0,
    "window_u": 0.0,
    "window_to_wall_ratio": 0.0,
    "light_contents": 0.0,
}
NO_GAINS: dict[str, float] = {"occupants": 0.0, "appliances_and_lights": 0.0, "moisture": 0.0}


def house(**changes: Any) -> ms.House:
    """A tight house of our own invention, with `changes`."""
    return ms.House(**{"floor_area": "2000 ft2", "ach50": 2.0, **changes})


def bare_house(
    *,
    envelope: dict[str, Any] | None = None,
    gains: dict[str, Any] | None = None,
    moisture_store: ms.MoistureStore | None = None,
    **changes: Any,
) -> ms.House:
    """A square, airtight house of 100 m2 without losses, windows, gains or moisture storage.

    Parameters
    ----------
    envelope, gains : dict
        Fields to be set against `NO_SKIN` and `NO_GAINS`.
    moisture_store : MoistureStore
        By default none of it.
    **changes
        Other fields of `ms.House`.
    """
    return ms.House(
        **{
            "floor_area": 100.0,
            "ach50": 0.0,
            "envelope": ms.Envelope(**{**NO_SKIN, **(envelope or {})}),
            "gains": ms.Gains(**{**NO_GAINS, **(gains or {})}),
            "moisture_store": moisture_store or ms.MoistureStore(area=0.0),
            **changes,
        }
    )


def with_envelope(house: ms.House, **values: float) -> ms.House:
    """A house whose envelope has values beyond what a description accepts, set behind its checks.

    A closed form often needs a mass or a conductance without bound.
    """
    for name, value in values.items():
        object.__setattr__(house.envelope, name, value)
    return house


@st.composite
def any_envelope(draw: st.DrawFn) -> ms.Envelope:
    """Any envelope that loses some heat, from a shed to a stone house.

    From a shed to a store of stone; every one loses some heat, or no room in it would be
    bounded.
    """
    glass = {side: draw(floats(0.0, 0.5)) for side in ("front", "back", "left", "right")}
    return ms.Envelope(
        orientation=draw(floats(0.0, 359.0)),
        aspect=draw(floats(0.4, 3.0)),
        wall_u=draw(stated(0.05, 2.0)),
        wall_absorptance=draw(floats(0.0, 1.0)),
        roof_u=draw(stated(0.0, 1.0)),
        floor_u=draw(stated(0.0, 1.0)),
        window_u=draw(stated(0.0, 5.0)),
        window_shgc=draw(floats(0.0, 0.8)),
        fast_mass=draw(stated(0.0, 120e3)),
        light_contents=draw(st.one_of(st.just(0.0), floats(2e3, 20e3))),
        slow_mass=draw(st.one_of(st.just(0.0), floats(20e3, 300e3))),
        mass_coupling=draw(floats(0.0, 8.0)),
        window_to_wall_ratio=ms.WindowToWallRatio(**glass),
    )


@st.composite
def any_leakage(draw: st.DrawFn) -> dict[str, Any]:
    """How much leaks, in any of the three ways, and where, as fields of a house."""
    amount = draw(
        st.one_of(
            st.fixed_dictionaries({"ach50": floats(0.1, 20.0)}),
            st.fixed_dictionaries({"cfm50": floats(0.01, 3.0)}),
            st.fixed_dictionaries({"effective_area": floats(0.001, 0.3)}),
        )
    )
    where = draw(
        st.one_of(
            st.just({"model": "basic"}),
            st.fixed_dictionaries(
                {
                    "flue_share": st.one_of(st.just(0.0), floats(0.05, 0.4)),
                    "ceiling_share": st.one_of(st.none(), floats(0.0, 0.3)),
                    "floor_share": st.one_of(st.none(), floats(0.0, 0.3)),
                    "terrain": st.sampled_from(["as tabulated", "suburbs", "open water"]),
                }
            ),
        )
    )
    ach50 = {"ach50": amount.pop("ach50")} if "ach50" in amount else {}
    return {**ach50, "leakage": ms.Leakage(**amount, **where)}


@st.composite
def any_ducts(draw: st.DrawFn, below: str) -> ms.Ducts:
    """Inside, or in the attic or the space below, with any leakage."""
    doors = draw(st.one_of(st.just(0.0), floats(0.0, 0.1)))
    location = draw(st.sampled_from(["inside", "attic", below]))
    if location == "inside":
        return ms.Ducts(closed_door_flow=doors)
    return ms.Ducts(
        location=location,
        supply_leakage=draw(floats(0.0, 0.4)),
        return_leakage=draw(floats(0.0, 0.4)),
        supply_area=draw(st.one_of(st.none(), floats(0.0, 80.0))),
        insulation=draw(floats(0.1, 2.0)),
        closed_door_flow=doors,
    )


@st.composite
def any_space_below(draw: st.DrawFn) -> dict[str, Any]:
    """A slab, a crawl space of any kind or a basement, as fields of a house."""
    vents, walls, wood = (
        draw(floats(0.0, 0.02)),
        draw(stated(0.0, 4.0)),
        draw(floats(0.0, 4.0)),
    )
    air = draw(st.one_of(st.just(0.0), floats(0.0, 0.05)))
    crawl_space = ms.CrawlSpace(
        kind=draw(st.sampled_from(["vented", "closed", "encapsulated"])),
        height=draw(floats(0.3, 2.0)),
        ground_cover=draw(floats(0.0, 1.0)),
        vent_area=vents,
        wall_u=walls,
        wood_area=wood,
        house_air=air,
    )
    basement = ms.Basement(
        height=draw(floats(1.8, 3.0)),
        below_grade=draw(floats(0.0, 1.8)),
        wall_u=Stated(0.1 + walls),
        vent_area=vents,
        wood_area=wood,
        house_air=air,
    )
    return draw(st.sampled_from([{}, {"crawl_space": crawl_space}, {"basement": basement}]))


@st.composite
def any_spaces(draw: st.DrawFn) -> dict[str, Any]:
    """Any of the spaces next to a house, and ducts in any of them, as fields of a house."""
    below = draw(any_space_below())
    attic = st.builds(
        ms.Attic,
        height=floats(0.1, 2.0),
        vent_area=floats(0.0, 0.02),
        deck_area=floats(1.0, 2.0),
        deck_u=stated(2.0, 5.0),
        deck_heat_capacity=stated(0.0, 60e3),
    )
    sealed = st.builds(ms.Attic, kind=st.just("sealed"), deck_vapor_resistance=floats(1e8, 1e11))
    garage = st.builds(
        ms.Garage,
        floor_area=floats(15.0, 60.0),
        shared_wall_area=floats(0.0, 12.0),
        outer_u=stated(0.0, 4.0),
        vent_area=floats(0.0, 0.02),
        leak_share=floats(0.0, 0.3),
    )
    others = {
        "attic": draw(st.one_of(st.none(), attic, sealed)),
        "garage": draw(st.one_of(st.none(), garage)),
    }
    place = "basement" if "basement" in below else "crawl space"
    return {**below, **others, "ducts": draw(any_ducts(place))}


@st.composite
def any_exhausts(draw: st.DrawFn) -> ms.Exhausts:
    """Any of the fans, for some of the evening."""
    fan = st.builds(ms.ExhaustFan, airflow=floats(0.0, 0.2), runtime=stated(0.0, 14400.0))
    names = ("dryer", "range_hood", "bath_fans")
    return ms.Exhausts(**{name: draw(st.one_of(st.none(), fan)) for name in names})


@st.composite
def any_second_zone(draw: st.DrawFn) -> ms.SecondZone:
    """An upper floor or a wing of any size, with any share of what the house has."""
    share = st.one_of(st.none(), floats(0.0, 1.0))
    return ms.SecondZone(
        kind=draw(st.sampled_from(["upper floor", "wing"])),
        share=draw(floats(0.05, 0.95)),
        **{
            f"{name}_share": draw(share)
            for name in (
                "front",
                "back",
                "left",
                "right",
                "window",
                "gains",
                "moisture",
                "supply",
                "return",
            )
        },
        partition_u=draw(stated(0.0, 4.0)),
        opening_width=draw(floats(0.0, 4.0)),
        mixing=draw(floats(0.0, 0.2)),
    )


@st.composite
def any_house(draw: st.DrawFn, *, one_zone: bool = False) -> ms.House:
    """Houses of any size, tightness, mass and household, with any spaces next to them.

    Parameters
    ----------
    one_zone : bool
        Without a second conditioned zone.
    """
    zone = None if one_zone else draw(st.one_of(st.none(), any_second_zone()))
    upper = zone is not None and zone.kind == "upper floor"
    return ms.House(
        **draw(any_leakage()),
        **draw(any_spaces()),
        exhausts=draw(any_exhausts()),
        floor_area=draw(floats(40.0, 500.0)),
        stories=draw(st.integers(2 if upper else 1, 3)),
        second_zone=zone,
        ceiling_height=draw(floats(2.2, 4.0)),
        bedrooms=draw(st.integers(0, 6)),
        leakage_exponent=draw(floats(0.5, 1.0)),
        shelter=draw(st.integers(1, 5)),
        envelope=draw(any_envelope()),
        gains=ms.Gains(
            occupants=draw(floats(0.0, 8.0)),
            moisture=draw(st.one_of(st.none(), floats(0.0, 40.0 / 86400.0))),
            appliances_and_lights=draw(stated(0.0, 1500.0)),
        ),
        moisture_store=ms.MoistureStore(
            area=draw(floats(0.0, 6.0)), deep=draw(st.booleans()), coating=draw(floats(1e8, 3e9))
        ),
    )
