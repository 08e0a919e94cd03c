"""The fields of a description as a table for the reference, from what the code declares."""

import attrs


def rows(cls: type) -> list[tuple[str, str, str, str]]:
    """Name, unit, default and meaning of each field that a user gives."""
    found = []
    for field in attrs.fields(cls):
        if not field.init or "help" not in field.metadata:
            continue
        default = field.default
        if isinstance(default, attrs.Factory):
            shown = "see meaning"
        elif default is attrs.NOTHING:
            shown = "must be given"
        elif default is None or isinstance(default, bool | int | float | str | tuple):
            shown = str(default)
        else:
            shown = type(default).__name__
        unit = field.metadata.get("unit", "")
        found.append((field.name.lstrip("_"), unit, shown, field.metadata["help"]))
    return found


def rst(cls: type) -> list[str]:
    """A list table in reStructuredText, or nothing for a class without declared fields."""
    table = rows(cls)
    if not table:
        return []
    lines = ["", ".. list-table:: Fields", "   :header-rows: 1", ""]
    for row in [("field", "unit", "default", "meaning"), *table]:
        for number, cell in enumerate(row):
            text = " ".join(cell.split()).replace("*", "\\*").replace("|", "\\|")
            lines.append(("   * - " if number == 0 else "     - ") + text)
    return [*lines, ""]
