"""One pail through every room: from a clean clone and its first command to the month in grams.

The product is started as its users start it, `sh deploy/start` in a clone, once on SQLite and once on
PostgreSQL as the app role; the browser is a phone without scripts.
"""

import datetime as dt
import os
import re
import subprocess
from collections.abc import Iterator
from pathlib import Path
from urllib.parse import urlsplit

import psycopg
import pytest
from playwright.sync_api import Page, expect

from .browser import chromium, phone
from .running import CHECKOUT, Product, clean_environment, wait_until

pytestmark = [pytest.mark.line, pytest.mark.browser]


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """What somebody gets who clones the repository: committed files and nothing else."""
    folder = tmp_path_factory.mktemp("clone") / "drums"
    subprocess.run(["git", "clone", "--quiet", str(CHECKOUT), str(folder)], check=True)
    return folder


@pytest.fixture(params=["SQLite", "PostgreSQL"])
def environment(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[dict[str, str]]:
    """What the product is told: a data folder; and on PostgreSQL where its two roles are."""
    told = {"DATA_DIR": str(tmp_path / "data")}
    if request.param == "SQLite":
        yield told
        return
    name = "line"
    with psycopg.connect(os.environ["TEST_SUPER_DATABASE_URL"], autocommit=True) as server:
        server.execute(f"DROP DATABASE IF EXISTS {name}")
        server.execute(f"CREATE DATABASE {name} OWNER owner")
        yield told | {
            "DATABASE_URL": _database(os.environ["TEST_APP_DATABASE_URL"], name),
            "OWNER_DATABASE_URL": _database(os.environ["TEST_DATABASE_URL"], name),
        }
        server.execute(f"DROP DATABASE {name} WITH (FORCE)")


def _database(url: str, name: str) -> str:
    return urlsplit(url)._replace(path=f"/{name}").geturl()


@pytest.mark.long
def test_one_pail_goes_through_every_room(clone: Path, environment: dict[str, str]) -> None:
    with Product(clone, environment) as product:
        product.wait_until_ready(300)
        with chromium() as browser, phone(browser) as page:
            # The sign on a drum of the invented block answers whoever stands before it.
            page.goto(product.url)
            page.get_by_role("link", name="invented block").first.click()
            expect(page.get_by_role("heading", level=1)).to_be_visible()

            sign_up(page, product)
            drum = set_up_own_block(page)

            page.goto(drum)
            expect(page.get_by_role("heading", level=1)).to_contain_text("hatch A")
            page.get_by_role("link", name="Log a pail").click()
            page.locator("main form button").first.click()
            expect(page.get_by_role("heading", level=1)).to_be_visible()

            for _ in range(2):
                page.goto(address(page, "today/"))
                visit_with_the_hatch_three_quarters_full(page)

            the_night_passes(clone, environment, product)
            page.goto(address(page, "today/"))
            expect(page.get_by_role("heading", level=1)).to_contain_text("tag")
            page.get_by_role("button", name="Tag moved").click()
            expect(page.get_by_text("Hatch B is open now")).to_be_visible()
            page.goto(drum)
            expect(page.get_by_role("heading", level=1)).to_contain_text("hatch B")

            # One counted pail: 8 L at 0.45 kg/L, so 3,600 g.
            page.goto(address(page, "month/"))
            expect(page.locator("main")).to_contain_text(re.compile(r"3[,.\s]?600"))
        code = product.stop()
        assert code == 0


def address(page: Page, rest: str) -> str:
    """An address within the building that the page is in."""
    found = re.match(r"(https?://[^/]+/b/[0-9a-f-]{36}/)", page.url)
    assert found, page.url
    return found[1] + rest


def sign_up(page: Page, product: Product) -> None:
    """By mailed code; without a mail server the mail is printed where the service was started."""
    page.goto(f"{product.url}/sign-up/")
    page.get_by_label("e-mail", exact=False).fill("ottilie@quince-court.invalid")
    page.locator("main form button").first.click()
    code = re.compile(r"^([A-Z0-9]{3,8}(?:-[A-Z0-9]{3,8})?)\s*$", re.M)
    wait_until(lambda: bool(code.search(product.said())), timeout=30, what=product.said)
    found = code.search(product.said())
    assert found
    page.locator("input[name=code]").fill(found[1])
    page.locator("main form button").first.click()
    expect(page.locator("form[action*='sign-out']")).to_be_visible()


def set_up_own_block(page: Page) -> str:
    """The first questions; gives the address of the first drum's sign."""
    page.goto(f"{'/'.join(page.url.split('/')[:3])}/setup/")
    page.locator("[name=name]").fill("Quince Court")
    page.locator("[name=time_zone]").select_option("Europe/Berlin")
    page.locator("[name=units][value=metric]").check()
    page.locator("main form button").last.click()
    page.locator("[name=household]").fill("Flat 1")
    for heading in ("Which drums", "What is in each half", "How big are your pail", "Where shall scraps go"):
        page.locator("main form button").last.click()
        expect(page.get_by_role("heading", level=1)).to_contain_text(heading)
    page.locator("[name=fallback]").fill("the brown bin by the gate")
    page.locator("main form button").last.click()
    expect(page.get_by_role("heading", level=1)).to_contain_text("The first pail can come")
    page.goto(address(page, ""))
    link = page.locator("a[href*='/d/']").first.get_attribute("href")
    assert link
    return "/".join(page.url.split("/")[:3]) + re.sub(r"sign/$", "", link)


def visit_with_the_hatch_three_quarters_full(page: Page) -> None:
    form = page.locator("form:has(input[name=level])").first
    form.locator("input[name=turned][value=yes]").check()
    form.locator("input[name=level][value=three_quarters]").check()
    form.get_by_role("button").last.click()
    expect(page.get_by_text("The visit is written down.")).to_be_visible()


def the_night_passes(clone: Path, environment: dict[str, str], product: Product) -> None:
    """The same jobs as the running service's, by a clock that is a day ahead."""
    tomorrow = dt.datetime.now(dt.UTC) + dt.timedelta(days=1)
    told = clean_environment(environment | {"PORT": str(product.port)})
    command = [str(clone / ".venv/bin/python"), "manage.py", "jobs", "--as-of", tomorrow.isoformat()]
    done = subprocess.run(command, cwd=clone, env=told, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr
