"""The fields of a description as a table for the reference, from what the code declares."""

import attrs

from moistsim.core.fields import field_rows


def rst(cls: type) -> list[str]:
    """A list table in reStructuredText, or nothing for a class without declared fields."""
    if not any("help" in field.metadata for field in attrs.fields(cls)):
        return []
    table = [
        (row.name.lstrip("_"), row.type, row.unit, row.default, row.limits, row.meaning)
        for row in field_rows(cls)
        if row.meaning
    ]
    lines = ["", ".. list-table:: Fields", "   :header-rows: 1", ""]
    for row in [("field", "type", "unit", "default", "limits", "meaning"), *table]:
        for number, cell in enumerate(row):
            text = " ".join(cell.split()).replace("*", "\\*").replace("|", "\\|")
            lines.append(("   * - " if number == 0 else "     - ") + text)
    return [*lines, ""]
