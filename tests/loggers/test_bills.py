"""Bills from a table or a file."""

from pathlib import Path

import pandas as pd
import pytest

import moistsim as ms

ROWS = pd.DataFrame(
    {
        "from": ["06/11/2025", "05/12/2025", "07/12/2025"],
        "to": ["07/12/2025", "06/11/2025", "08/11/2025"],
        "used": [1240, 900, 1400],
        "paid": [171.5, None, 190.0],
    }
)
COLUMNS = {"start": "from", "end": "to", "kWh": "used", "USD": "paid"}


def test_bills_are_read_in_order(tmp_path: Path) -> None:
    path = tmp_path / "bills.csv"
    ROWS.to_csv(path, index=False)
    for source in (ROWS, path):
        bills = ms.Bills.read(source, COLUMNS, time_format="%m/%d/%Y")
        assert bills.frame["kWh"].tolist() == [900.0, 1240.0, 1400.0]
        assert bills.days.tolist() == [30, 31, 30]
        assert pd.isna(bills.frame["USD"].iloc[0]) and bills.frame["USD"].iloc[1] == 171.5
    assert len(bills.between("2025-06-01", "2025-08-10")) == 2


def test_last_days_and_days_of_reading() -> None:
    rows = pd.DataFrame({"start": ["2025-05-01"], "end": ["2025-05-31"], "kWh": [900]})
    assert ms.Bills.read(rows).days.tolist() == [30]
    assert ms.Bills.read(rows, end_is_last_day=True).days.tolist() == [31]


BAD = {
    "overlap": ({"from": ["06/01/2025", "05/12/2025", "07/12/2025"]}, "begins before the one before it ends"),
    "turned": ({"to": ["06/10/2025", "06/11/2025", "08/11/2025"]}, "ends on 2025-06-10"),
    "no energy": ({"used": [1240, None, 1400]}, "row 2, column used"),
    "not a date": ({"to": ["soon", "06/11/2025", "08/11/2025"]}, "cannot read 'soon' as a time"),
}  # fmt: skip


@pytest.mark.parametrize("case", BAD)
def test_bills_that_cannot_be_used(case: str) -> None:
    changes, text = BAD[case]
    with pytest.raises(ms.InputError) as caught:
        ms.Bills.read(ROWS.assign(**changes), COLUMNS, time_format="%m/%d/%Y")
    assert text in str(caught.value)


def test_columns_of_bills() -> None:
    with pytest.raises(ms.InputError, match="no column 'kWh' for kWh"):
        ms.Bills.read(ROWS, {"start": "from", "end": "to"}, time_format="%m/%d/%Y")
    with pytest.raises(ms.InputError, match="unknown column 'cost'"):
        ms.Bills.read(ROWS, {**COLUMNS, "cost": "paid"}, time_format="%m/%d/%Y")
