"""Tags on hand-made steps: mixing, stores that give back what they took, and a full declaration."""

import numpy as np
import pytest
from numpy.typing import NDArray

from moistsim.engine import tags
from moistsim.engine.metering import STEP_FIELDS
from moistsim.season.balance import BALANCES
from moistsim.season.columns import COLUMNS

WATER_IN = ("infiltration", "ventilation", "household_vapor")


def steps(count: int, **fields: float | NDArray[np.float64]) -> NDArray[np.float64]:
    """Steps whose meter says `fields`, and nothing else."""
    trace = np.zeros((count, len(STEP_FIELDS)))
    for name, values in fields.items():
        trace[:, STEP_FIELDS.index(name)] = values
    return trace


def carried(
    trace: NDArray[np.float64], dt: float, content: dict[str, float]
) -> tuple[dict[str, dict[str, float]], dict[str, dict[str, float]]]:
    """What water is held, by reservoir, and what left, by sink, each by source."""
    ledger = tags.WATER
    account = tags.account(ledger)
    for name, amount in content.items():
        account.content[-1, ledger.reservoirs.index(name)] = amount
    none, contents = np.zeros((len(trace), 0)), np.zeros((len(trace), len(ledger.reservoirs)))
    tags.carry(trace, none, dt, tags.table(ledger), account, contents)
    np.testing.assert_allclose(contents[-1], account.content.sum(axis=0), atol=1e-12)
    return (
        {
            name: dict(zip(ledger.sources, account.content[:, i], strict=True))
            for i, name in enumerate(ledger.reservoirs)
        },
        {
            name: dict(zip(ledger.sinks, account.left[:, s], strict=True))
            for s, name in enumerate(ledger.sources)
        },
    )


def test_a_well_mixed_room_tends_to_the_shares_of_its_flows() -> None:
    """Tags in one reservoir follow the solution by hand, step by step.

    One reservoir of 5 kg, 1, 2 and 3 g/s in and 6 g/s out. By hand, step by step,

        initial: x' = x M / (M + F dt), so x_N = M (1 + F dt / M)^-N
        source:  M f_i / F (1 - (1 + F dt / M)^-N)

    and in the limit the flow-weighted shares 1/6, 2/6, 3/6.
    """
    flows = np.array([1e-3, 2e-3, 3e-3])
    total, mass, dt = flows.sum(), 5.0, 60.0
    for count in (1, 10, 300):
        trace = steps(
            count,
            water_infiltration=flows[0],
            water_ventilation=flows[1],
            water_gains=flows[2],
            water_out=-total,
        )
        held, left = carried(trace, dt, {"air": mass})
        rest = (1.0 + total * dt / mass) ** -count
        assert held["air"]["initial"] == pytest.approx(mass * rest, rel=1e-12)
        for flow, source in zip(flows, WATER_IN, strict=True):
            expected = mass * flow / total * (1.0 - rest)
            assert held["air"][source] == pytest.approx(expected, rel=1e-12)
            assert left[source]["air_out"] == pytest.approx(flow * dt * count - expected, rel=1e-9)
    assert [held["air"][s] / mass for s in WATER_IN] == pytest.approx([1 / 6, 2 / 6, 3 / 6], 1e-6)


def test_a_store_gives_back_days_later_what_it_took() -> None:
    """A store returns household vapor as household vapor, days later.

    A pulse of household vapor goes into the store with 1 kg of other water in it; then for
    three days outdoor vapor passes the room; then the store gives half of its content back.

    By hand: the room before the pulse holds 4 kg from the start and takes 1 kg. Mixed, a fifth is
    the household's, so the store takes 0.2 kg of it in its kilogram and is then a tenth household.
    Half of that, 0.1 kg, comes back, though the room by then holds outdoor vapor alone.
    """
    dt, quiet = 60.0, 3 * 1440
    pulse = steps(1, water_gains=1.0 / dt, water_stored=-1.0 / dt)
    passing = steps(quiet, water_infiltration=4e-3, water_out=-4e-3)
    back = steps(1, water_stored=1.0 / dt)
    held, _ = carried(np.vstack([pulse, passing]), dt, {"air": 4.0, "surface_store": 1.0})
    assert held["surface_store"]["household_vapor"] == pytest.approx(0.2, rel=1e-12)
    assert held["air"]["household_vapor"] < 1e-12
    held, _ = carried(np.vstack([pulse, passing, back]), dt, {"air": 4.0, "surface_store": 1.0})
    assert held["air"]["household_vapor"] == pytest.approx(0.1, rel=1e-9)
    assert held["surface_store"]["household_vapor"] == pytest.approx(0.1, rel=1e-9)


def test_reevaporated_water_keeps_its_source() -> None:
    """0.5 kg of a room that is half household vapor condenses and comes back: nothing changed."""
    dt = 60.0
    trace = np.vstack(
        [
            steps(1, water_gains=2.0 / dt),
            steps(1, water_coil=-0.5 / dt),
            steps(1, water_reevaporated=0.5 / dt),
        ]
    )
    held, left = carried(trace, dt, {"air": 2.0})
    assert held["air"] == pytest.approx(
        dict.fromkeys(tags.WATER.sources, 0.0) | {"household_vapor": 2.0, "initial": 2.0}
    )
    assert sum(held["coil"].values()) == pytest.approx(0.0, abs=1e-15)
    assert all(sum(sinks.values()) == 0.0 for sinks in left.values())


