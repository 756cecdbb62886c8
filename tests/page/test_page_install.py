"""The page as an app: its manifest, its worker, a reload with a dead link, the screen's lock."""

from __future__ import annotations

import json
import re
import shutil
from pathlib import Path
from typing import Any

import httpx
import pytest
from playwright.sync_api import Page, expect

from pullcall.api import pages
from tests.page.patience import pass_time
from tests.page.visit import Open, Visit

pytestmark = pytest.mark.integration

CACHES = """async () => {
  const paths = async (name) =>
    (await (await caches.open(name)).keys()).map(({ url }) => new URL(url).pathname);
  const names = await caches.keys();
  return Object.fromEntries(await Promise.all(names.map(async (one) => [one, await paths(one)])));
}"""
ACTIVE = (
    "navigator.serviceWorker.getRegistration().then((one) => one?.active?.state === 'activated')"
)
LOADED = "performance.getEntriesByType('resource').map(({ name }) => new URL(name).pathname)"


def _installed(seen: Visit) -> dict[str, list[str]]:
    """The caches, once the worker has taken its files in."""
    seen.until(ACTIVE)
    caches: dict[str, list[str]] = seen.page.evaluate(CACHES)
    return caches


def _versions(seen: Visit) -> set[str]:
    """The versions of the files that the page is made of."""
    loaded = " ".join(seen.page.evaluate(LOADED))
    return set(re.findall(r"/page/(v-[0-9a-f]+)/", loaded))


def test_the_manifest_names_icons_that_are_there_with_their_sizes(visit: Open) -> None:
    seen = visit(at=80)
    base = f"http://127.0.0.1:{seen.port}/"
    href = seen.page.locator("link[rel=manifest]").get_attribute("href")
    answer = httpx.get(f"{base}{href}")
    assert answer.headers["content-type"] == "application/manifest+json"
    manifest = answer.json()
    assert (manifest["name"], manifest["display"]) == ("Pullcall", "standalone")
    # What Chromium asks of an app: a PNG of 192 and of 512, here also one that may be cut round.
    wanted = {("192x192", "any"), ("512x512", "any"), ("192x192", "maskable")}
    found = {(icon["sizes"], icon.get("purpose", "any")) for icon in manifest["icons"]}
    assert wanted <= found
    size = (
        "(src) => new Promise((done) => { const i = new Image(); i.src = src; "
        "i.onload = () => done([i.naturalWidth, i.naturalHeight]); i.onerror = () => done(null); })"
    )
    for icon in manifest["icons"]:
        side = seen.page.evaluate(size, f"{base}{icon['src']}")
        assert side, icon["src"]
        if icon["sizes"] != "any":
            assert f"{side[0]}x{side[1]}" == icon["sizes"]
    assert seen.complaints == []


def test_the_browser_finds_nothing_that_keeps_the_page_from_being_installed(visit: Open) -> None:
    seen = visit(at=80, worker=True)
    _installed(seen)
    session = seen.page.context.new_cdp_session(seen.page)
    found = session.send("Page.getAppManifest")
    assert found["errors"] == []
    session.send("Page.enable")
    errors = session.send("Page.getInstallabilityErrors")["installabilityErrors"]
    # A context of a test is a private window, which installs nothing whatever the page is like.
    assert [one["errorId"] for one in errors if one["errorId"] != "in-incognito"] == []


def test_the_worker_keeps_the_pages_own_files_and_never_what_the_site_says(visit: Open) -> None:
    seen = visit(at=80, worker=True)
    ((name, kept),) = _installed(seen).items()
    (version,) = _versions(seen)
    assert name == f"pullcall-{version}"
    assert {"/", "/logbook"} <= set(kept)
    assert set(seen.page.evaluate(LOADED)) - {"/manifest.webmanifest"} - {
        path for path in seen.page.evaluate(LOADED) if path.startswith("/api/")
    } <= set(kept)
    assert not [path for path in kept if path.startswith("/api/")]
    assert {path for path in kept if path not in ("/", "/logbook")} == {
        path for path in kept if path.startswith(f"/page/{version}/")
    }
    assert seen.complaints == []


LOOKING = re.compile(r"^Looking for the site… Last heard \d+ s ago\.$")


def _schedule(seen: Visit, in_s: float) -> None:
    due = seen.site.t + in_s
    entry = {"steaks": ["left"], "call": "pull_soon", "due_t": due, "priority": 1,
             "text": "Left: pull in about 40"}  # fmt: skip
    seen.site.plan_calls(entry)
    seen.until("sessionStorage.getItem('pullcall.last').includes('pull_soon')")


