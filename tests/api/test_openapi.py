"""The committed OpenAPI file is the API as it is."""

from __future__ import annotations

from pullcall.api.openapi import FILE, text


def test_the_committed_description_is_up_to_date() -> None:
    assert FILE.read_text(encoding="utf-8") == text(), (
        "the API changed: run `python -m pullcall.api.openapi` and commit the file"
    )


def test_it_is_openapi_3_1() -> None:
    assert '"openapi": "3.1' in text()
