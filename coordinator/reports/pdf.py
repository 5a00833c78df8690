"""A report, a sign or a week's list as a tagged PDF (PDF/UA-1), in our own fonts, for Letter and A4."""

import json
from dataclasses import asdict
from pathlib import Path

import typst

from .document import Document
from .letters import FONTS, drawable
from .sign import Sign
from .week import Week

HERE = Path(__file__).parent
TEMPLATES = {Document: HERE / "report.typ", Sign: HERE / "sign.typ", Week: HERE / "week.typ"}
PAPERS = {"a4": "a4", "letter": "us-letter"}


def pdf(document: Document | Sign | Week, paper: str) -> bytes:
    """Pages with tags, language and embedded fonts. KeyError for another paper than `a4` or `letter`.

    What people typed goes in as data, so it cannot become markup; a letter that no font of ours has stands as �.
    """
    made: bytes = typst.compile(
        TEMPLATES[type(document)],
        format="pdf",
        pdf_standards="ua-1",
        font_paths=[FONTS],
        ignore_system_fonts=True,
        sys_inputs={"document": json.dumps(drawable(asdict(document))), "paper": PAPERS[paper]},
    )
    return made
