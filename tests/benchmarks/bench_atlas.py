"""The atlas of each mark of the demo: what it costs, what it tells of, and whether the full search confirms it.

    .venv/bin/python tests/benchmarks/bench_atlas.py [MARK…]

Openings are drawn at random, apart from the survey's own grid. Told of: those that webs alone are in the way of and the
atlas promises. Confirmed: those of them, up to 20 a mark, for which the search with its usual limits finds an option
that passes; as small: one that touches no more members than was promised.
"""

from __future__ import annotations

import json
import random
import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from trusses.analysis.clearance.openings import fit, space
from trusses.analysis.format.document import read
from trusses.analysis.format.model import Opening, Truss
from trusses.analysis.redesign.atlas import Atlas
from trusses.analysis.redesign.search import search
from trusses.analysis.redesign.survey import survey
from trusses.demo_set import marks

DRAWN, CHECKED = 400, 20


def drawn(truss: Truss, dice: random.Random) -> Opening:
    (left, right), (low, high) = ((float(xs.min()), float(xs.max())) for xs in truss.xy)
    at = (dice.uniform(left, right), dice.uniform(low, high))
    clearance = dice.choice([0.0, 0.5, 1.0])
    if dice.random() < 0.5:
        return Opening("A9", "circle", at, diameter_in=dice.uniform(3, 16), clearance_in=clearance)
    return Opening("A9", "rectangle", at, dice.uniform(4, 24), dice.uniform(3, 12), clearance_in=clearance)


def main(only: list[str]) -> None:
    print("mark  seconds  searches  ways  kB  web in the way  told of  confirmed  as small  ms a look")
    for mark in marks():
        if only and mark.mark not in only:
            continue
        truss, dice = read(mark.document), random.Random(7)
        began = time.process_time()
        *_, atlas = survey(truss)
        seconds = time.process_time() - began
        atlas = Atlas.read(json.loads(json.dumps(atlas.written)))
        room = space(truss)
        wished = [one for one in (drawn(truss, dice) for _ in range(DRAWN)) if webs_only(room, one)]
        began = time.process_time()
        told = [(one, way) for one in wished if (way := atlas.promise(room, one))]
        each = (time.process_time() - began) / max(len(wished), 1) * 1e3
        confirmed = small = 0
        for one, way in told[:CHECKED]:
            found = [option for option in search(truss, [one]) if option.passes]
            confirmed += bool(found)
            small += any(option.change.size[0] <= way.members for option in found)
        checked = min(len(told), CHECKED)
        size = len(json.dumps(atlas.written)) / 1000
        print(
            f"{mark.mark:<5} {seconds:7.1f}  {len(atlas.asked):8}  {len(atlas.ways):4}  {size:2.0f}  {len(wished):14}"
            f"  {len(told):7}  {confirmed:4}/{checked:<4}  {small:4}/{checked:<3}  {each:9.2f}",
            flush=True,
        )


def webs_only(room: object, opening: Opening) -> bool:
    answer = fit(room, opening)  # type: ignore[arg-type]
    return not (answer.fits or answer.cuts_chord or answer.outside)


if __name__ == "__main__":
    main(sys.argv[1:])
