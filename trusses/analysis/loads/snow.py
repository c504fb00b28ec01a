"""The snow builder: balanced and unbalanced snow by ASCE 7 chapter 7, written into a truss document as area loads.

- `balanced`: ps on each plane of the roof, and not less than the least snow on planes under 15°.
- `left`, `right`: gables and hips of 1/2 in 12 to 7 in 12 (§7.6.1), named for the side on which the snow lies. The
  windward side keeps 0.3 ps, the leeward side has ps and the drift's surcharge, a rectangle from the ridge. That is
  the form for all roofs but those of rafters from ridge to eave, so it is the trusses' at any width (values.md §5.3).

Eaves are the ends of the top chord, tails included; the fetch of a drift is the windward side's whole width. The ridge
of a hip truss is taken in the middle of its level top, and the level part has the snow of a level roof, which is no
less than that of the hip's slope above it. A format without factors can't say 0.7 S: for ground snow at strength level
what is written is 0.7 of the code's load, and the document's title says so.

Not built: drifts from other roofs, sliding snow, rain on snow, ice at eaves, partial snow on several spans (§7.5),
curved, folded and sawtooth roofs.
"""

from __future__ import annotations

import copy
from collections.abc import Iterable, Sequence
from typing import Any

from trusses.analysis.format.document import read
from trusses.analysis.format.model import AreaLoad, Truss
from trusses.analysis.format.strict import LIMITS, tidy
from trusses.analysis.loads.roof_planes import Plane, Ridge, Roof, roof_of
from trusses.analysis.loads.snow_rules import DRIFTING, LOW_SLOPE, WINDWARD, Site, SnowError

Document = dict[str, Any]
#: A stretch of the roof with one load: x from, to (inches), psf.
Stretch = tuple[float, float, float]

_SAID = "; snow by "
_HAIR = 1e-6
#: Where the drift beside a ridge is looked for, inches from it, and how much more than even snow is none, a share.
_BESIDE_IN = 6.0
_CLOSE = 1e-3


def write_snow(document: Document, site: Site) -> Document:
    """A copy of `document` with the snow of `site` on its top chord in the place of the snow that stood there.

    Line and point loads of snow stay, as do loads that act alone; the title says what the snow comes from. Writing
    twice is as writing once. Raises DocumentError for a document that is wrong, SnowError for a roof that isn't
    covered here.
    """
    truss = read(document)
    if truss.use == "floor":
        raise SnowError("snow-on-floor")
    roof = roof_of(truss)
    if roof is None:
        raise SnowError("snow-on-broken-chord")
    written = copy.deepcopy(document)
    area = written.setdefault("loads", {}).setdefault("area", [])
    ours = [i for i, load in enumerate(area) if _replaced(load)]
    kept = [load for load in area if not _replaced(load)]
    at = ours[0] if ours else len(kept)
    written["loads"]["area"] = [*kept[:at], *snow_loads(roof, site), *kept[at:]]
    written["title"] = _title(document.get("title", ""), site)
    return written


def snow_loads(roof: Roof, site: Site) -> list[Document]:
    """The area loads of the snow of `site` on `roof`, by pattern. Raises SnowError where the roof has a valley."""
    if not roof.single and roof.ridge is None:
        raise SnowError("snow-in-valley")
    loads = _pattern("balanced", [(p.left, p.right, _balanced(p, site)) for p in roof.planes], roof, site)
    if (ridge := roof.ridge) and drifts(ridge):
        loads += _pattern("left", _unbalanced(roof, ridge, site, leeward=0), roof, site)
        loads += _pattern("right", _unbalanced(roof, ridge, site, leeward=1), roof, site)
    return loads


def drifts(ridge: Ridge) -> bool:
    """Whether §7.6.1 asks for unbalanced snow: a slope of 1/2 in 12 to 7 in 12 on either side of the ridge."""
    least, most = DRIFTING
    return any(least - 1e-4 <= abs(plane.slope) <= most + 1e-4 for plane in ridge.beside)


