"""A school's pages in a real browser: signing in by keys, by axe on paper and slate, on a phone."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Page, expect
from tests.book.school import CHIEF, STUDENT
from tests.web.browser import served, shot, sound
from tests.web.school_server import PASSWORD, RULES, furnish

from chalkwing.book import open_book
from chalkwing.web.settings import School, Settings


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("school")
    book = open_book(folder / "book")
    furnish(book, folder)
    book.close()
    with served(folder, Settings(folder=folder, school=School(rules=RULES))) as url:
        yield url


def sign_in(page: Page, address: str, name: str, *, then: str = "") -> None:
    page.goto(address + then)
    page.get_by_label("Your name").fill(name)
    page.keyboard.press("Tab")
    page.keyboard.type(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Sign out")).to_be_visible()


@pytest.mark.parametrize(("ground", "width"), [("light", 1024), ("dark", 1024), ("light", 390)])
def test_axe_finds_nothing_serious_and_nothing_is_broader_than_its_window(
    browser: Browser, address: str, ground: str, width: int
) -> None:
    context = browser.new_context(viewport={"width": width, "height": 768}, color_scheme=ground)  # type: ignore[arg-type]
    page, wrong = context.new_page(), []

    def look(name: str) -> None:
        shot(page, f"account_{name}_{ground}_{width}")
        wrong.extend(f"{name}: {each}" for each in sound(page))
        if page.evaluate("document.documentElement.scrollWidth") > width:
            wrong.append(f"{name} is broader than its window")

    for name in ("sign-in", "invitation"):
        page.goto(address + name)
        look(name)
    sign_in(page, address, CHIEF)
    for name in ("account", "accounts", "audit", "book", "record/1"):
        page.goto(address + name)
        look(name.replace("/", "_"))
    context.close()
    context = browser.new_context(viewport={"width": width, "height": 768}, color_scheme=ground)  # type: ignore[arg-type]
    page = context.new_page()
    sign_in(page, address, STUDENT)
    for name in ("", "student/1", "record/1", "record/2"):
        page.goto(address + name)
        look("student_" + name.replace("/", "_"))
    context.close()
    assert not wrong, "\n".join(wrong)


def test_a_student_signs_in_reads_the_record_and_signs_out_by_keys(page: Page, address: str) -> None:
    sign_in(page, address, STUDENT, then="record/1")
    expect(page.get_by_role("heading", level=1)).to_contain_text(STUDENT)
    page.get_by_role("button", name="Sign out").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("heading", level=1)).to_have_text("Sign in")


def test_a_link_of_the_chief_opens_an_account(browser: Browser, page: Page, address: str) -> None:
    sign_in(page, address, CHIEF, then="accounts")
    row = page.get_by_role("row", name=STUDENT)
    row.get_by_role("button").click()
    said = row.get_by_role("status")
    expect(said).to_contain_text("/invitation#")
    link = said.inner_text().split()[-1]
    context = browser.new_context()
    new = context.new_page()
    new.goto(link)
    assert "#" not in new.url  # the secret stays in no history
    new.get_by_label("Password").fill("nine tall cranes wait")
    new.keyboard.press("Enter")
    expect(new.get_by_role("button", name="Sign out")).to_be_visible()
    context.close()
