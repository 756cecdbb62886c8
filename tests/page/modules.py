"""The page's modules alone, to be called one by one."""

from __future__ import annotations

from playwright.sync_api import Browser, Page

from pullcall.api.pages import PAGE


def page_of_modules(browser: Browser) -> Page:
    """A page that has the modules, and nothing of the site."""
    page = browser.new_page()
    page.route(
        "http://modules.test/**",
        lambda route: route.fulfill(
            body=(PAGE / name).read_text() if (name := route.request.url.split("/")[-1]) else "",
            content_type="text/javascript" if name else "text/html",
        ),
    )
    page.goto("http://modules.test/")
    return page
