"""Text messages: whoever sends them is named in the settings; without one they are written to a file."""

import json
from typing import Protocol

from django.conf import settings
from django.utils.module_loading import import_string


class Backend(Protocol):
    def send(self, to: str, text: str) -> None:
        """Send one text to a number in the form +49151...; raise whatever went wrong, and it is tried again."""


class FileBackend:
    """A line of JSON for each text in the data folder: for trying it out, and for a modem that reads it."""

    def send(self, to: str, text: str) -> None:
        with (settings.DATA_DIR / "texts.jsonl").open("a", encoding="utf-8") as file:
            file.write(json.dumps({"to": to, "text": text}, ensure_ascii=False) + "\n")


def backend() -> Backend:
    found: Backend = import_string(settings.SMS_BACKEND)()
    return found
