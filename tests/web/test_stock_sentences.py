"""No sentence of the framework's own reaches a form: each says what is wrong and what to do in our words."""

import re

import pytest
from django import forms

from web.conftest import Club

STOCK = re.compile(r"Ensure this|Enter a|This field is|Select a valid|valid email|Null characters")


@pytest.mark.parametrize(
    ("field", "typed", "told"),
    [
        (forms.IntegerField(min_value=1950), "26", "Write 1950 or more."),
        (forms.IntegerField(max_value=30), "31", "Write 30 or less."),
        (forms.IntegerField(), "many", "Write a whole number, as 30."),
        (forms.FloatField(), "thick", "Write a number, as 10.5."),
        (forms.CharField(), "", "This is missing. Write it, or choose it."),
        (forms.CharField(max_length=3), "abcd", "That is too long: 4 letters, where 3 have room."),
        (forms.EmailField(), "maud", "Write the address in full, as maud@ulvergarth.invalid."),
        (forms.CharField(), "a\x00b", "There is a sign in it that cannot be kept."),
    ],
)
def test_each_error_says_what_to_do(field: forms.Field, typed: str, told: str) -> None:
    with pytest.raises(forms.ValidationError) as found:
        field.clean(typed)
    assert found.value.messages == [told]


def test_the_forms_a_newcomer_met_say_it_so(club: Club) -> None:
    wrong = {"owner": "U", "code": "UG", "age_limit_years": "x", "inspection_months": "999",
             "label_keeps_back_percent": "31"}  # fmt: skip
    page = club.keeper.post(f"{club.address}/settings", wrong).content.decode()
    assert "Write a whole number, as 30." in page
    assert "Write 30 or less." in page
    assert not STOCK.search(page)
    bought = club.keeper.post(f"{club.address}/new-ropes", {"length": "200", "year_made": "26"}).content.decode()
    assert not STOCK.search(bought)
    signed = club.nobody.post("/sign-in", {"email": "maud", "password": ""}).content.decode()
    assert not STOCK.search(signed)
