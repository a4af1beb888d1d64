"""Sets a template on paper: tagged PDF, our fonts, and nothing fetched from anywhere.

Drawings go in as images with their words as alternative text. WeasyPrint may open
only ``data:`` addresses and our own style sheets and fonts.
"""

import atexit
import re
from functools import cache
from html import unescape
from pathlib import Path
from urllib.parse import quote

from django.conf import settings
from django.template.loader import render_to_string
from django.utils.html import format_html

STATIC = Path(settings.BASE_DIR) / "studio" / "static" / "studio"
OURS = "http://fourbar.invalid/"  # resolved here, never asked for
PAPERS = {"a4": "A4", "letter": "Letter"}
SHEETS = ("tokens.css", "parts.css", "print.css")
KINDS = {".css": "text/css", ".woff2": "font/woff2"}
TITLE = re.compile(r"<title>(.*?)</title>", re.DOTALL)


def pdf_of(template: str, context: dict, *, paper: str) -> bytes:
    """The template as a PDF/UA document on ``paper`` ("a4" or "letter")."""
    from weasyprint import HTML

    page = render_to_string(template, {**context, "page_size": PAPERS.get(paper, "A4")})
    document = HTML(string=page, url_fetcher=_fetcher(), base_url=OURS)
    return document.write_pdf(stylesheets=_sheets(), font_config=_fonts(), pdf_variant="pdf/ua-1")


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