def test_what_never_met_the_room_leaves_unmixed() -> None:
    """Ventilation water that a dehumidifier takes directly keeps its own tag.

    4 kg from the start. One step: 1 kg comes by ventilation, 2 kg leave by a dehumidifier, of
    which 0.75 kg are the ventilation's own, straight. By hand: what mixes is 4 + 0.25 kg, of which
    1.25 kg leave: the ventilation's share of those is 0.25 / 4.25.
    """
    trace = steps(
        1, water_ventilation=1.0, water_dehumidifier=-2.0, water_dehumidifier_straight=-0.75
    )
    held, left = carried(trace, 1.0, {"air": 4.0})
    share = 0.25 / 4.25
    assert left["ventilation"]["dehumidifier"] == pytest.approx(0.75 + 1.25 * share)
    assert left["initial"]["dehumidifier"] == pytest.approx(1.25 * (1.0 - share))
    assert held["air"]["ventilation"] == pytest.approx(3.0 * share)


def test_tags_scale_with_the_flows() -> None:
    """Twice all flows and contents is twice every tag, to the bit."""
    rng = np.random.default_rng(1)
    count = 50
    fields = {
        "water_infiltration": rng.random(count),
        "water_gains": rng.random(count),
        "water_out": -rng.random(count),
        "water_stored": rng.random(count) - 0.5,
        "water_coil": -rng.random(count),
        "water_drained": -0.5 * rng.random(count),
    }
    start = {"air": 400.0, "surface_store": 900.0, "coil": 300.0}
    once = carried(steps(count, **fields), 1.0, start)
    twice = carried(
        steps(count, **{name: 2.0 * values for name, values in fields.items()}),
        1.0,
        {name: 2.0 * amount for name, amount in start.items()},
    )
    for one, two in zip(once, twice, strict=True):
        for name, by in one.items():
            assert two[name] == {key: 2.0 * value for key, value in by.items()}


def test_the_inverse_of_the_reservoirs() -> None:
    """Against numpy's; a reservoir with nothing in it has a row of zeros."""
    rng = np.random.default_rng(2)
    for _ in range(20):
        a = -rng.random((4, 4)) * (rng.random((4, 4)) < 0.5)
        np.fill_diagonal(a, 0.0)
        np.fill_diagonal(a, -a.sum(axis=0) + rng.random(4) + 0.01)
        b = a.copy()
        tags.invert(b)
        np.testing.assert_allclose(b, np.linalg.inv(a), rtol=1e-9, atol=1e-12)
        assert (b >= 0.0).all()
    a[2], a[:, 2] = 0.0, 0.0
    b = a.copy()
    tags.invert(b)
    kept = np.ix_([0, 1, 3], [0, 1, 3])
    np.testing.assert_allclose(b[kept], np.linalg.inv(a[kept]), rtol=1e-9, atol=1e-12)
    assert not b[2].any() and not b[:, 2].any()


def test_a_reservoir_of_next_to_nothing_is_empty() -> None:
    """One over the smallest numbers is infinite, and infinity times nothing is no number."""
    a = np.diag([2.0, 1e-310, 4.0])
    tags.invert(a)
    np.testing.assert_array_equal(a, np.diag([0.5, 0.0, 0.25]))


@pytest.mark.parametrize("balance", ["water", "energy"])
def test_every_flow_across_the_skin_has_a_tag(balance: str) -> None:
    """A flow that someone adds to `balance.BALANCES` must be declared in `WATER` or `HEAT`."""
    ledger = {"water": tags.WATER, "energy": tags.HEAT}[balance]
    field_of = {column.column: column.field for column in COLUMNS}
    tagged = {flow.field for flow in ledger.flows}
    for column in BALANCES[balance]:
        field = field_of[column]
        if field in tags.CARRIED:
            assert set(tags.CARRIED[field]) <= tagged
        else:
            assert field in tagged, f"{column} crosses the skin of the house and has no tag"


@pytest.mark.parametrize("ledger", [tags.WATER, tags.HEAT])
def test_a_declaration_is_whole(ledger: tags.Ledger) -> None:
    known = {*STEP_FIELDS, *tags.Derived._fields}
    for flow in ledger.flows:
        assert flow.field in known and flow.reservoir in ledger.reservoirs
        assert flow.source or flow.sink
        # `Account.driven` is by sink.
        assert flow.sink or not flow.drives
    for move in ledger.moves:
        assert move.field in known
        assert {move.origin, move.destination} <= set(ledger.reservoirs)
    closing = [move.closes for move in ledger.moves]
    assert closing == sorted(closing), "moves that close come last"
    for flow in ledger.flows:
        assert not flow.straight or flow.straight[0] in known and flow.sink
    used = {
        *(f.field for f in tags.HEAT.flows),
        *(f.straight[0] for f in tags.HEAT.flows if f.straight),
        *(m.field for m in tags.HEAT.moves),
    }
    assert set(tags.Derived._fields) <= used
