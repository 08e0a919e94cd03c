"""The report as a self-contained HTML page for the screen, the printer and the phone."""

from importlib.resources import files

import attrs
import jinja2
import markupsafe

from moistsim.report.glossary import used
from moistsim.report.records import Report

TEMPLATE = "page.html.jinja"


def page(report: Report) -> str:
    """HTML that contains its style and its pictures, and fetches nothing."""
    environment = jinja2.Environment(
        autoescape=True, trim_blocks=True, lstrip_blocks=True, undefined=jinja2.StrictUndefined
    )
    template = environment.from_string(
        files("moistsim.report").joinpath(TEMPLATE).read_text(encoding="utf-8")
    )
    values = attrs.asdict(report, recurse=False)
    # The words on the page, without pictures and tags.
    bare = template.render({**values, "glossary": {}}).split("</style>")[1]
    return template.render({**values, "glossary": used(markupsafe.Markup(bare).striptags())})
