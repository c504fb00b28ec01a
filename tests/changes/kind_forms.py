"""What a person types into the form of each kind of ask, and where that form is."""

from __future__ import annotations

from django.urls import reverse

WHY = {"reason": "The house changed", "key": "one-key"}
TYPED = {
    "load": {
        "what": "air handler",
        "weight": "150",
        "how": "hung",
        "chord": "bottom_chord",
        "shape": "point",
        "along": "10'",
        "shared": "stiff",
        "case": "dead",
        "copies": "2-4",
    },
    "bearing": {"change": "moved", "joint": "C", "along": "19'", "copies": ""},
    "passage": {
        "what": "hatch",
        "through": "ceiling",
        "copy": "2",
        "across": "1'",
        "along": "5'",
        "width": '22"',
        "length": '30"',
        "most_gap": "2'",
    },
    "damage": {"copies": "3", "piece": "W1", "how": "cut", "at": '20"'},
    "question": {"says": "May I hang a swing here?", "along": "3'", "up": '6"'},
}


def address(row, kind):
    return reverse("changes:ask-kind", args=[row.job_id, row.pk, kind])