@pytest.mark.parametrize("is_hanging", [False, True], ids=["refused", "hanging"])
def test_a_page_reloaded_with_a_dead_link_is_shown_and_sounds_the_calls_it_knew(
    visit: Open, is_hanging: bool
) -> None:
    seen = visit(at=440, worker=True)
    _installed(seen)
    _schedule(seen, 20)
    due = seen.site.schedule[0]["due_t"]
    if is_hanging:
        seen.site.hanging = True
    else:
        seen.stop()
    seen.page.reload()
    # What is shown is old, and nothing sounds before the arming tap: both are said.
    expect(seen.page.locator("#notice.lost")).to_have_text(LOOKING)
    expect(seen.lane("Left")).to_have_attribute("data-lost", "")
    expect(seen.lane("Left").locator(".rise")).to_have_text(re.compile(r"^Last heard \d+ s ago$"))
    expect(seen.lane("Left").locator(".curve")).not_to_contain_text("No readings yet")
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    expect(seen.lane("Left").locator(".digits")).to_have_text(re.compile(r"\d"))
    seen.arm()
    seen.until("window.heardCalls.some((c) => c.call === 'pull_soon' && c.audible)")
    # The cook's clock went on over the reload: the call came when it was due, not at once.
    assert seen.site.t >= due
    expect(seen.page.get_by_role("alert")).to_contain_text("Left: pull in about 40")
    expect(seen.page.locator("#notice")).to_contain_text("ago. Known calls sound.")


def test_what_was_known_gives_way_to_the_site_once_it_answers(visit: Open) -> None:
    seen = visit(at=440, worker=True)
    _installed(seen)
    _schedule(seen, 300)
    seen.site.silent = True
    seen.page.reload()
    expect(seen.page.locator("#notice")).to_contain_text("Looking for the site…")
    seen.site.take("off", "left")
    seen.site.silent = False
    expect(seen.lane("Left").locator(".phase")).to_have_text("resting")
    expect(seen.page.locator("#notice")).to_be_hidden()


def test_another_version_is_never_mixed_with_the_one_that_was_kept(
    visit: Open, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    copy = tmp_path / "page"
    shutil.copytree(pages.PAGE, copy)
    monkeypatch.setattr(pages, "PAGE", copy)
    seen = visit(at=80, worker=True)
    (before,) = _installed(seen)
    words = copy / "words.js"
    words.write_text(words.read_text(encoding="utf-8") + "// another\n", encoding="utf-8")
    seen.page.reload()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    (after,) = _versions(seen)
    assert f"pullcall-{after}" != before
    # With the link dead, the page is the new one as soon as its worker has taken it in whole.
    seen.until(f"caches.keys().then((names) => names.includes('pullcall-{after}'))")
    seen.until("navigator.serviceWorker.getRegistration().then((r) => !r.installing && !r.waiting)")
    seen.stop()
    seen.page.reload()
    expect(seen.lane("Left").locator(".core")).to_contain_text("°F")
    assert _versions(seen) == {after}
    assert set(_installed(seen)) == {before, f"pullcall-{after}"}


def test_without_a_worker_the_page_works_all_the_same(visit: Open) -> None:
    # As over plain http, or with a certificate that the phone does not trust.
    absent = "Object.defineProperty(Navigator.prototype, 'serviceWorker', { value: undefined })"
    seen = visit(at=80, before=lambda page: page.add_init_script(absent))
    seen.arm()
    pass_time(seen.page, 4500)
    expect(seen.lane("Left").locator(".digits")).to_have_text(re.compile(r"\d"))
    assert seen.complaints == []


LOCK = """
window.locks = [];
Object.defineProperty(Navigator.prototype, "wakeLock", { value: { request: async () => {
  const lock = Object.assign(new EventTarget(), { release: async () => {} });
  window.locks.push(lock);
  return lock;
} } });
"""


def _ways(seen: Visit) -> Any:
    seen.page.get_by_role("button", name="Menu").click()
    return seen.page.locator(".ways")


def test_the_screen_is_kept_on_again_when_the_page_comes_back(visit: Open) -> None:
    seen = visit(at=80, before=lambda page: page.add_init_script(LOCK))
    seen.until("window.locks.length === 1")
    ways = _ways(seen)
    expect(ways).to_contain_text("Screen stays on: yes")
    seen.page.evaluate("window.locks[0].dispatchEvent(new Event('release'))")
    expect(ways).to_contain_text("Screen stays on: not yet")
    seen.page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(ways).to_contain_text("Screen stays on: yes")
    assert seen.page.evaluate("window.locks.length") == 2


@pytest.mark.parametrize(
    ("lock", "words"),
    [
        ("{ value: undefined }", "not allowed on this address (trust the certificate)"),
        ("{ value: { request: () => Promise.reject(new Error()) } }", "no, this phone refuses"),
    ],
)
def test_the_menu_says_why_the_screen_does_not_stay_on(visit: Open, lock: str, words: str) -> None:
    script = f"Object.defineProperty(Navigator.prototype, 'wakeLock', {lock})"

    def before(page: Page) -> None:
        page.add_init_script(script)

    expect(_ways(visit(at=80, before=before))).to_contain_text(f"Screen stays on: {words}")


def test_what_is_kept_for_a_reload_holds_no_curve_and_no_secret(visit: Open) -> None:
    seen = visit(at=300)
    seen.until("sessionStorage.getItem('pullcall.last') !== null")
    kept = json.loads(seen.page.evaluate("sessionStorage.getItem('pullcall.last')"))
    assert not any("curve" in steak for steak in kept["steaks"])
    assert seen.page.evaluate("localStorage.getItem('pullcall.last')") is None
