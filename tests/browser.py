"""Headless Chromium for tests: the system's own, driven by Playwright, on loopback only."""

import os
from collections.abc import Iterator
from contextlib import contextmanager

from playwright.sync_api import Browser, Page, sync_playwright

# Playwright's own loop runs in this thread, and Django takes it for an asynchronous context.
os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"

FLAGS = [
    "--headless",
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
PHONE = {"width": 390, "height": 844}


@contextmanager
def chromium() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path="/usr/bin/chromium", args=FLAGS)
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def phone(browser: Browser, *, scripts: bool = False) -> Iterator[Page]:
    """A phone held in one hand; without scripts unless told otherwise, since everything works without."""
    context = browser.new_context(viewport=PHONE, java_script_enabled=scripts)  # type: ignore[arg-type]
    context.set_default_timeout(15_000)
    try:
        yield context.new_page()
    finally:
        context.close()
