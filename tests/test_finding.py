"""What a person is told of a value that cannot be."""

from __future__ import annotations

from typing import Annotated, Any, Literal

import pytest
from pydantic import BaseModel, Field, ValidationError

from pullcall.finding import sentence


class Told(BaseModel):
    """One field of each kind that settings and the API have."""

    port: Annotated[int, Field(ge=1, le=65535)] = 1
    thickness_mm: Annotated[float, Field(ge=5, le=120, allow_inf_nan=False)] = 5.0
    for_s: Annotated[float, Field(gt=0, lt=600)] = 1.0
    is_on: bool = True
    rest_on: Literal["rack", "board"] = "rack"
    by: Annotated[str, Field(min_length=1, max_length=5)] = "x"
    tags: Annotated[tuple[str, ...], Field(max_length=2)] = ()


@pytest.mark.parametrize(
    "given, told",
    [
        ({"port": "eighty"}, "write a whole number, not 'eighty'"),
        ({"port": 80.5}, "write a whole number, not 80.5"),
        ({"port": "9" * 50}, "it must be 65535 or less"),
        ({"port": "x" * 50}, "write a whole number"),
        ({"port": 0}, "it must be 1 or more"),
        ({"thickness_mm": 500}, "it must be 120 mm or less"),
        ({"thickness_mm": "thick"}, "write a number of mm, not 'thick'"),
        ({"thickness_mm": "nan"}, "write a finite number of mm, not 'nan'"),
        ({"for_s": 0}, "it must be more than 0 s"),
        ({"for_s": 600}, "it must be less than 600 s"),
        ({"is_on": "perhaps"}, "write true or false"),
        ({"rest_on": "towel"}, "write 'rack' or 'board'"),
        ({"by": ""}, "write something"),
        ({"by": "somebody"}, "write 5 characters at most"),
        ({"by": 5}, "write a text"),
        ({"tags": ["a", "b", "c"]}, "give 2 at most"),
        ({"tags": 1}, "write a list"),
    ],
)
def test_it_says_what_to_write_with_the_unit(given: dict[str, Any], told: str) -> None:
    with pytest.raises(ValidationError) as refused:
        Told.model_validate(given)
    assert [sentence(dict(error)) for error in refused.value.errors()] == [told]


def test_what_was_given_in_place_of_a_text_is_not_repeated() -> None:
    """It may be a secret."""
    with pytest.raises(ValidationError) as refused:
        Told.model_validate({"by": 123456})
    assert "123456" not in sentence(dict(refused.value.errors()[0]))
