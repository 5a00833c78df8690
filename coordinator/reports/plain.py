"""The parts of pages that paper shares, as plain text."""

from html import unescape
from typing import Any

from django.template.loader import render_to_string
from django.utils.html import strip_tags


def lines_of(template: str, **context: Any) -> tuple[str, ...]:
    """Its lines without marks, in the language that is active. What was typed comes out as it was typed."""
    lines = unescape(strip_tags(render_to_string(template, context))).splitlines()
    return tuple(line.strip() for line in lines if line.strip())
