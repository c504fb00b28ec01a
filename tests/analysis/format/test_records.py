"""What the core hands on can't be changed behind anyone's back."""

import dataclasses
import importlib
import pkgutil

import trusses.analysis


def test_every_record_of_the_core_is_frozen():
    records = set()
    for module in pkgutil.walk_packages(trusses.analysis.__path__, "trusses.analysis."):
        records |= {
            value
            for value in vars(importlib.import_module(module.name)).values()
            if isinstance(value, type) and dataclasses.is_dataclass(value)
        }
    assert len(records) > 30
    # what a file keeps to itself while it works is handed on to nobody
    handed_on = {record for record in records if not record.__name__.startswith("_")}
    growing = {record.__name__ for record in handed_on if not record.__dataclass_params__.frozen}
    # on the one a shape is drawn line by line; the other is a way that the search is still on
    assert growing == {"Skeleton", "Line"}