def lacks_drift(truss: Truss) -> bool:
    """Whether a roof that drifts has snow, and on a side of its ridge none of its arrangements has more of it right
    beside the ridge than the even one: the surcharge of §7.6.1 isn't in it, as where snow was typed.

    Snow from one wall to the other only (roofs on two bearings) is looked at; what acts alone and stands at points or
    lines isn't.
    """
    roof = roof_of(truss)
    ridge = roof.ridge if roof and truss.use == "roof" else None
    snow = [load for load in truss.area_loads if load.case == "snow" and load.chord == "top_chord" and not load.alone]
    if ridge is None or not snow or not drifts(ridge):
        return False
    patterns = {load.pattern for load in snow} - {None} or {None}
    beside = [
        [sum(load.psf for load in snow if load.pattern in (None, name) and _covers(load, x)) for name in patterns]
        for x in (ridge.x - _BESIDE_IN, ridge.x + _BESIDE_IN)
    ]
    # the even one has about as much on both sides; the drift's side has more than that
    even = max(min(left, right) for left, right in zip(*beside, strict=True))
    if even <= 0:
        return False
    # on low slopes even snow is often the code's least snow, and may be more than the drift's side has: there what
    # stays on the windward side tells snow by the code
    low = min(plane.degrees for plane in ridge.beside) < LOW_SLOPE
    return not all(
        any(
            lee > (1 + _CLOSE) * even or (low and 0 < windward <= lee / 2) for lee, windward in zip(*sides, strict=True)
        )
        for sides in (beside, beside[::-1])
    )


def _covers(load: AreaLoad, x: float) -> bool:
    return load.from_x_in <= x <= load.to_x_in


def _balanced(plane: Plane, site: Site) -> float:
    snow = site.sloped_psf(plane.degrees)
    return max(snow, site.least_psf) if plane.degrees < LOW_SLOPE else snow


def _unbalanced(roof: Roof, ridge: Ridge, site: Site, leeward: int) -> list[Stretch]:
    """The stretches with the snow on the left (`leeward` 0) or on the right (1) side of the ridge."""
    shares = [1.0 if side == leeward else WINDWARD for side in (0, 1)]
    stretches = [
        (plane.left, plane.right, share * site.sloped_psf(plane.degrees))
        for half, share in zip(ridge.sides, shares, strict=True)
        for plane in half
    ]
    # the snow comes from the windward side, and its drift lies on the leeward slope
    fetch_ft = abs(roof.eaves[1 - leeward] - ridge.x) / 12
    psf, feet = site.surcharge(fetch_ft, 1 / abs(ridge.beside[leeward].slope))
    start, end = (ridge.x - 12 * feet, ridge.x) if leeward == 0 else (ridge.x, ridge.x + 12 * feet)
    return [*stretches, (max(start, roof.eaves[0]), min(end, roof.eaves[1]), psf)]


def _pattern(name: str, stretches: Sequence[Stretch], roof: Roof, site: Site) -> list[Document]:
    """Area loads of one pattern. Stretches that meet and have one load are one; at the eaves windows stay open."""
    loads = []
    for left, right, psf in _joined(stretches):
        load: Document = {"case": "snow", "chord": "top_chord", "psf": tidy(round(psf * site.asd_share, 2))}
        load |= {"along": "plan", "pattern": name}
        if left > roof.eaves[0] + _HAIR:
            load["from_x_in"] = tidy(round(left, 4))
        if right < roof.eaves[1] - _HAIR:
            load["to_x_in"] = tidy(round(right, 4))
        if load["psf"] > 0:
            loads.append(load)
    return loads


def _joined(stretches: Iterable[Stretch]) -> list[Stretch]:
    joined: list[Stretch] = []
    for left, right, psf in stretches:
        if joined and abs(joined[-1][1] - left) < _HAIR and abs(joined[-1][2] - psf) < _HAIR:
            joined[-1] = (joined[-1][0], right, psf)
        else:
            joined.append((left, right, psf))
    return joined


def _replaced(load: Document) -> bool:
    return load["case"] == "snow" and load["chord"] == "top_chord" and "acts" not in load


def _title(title: str, site: Site) -> str:
    """The title with where the snow comes from, in the place of what it said about that before."""
    own = title.split(_SAID)[0]
    said = f"{own}{_SAID}{site}" if own else f"Truss{_SAID}{site}"
    if len(said) > LIMITS.text:
        raise SnowError("snow-title", "title", over=len(said) - LIMITS.text)
    return said
