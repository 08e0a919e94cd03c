"""The sheet as a page: self-contained HTML for the wall, the printer and the phone."""

from importlib.resources import files

import attrs
import jinja2
import markupsafe

from moistsim.sequence.sheet import Sheet

TEMPLATE = "page.html.jinja"


def page(sheet: Sheet) -> str:
    """HTML with its style and its picture within; it fetches nothing."""
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    text = files("moistsim.sequence").joinpath(TEMPLATE).read_text(encoding="utf-8")
    values = attrs.asdict(sheet, recurse=False)
    # Ours, and no user's text: the one thing that is markup already.
    picture = markupsafe.Markup(sheet.picture)
    return environment.from_string(text).render({**values, "picture": picture})
