"""The sheet as a self-contained HTML page for the wall, the printer and the phone."""

from importlib.resources import files

import attrs
import jinja2
import markupsafe

from moistsim.sheet.records import Sheet

TEMPLATE = "page.html.jinja"


def page(sheet: Sheet) -> str:
    """HTML that contains its style and its picture, and fetches nothing."""
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    text = files("moistsim.sheet").joinpath(TEMPLATE).read_text(encoding="utf-8")
    values = attrs.asdict(sheet, recurse=False)
    return environment.from_string(text).render({**values, "picture": _named(sheet)})


def _named(sheet: Sheet) -> markupsafe.Markup:
    """The picture with a title and a text for readers who cannot see it.

    The picture alone is markup already, and contains no text of the user.
    """
    tag, rest = sheet.picture.split(">", 1)
    named = markupsafe.Markup(
        "{} role='img' aria-labeledby='timing timing-text'>"
        "<title id='timing'>{}</title><desc id='timing-text'>{}</desc>{}"
    )
    return named.format(
        markupsafe.Markup(tag), sheet.picture_title, sheet.picture_text, markupsafe.Markup(rest)
    )
