"""Sets a template on paper: tagged PDF, our fonts, and nothing fetched from anywhere.

Drawings go in as images with their words as alternative text. WeasyPrint may open
only ``data:`` addresses and our own style sheets and fonts.
"""

import atexit
import re
from collections.abc import Sequence
from functools import cache
from html import unescape
from pathlib import Path
from urllib.parse import quote

from django.template.loader import render_to_string
from django.utils.html import format_html

from pieces.print_options import PAPERS, PrintOptions

STATIC = Path(__file__).resolve().parents[1] / "studio" / "static" / "studio"
OURS = "http://fourbar.invalid/"  # resolved here, never asked for
VARIANT = {"pdf_variant": "pdf/ua-1"}
SHEETS = ("tokens.css", "print.css")
KINDS = {".css": "text/css", ".woff2": "font/woff2"}
TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)


def html_of(template: str, context: dict, options: PrintOptions, *, tight: bool = False) -> str:
    """The template as the page that is set: one self-contained text, drawings and all."""
    setting = {"page_size": PAPERS[options.paper], "body_class": options.body_class(tight=tight)}
    return render_to_string(template, {**context, "options": options, **setting})


def pdf_of(pages: Sequence[str]) -> bytes:
    """A handout as a PDF/UA document, from the ways to set it: see ``set_page``."""
    return set_page(pages).write_pdf(**VARIANT)


def set_page(pages: Sequence[str]):
    """Set a handout: the first of ``pages`` that needs one sheet only, else the first of all."""
    first = None
    for page in pages:
        document = _set(page)
        if len(document.pages) == 1:
            return document
        first = first or document
    return first


def _set(page: str):
    from weasyprint import HTML

    document = HTML(string=page, url_fetcher=_fetcher(), base_url=OURS)
    return document.render(stylesheets=_sheets(), font_config=_fonts())


def as_image(svg: str, *, css_class: str = "strip"):
    """An engraved drawing as an ``<img>`` whose alternative text is the drawing's title."""
    found = TITLE.search(svg)
    words = unescape(found.group(1)) if found else ""
    return format_html(
        '<img class="{}" alt="{}" src="data:image/svg+xml,{}">', css_class, words, quote(svg, safe="/:=' ()")
    )


@cache
def _sheets():
    """Our style sheets, read once: parsing them and unpacking the fonts costs more than a page."""
    from weasyprint import CSS

    return [
        CSS(string=(STATIC / name).read_text(), font_config=_fonts(), url_fetcher=_fetcher(), base_url=OURS)
        for name in SHEETS
    ]


@cache
def _fonts():
    from weasyprint.text.fonts import FontConfiguration

    # It deletes its temporary fonts when it goes, which must be before Python itself does.
    atexit.register(_sheets.cache_clear)
    atexit.register(_fonts.cache_clear)
    return FontConfiguration()


@cache
def _fetcher():
    from weasyprint.urls import URLFetcher, URLFetcherResponse

    class OurFilesOnly(URLFetcher):
        """Answers ``data:`` and files of our own static folder; refuses all else."""

        def fetch(self, url, headers=None):
            if url.startswith("data:"):
                return super().fetch(url, headers)
            if not url.startswith(OURS):
                raise ValueError("Handouts load nothing from elsewhere.")
            path = (STATIC / url.removeprefix(OURS)).resolve()
            if not path.is_relative_to(STATIC.resolve()) or path.suffix not in KINDS:
                raise ValueError("Handouts load nothing from elsewhere.")
            return URLFetcherResponse(url, path.read_bytes(), {"Content-Type": KINDS[path.suffix]})

    return OurFilesOnly(allowed_protocols=["data"])
