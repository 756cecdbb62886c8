"""JSONPath is what RFC 9535 says, and nothing else."""

from __future__ import annotations

import pytest

from pullcall.sources.mqtt.paths import compile_path

#: The prices and titles of the document in RFC 9535, 1.5, figure 1.
STORE = {
    "store": {
        "book": [
            {"title": "Sayings of the Century", "price": 8.95},
            {"title": "Sword of Honour", "price": 12.99},
            {"title": "Moby Dick", "isbn": "0-553-21311-3", "price": 8.99},
            {"title": "The Lord of the Rings", "isbn": "0-395-19395-8", "price": 22.99},
        ],
        "bicycle": {"color": "red", "price": 399},
    }
}
LETTERS = ["a", "b", "c", "d", "e", "f", "g"]


def found(path: str, document: object) -> list[object]:
    return compile_path(path).results(document, 100)


def test_paths_find_what_the_examples_of_the_standard_find() -> None:
    # RFC 9535, 1.5, table 2.
    assert sorted(map(str, found("$.store..price", STORE))) == sorted(
        ["8.95", "12.99", "8.99", "22.99", "399"]
    )
    assert found("$..book[2].title", STORE) == ["Moby Dick"]
    assert found("$..book[-1].title", STORE) == ["The Lord of the Rings"]
    assert found("$..book[?@.isbn].price", STORE) == [8.99, 22.99]
    assert found("$..book[?@.price<10].title", STORE) == ["Sayings of the Century", "Moby Dick"]


def test_indexes_and_slices_find_what_the_examples_of_the_standard_find() -> None:
    # RFC 9535, 2.3.3.3, table 7, and 2.3.4.3, table 9.
    assert found("$[1]", ["a", "b"]) == ["b"]
    assert found("$[-2]", ["a", "b"]) == ["a"]
    assert found("$[1:3]", LETTERS) == ["b", "c"]
    assert found("$[5:1:-2]", LETTERS) == ["f", "d"]


def test_only_so_many_results_are_looked_for() -> None:
    assert compile_path("$[*]").results(LETTERS, 3) == ["a", "b", "c"]


@pytest.mark.parametrize(
    "path", ["temperature", "$.", "$[", "", "$.a | $.b", "$.~a", "$.a.#", " $.a", "$.a "]
)
def test_what_is_no_path_of_the_standard_is_refused(path: str) -> None:
    with pytest.raises(ValueError, match="is no JSONPath of RFC 9535"):
        compile_path(path)


def test_a_path_without_end_is_refused() -> None:
    with pytest.raises(ValueError, match="at most 400"):
        compile_path("$" + ".a" * 500)
    with pytest.raises(ValueError, match="is no JSONPath"):
        compile_path("$" + "[?(" * 130)
