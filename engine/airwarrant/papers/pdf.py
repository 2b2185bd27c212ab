"""PDF of a page by WeasyPrint, which is an extra; it may fetch nothing and open nothing but what the page itself holds."""

import re
from typing import Any

from airwarrant.errors import CallError, Fault, PaperFault

_HOW = (
    "Install WeasyPrint with `pip install 'airwarrant[pdf]'` and the libraries it draws with, as the README says; "
    "HTML is written without them."
)

#: What a page shows on a phone only: pictures laid out once more, which no print shows.
_PHONE_ONLY = re.compile(r'<div class="on-phone">.*?</svg></div>', re.DOTALL)


def lacking() -> str:
    """Return what to install before a PDF can be made here; empty where one can."""
    try:
        import weasyprint  # noqa: F401
    except (ImportError, OSError):  # OSError: the package is there and a library it loads is not
        return _HOW
    return ""


def pdf(html: str) -> bytes:
    """Return the PDF of a self-contained page; the same page gives the same bytes.

    Raises
    ------
    CallError
        If WeasyPrint or a library it needs is not installed; see `lacking`.
    PaperFault
        If the page refers to anything outside itself: a fault of a template.
    """
    if why := lacking():
        raise CallError([Fault("no-pdf", "PDF cannot be made here", advice=why)])
    from weasyprint import HTML
    from weasyprint.urls import FatalURLFetchingError, URLFetcher

    class Nothing(URLFetcher):  # type: ignore[misc]  # weasyprint has no types
        def fetch(self, url: str, headers: Any = None) -> Any:
            raise FatalURLFetchingError(f"a page may refer to nothing outside itself: {url}")

    # A name of its own in place of the random one that a file gets otherwise; a base, so that no address is relative to nothing.
    page = HTML(string=_PHONE_ONLY.sub("", html), url_fetcher=Nothing(), base_url="about:page")
    try:
        return bytes(page.write_pdf(pdf_identifier=b"airwarrant"))
    except FatalURLFetchingError as error:
        raise PaperFault("page-refers-outside", str(error)) from error
