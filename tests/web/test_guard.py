"""Who may call the server, how much they may send, and what a page may load."""

from __future__ import annotations

import pytest
from starlette.testclient import TestClient
from tests.web.conftest import ADDRESS, Visitor, some_assets, visitor

from chalkwing.web.app import create_app
from chalkwing.web.settings import Settings
from chalkwing.web.shelf import shown_name


def test_pages_allow_nothing_inline_and_nothing_from_elsewhere(desk):
    answer = desk.client.get("/")
    policy = answer.headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "unsafe" not in policy
    assert "frame-ancestors 'none'" in policy
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert " style=" not in answer.text
    assert "<style" not in answer.text
    for part in answer.text.split("<script")[1:]:
        assert part.startswith(' type="module" src="/assets/')


def test_lesson_pages_have_no_inline_style_or_handler(desk, lesson):
    for url in (lesson, f"{lesson}/maneuver/1"):
        text = desk.page(url).text
        assert " style=" not in text
        assert "<style" not in text
        assert " onclick=" not in text
        for part in text.split("<script")[1:]:
            assert part.startswith((' type="module" src="/assets/', ' type="application/json"'))


def test_a_foreign_name_is_refused(desk):
    assert desk.client.get("/", headers={"host": "evil.example"}).status_code == 421


@pytest.mark.parametrize(
    "headers",
    [
        {"origin": "http://evil.example"},
        {"origin": "null"},
        {"sec-fetch-site": "cross-site"},
        {"x-chalkwing-token": ""},
        {"x-chalkwing-token": "0" * 64},
    ],
)
def test_a_write_from_elsewhere_or_without_its_token_is_refused(desk, headers):
    assert desk.put("a.csv", b"x", **headers).status_code == 403
    assert desk.post("/lessons", {}, **headers).status_code == 403


def test_a_token_of_another_session_is_refused(desk):
    other = TestClient(desk.client.app, base_url=ADDRESS)
    other.get("/")
    assert Visitor(other, desk.token).put("a.csv", b"x").status_code == 403


def test_bodies_are_bounded(desk):
    answer = desk.post("/lessons", {"files": "x" * 100_000})
    assert answer.status_code == 413

    def streamed():
        for _ in range(100):
            yield b" " * 1024

    answer = desk.client.post("/lessons", content=streamed(), headers={"x-chalkwing-token": desk.token})
    assert answer.status_code == 413


@pytest.fixture(scope="module")
def small(tmp_path_factory):
    settings = Settings(folder=tmp_path_factory.mktemp("small"), file_bytes=1000, files=2, kept_bytes=1500)
    app = create_app(settings, assets=some_assets(tmp_path_factory.mktemp("assets")))
    # Without its lifespan: nothing here needs a process.
    return visitor(TestClient(app, base_url=ADDRESS))


def test_uploads_are_bounded_in_size_count_and_sum(small):
    assert small.put("large.csv", b"x" * 1001).status_code == 413
    stored = [small.put(f"{k}.csv", bytes([65 + k]) * 700).json() for k in range(2)]
    assert small.put("more.csv", b"m" * 700).status_code == 507
    assert small.post("/lessons", {"files": stored * 2, "standard": "commercial"}).status_code == 400
    assert small.put("empty.csv", b"").status_code == 400


def test_a_lesson_is_made_of_what_is_kept_here(small):
    for digest in ("../../etc/passwd", "0" * 64, "", 5):
        files = [{"sha256": digest, "name": "a"}]
        assert small.post("/lessons", {"files": files, "standard": "commercial"}).status_code == 400
    assert small.post("/lessons", {"files": [], "standard": "commercial"}).status_code == 400
    assert small.post("/lessons", {"files": [], "standard": "none"}).status_code == 400
    assert small.post("/lessons", [1]).status_code == 400


def test_no_name_is_a_path(small):
    stored = small.put("../../../tmp/evil.csv", b"name")
    assert stored.json()["name"] == "evil.csv"
    for url in ("/lesson/..%2F..%2Fetc", "/lesson/0123456789abcdef", "/assets/../app.py", "/nothing"):
        assert small.client.get(url).status_code == 404
    assert shown_name("a\x00b\n.csv") == "ab.csv"


def test_refusals_are_pages_for_people_and_plain_data_for_scripts(small):
    page = small.page("/lesson/0123456789abcdef")
    assert page.status_code == 404
    assert "That did not work" in page.text
    plain = small.client.get("/lesson/0123456789abcdef")
    assert set(plain.json()["error"]) == {"what", "where", "next"}
