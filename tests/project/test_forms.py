"""What every form says of a field that is left empty."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module

import pytest
from django import forms

SAID_BY_NOBODY = forms.Field.default_error_messages["required"]


def _all(of: type) -> Iterator[type[forms.Form]]:
    for one in of.__subclasses__():
        yield one
        yield from _all(one)


def test_whatever_can_be_left_empty_says_what_is_wanted():
    """Where something is chosen from the first, nobody leaves it empty; what is hidden no person fills."""
    import_module("project.urls")  # brings every page
    ours = {one for one in _all(forms.BaseForm) if one.__module__.split(".")[0] in ("trusses", "changes", "project")}
    typed = {
        f"{form.__module__} {form.__name__}.{name}": str(field.error_messages["required"])
        for form in ours
        for name, field in form.base_fields.items()
        if field.required and not field.widget.is_hidden and not isinstance(field, forms.ChoiceField)
    }
    assert len(typed) > 30
    assert [name for name, says in typed.items() if says == str(SAID_BY_NOBODY)] == []


@pytest.mark.parametrize("weight", ["", "heavy", "-3", "1e9"])
def test_a_number_that_is_none_or_too_large_says_what_it_may_be(weight):
    from changes.pages.kind_forms import LoadForm

    field = LoadForm.base_fields["weight"]
    with pytest.raises(forms.ValidationError) as refused:
        field.clean(weight)
    assert refused.value.messages == [
        "Say how much it weighs: pounds as a number, such as 350, more than 0 and up to 20,000."
    ]
