"""Why damage can't be in a truss."""

from __future__ import annotations

from collections.abc import Mapping

from trusses.analysis.words.phrases import Says

DAMAGE: Mapping[str, Says] = {
    "damage-no-member": "{mark} has no member {member:text}.",
    "damage-beyond-member": "{at_in:feet} is not on {member}, a member of {length_in:feet}.",
    "damage-upright-chord": "{member} is upright: name its damage on the chord beside it.",
}
