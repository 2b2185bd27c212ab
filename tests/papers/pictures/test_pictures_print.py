"""Pictures in the PDF renderer."""

import logging

import pytest

from papers.pictures.samples import HARD, ORDINARY, frame


def test_every_picture_is_drawn_without_complaint(caplog: pytest.LogCaptureFixture) -> None:
    try:
        import weasyprint
    except (ImportError, OSError) as missing:
        pytest.skip(f"the PDF renderer or one of its system libraries is not here: {missing}")
    svgs = [
        s for at, draw in enumerate((*ORDINARY.values(), HARD["profile"], HARD["path"])) for s in draw(frame(f"p{at}"))
    ]
    page = "<!doctype html><html lang='en'><title>t</title><style>svg{max-width:100%;height:auto}</style>" + "".join(
        svgs
    )
    with caplog.at_level(logging.WARNING, "weasyprint"):
        logging.getLogger("weasyprint").addHandler(caplog.handler)
        try:
            pdf = weasyprint.HTML(string=page).write_pdf()
        finally:
            logging.getLogger("weasyprint").removeHandler(caplog.handler)
    assert pdf.startswith(b"%PDF-")
    # A machine without a font for a script is not the picture's fault.
    assert [r.getMessage() for r in caplog.records if "notdef" not in r.getMessage()] == []
