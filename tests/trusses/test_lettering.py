"""Letters of a run's crossings: each has its own, on no wood, sign or letter, and it is plain which it names."""

from __future__ import annotations

import itertools
import math
import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from tests.trusses.test_level import SVG, cross, demo
from trusses.demo_set import FLOOR, ROOF
from trusses.drawing.text import width_of
from trusses.plan.level import CopyLine, Level, Wall, draw, draw_over, taken
from trusses.plan.overlays import Met, Path

VERDICTS = ("fits", "moves", "redesign", "never")
SIGN = 7


def row(count: int, apart: float, span: float = 360.0, *, along: str = "y", at=(0.0, 0.0), mark="R1") -> list[CopyLine]:
    """Copies side by side: along x a stack that grows upward, else a row that grows to the right."""
    lines = []
    for i in range(count):
        x, y = (at[0], at[1] + i * apart) if along == "x" else (at[0] + i * apart, at[1])
        end = (x + span, y) if along == "x" else (x, y + span)
        lines.append(CopyLine(mark, i + 1, i + 1, (x, y), end, i % 3 > 0, "said", "/t/"))
    return lines


def level(copies: list[CopyLine], scale: float | None = None) -> Level:
    xs = [x for one in copies for x, _ in (one.start, one.end)]
    ys = [y for one in copies for _, y in (one.start, one.end)]
    south, north = ((min(xs) - 12, y) for y in (min(ys), max(ys)))
    walls = [Wall("south wall", (south, (max(xs) + 12, min(ys)))), Wall("north wall", (north, (max(xs) + 12, max(ys))))]
    return Level("Roof", walls, copies, (), 0, scale)


def run(there: Level, *points, wide: float = 14.0, name: str = "Trunk") -> Path:
    """A run with a letter at each copy that it crosses, in its own order."""
    met, gone = [], 0.0
    for a, b in itertools.pairwise(points):
        for one in there.copies:
            (x, y), (u, v) = one.start, one.end
            k = 1 if x == u else 0  # along this axis the copy runs
            if a[1 - k] == b[1 - k]:
                continue
            t = (one.start[1 - k] - a[1 - k]) / (b[1 - k] - a[1 - k])
            place = a[k] + (b[k] - a[k]) * t
            if 0 <= t <= 1 and min((x, y)[k], (u, v)[k]) <= place <= max((x, y)[k], (u, v)[k]):
                met.append((gone + t * math.dist(a, b), (place, one.start[1]) if k == 0 else (one.start[0], place)))
        gone += math.dist(a, b)
    called = (f"{a}{b}".strip() for a in " ABC" for b in "ABCDEFGHIJKLMNOPQRSTUVWXYZ")
    ordered = [Met(letter, at, VERDICTS[i % 4]) for i, (letter, (_, at)) in enumerate(zip(called, sorted(met)))]  # noqa: B905
    return Path(name, points, wide, ordered, "/r/")


def through(a, b, box) -> bool:
    """Whether a line comes inside a box: it does where some of its length is left between all four sides."""
    first, last = 0.0, 1.0
    for k in (0, 1):
        by = b[k] - a[k]
        if by == 0:
            if not box[k] < a[k] < box[k + 2]:
                return False
            continue
        low, high = sorted(((box[k] - a[k]) / by, (box[k + 2] - a[k]) / by))
        first, last = max(first, low), min(last, high)
    return first < last


def pairs(line):
    points = [tuple(map(float, one.split(","))) for one in line.get("points").split()]
    return list(itertools.pairwise(points))


def text_box(text):
    """About its letters, capitals' height."""
    size, x, y = float(text.get("font-size")), float(text.get("x")), float(text.get("y"))
    wide = width_of(text.text, size) / 2
    if turn := text.get("transform"):
        x, middle = map(float, turn.removeprefix("rotate(-90 ").rstrip(")").split())
        return x - size * 0.36, middle - wide, x + size * 0.36, middle + wide
    return x - wide, y - size * 0.73, x + wide, y


def middle(box):
    return (box[0] + box[2]) / 2, (box[1] + box[3]) / 2


def place_of(sign):
    """A sign's middle, whatever its form."""
    if sign.get("cx"):
        return float(sign.get("cx")), float(sign.get("cy"))
    if sign.get("points"):
        return middle((*pairs(sign)[0][0], *pairs(sign)[1][1]))
    x, y = sign.get("d").removeprefix("M").split("h")[0].split()
    return float(x) + 5.5, float(y) + 5.5


def told(there: Level, paths, *, live: bool = False, close: bool = False, own: float = SIGN) -> int:
    """Looks at every crossing's letter; how many stand on a ground of their own. `live`: over the level as it stands;
    `close`: signs stand closer than a leader can go between; `own`: signs within this of its own it may run over."""
    under = ET.fromstring(draw(replace(there, paths=() if live else paths)))
    sheets = [under, ET.fromstring(draw_over(there, paths, taken(there)))] if live else [under]
    crossings = [one for one in sheets[-1].iter(f"{SVG}g") if one.get("class") == "crossing"]
    letters = [one.find(f"{SVG}text[@class='letter']") for one in crossings]
    assert [one.text for one in letters] == [met.letter for path in paths for met in path.met]
    signs = [place_of(next(one for one in held if "sign" in (one.get("class") or ""))) for held in crossings]
    texts = [one for sheet in sheets for one in sheet.iter(f"{SVG}text")]
    lines = [
        ((float(one.get("x1")), float(one.get("y1"))), (float(one.get("x2")), float(one.get("y2"))))
        for one in under.iter(f"{SVG}line")
    ]
    for sheet in sheets:
        for one in sheet.iter(f"{SVG}polyline"):
            if one.get("class") != "run-band":
                lines += pairs(one)
    wide, high = (float(sheets[-1].get(name)) for name in ("width", "height"))
    boxes = [text_box(one) for one in texts]
    grounds = 0
    for held, letter, at in zip(crossings, letters, signs, strict=True):
        box, leader = text_box(letter), held.find(f"{SVG}polyline[@class='leader']")
        assert 0 < box[0] < box[2] < wide, letter.text
        assert 0 < box[1] < box[3] < high, letter.text
        others = [one for text, one in zip(texts, boxes, strict=True) if text is not letter]
        assert not any(cross(box, one) for one in others), f"{letter.text} lies on letters"
        for x, y in signs:
            assert not cross(box, (x - SIGN, y - SIGN, x + SIGN, y + SIGN)), f"{letter.text} lies on a sign"
        if held.find(f"{SVG}rect") is not None:
            grounds += 1
        else:
            assert not any(through(a, b, box) for a, b in lines), f"{letter.text} lies on a line"
        if leader is None:
            mine = math.dist(middle(box), at)
            far = [math.dist(middle(box), one) for one in signs if math.dist(one, at) > 1]
            assert mine < min([*(one - 1 for one in far), 60]), f"{letter.text} may be another's"
        else:
            (start, _), (_, end) = pairs(leader)[0], pairs(leader)[-1]
            assert abs(math.dist(start, at) - SIGN) < 0.5, letter.text
            assert math.dist(end, middle(box)) < 16, letter.text
            for a, b in pairs(leader) if held.find(f"{SVG}rect") is None else ():
                assert not any(through(a, b, one) for one in others), f"the leader of {letter.text} is on letters"
                for x, y in signs:
                    near = math.dist((x, y), at) <= own or close
                    assert near or not through(a, b, (x - 5, y - 5, x + 5, y + 5)), letter.text
    return grounds


@pytest.mark.parametrize("live", [False, True], ids=["drawn", "live"])
def test_every_crossing_of_the_demo_s_runs_has_its_letter(live):
    roof, floor = demo(ROOF), demo(FLOOR)
    trunk = run(roof, (12, 126), (706, 126), wide=16)
    assert len(trunk.met) == 29
    assert trunk.met[-1].letter == "AC"
    around = run(roof, (12, 126), (708, 126), (708, 12), (960, 12), (960, 276), wide=16)
    plenum = run(roof, (144, 452), (144, 640), wide=62)
    drain = run(floor, (8, 60), (216, 60), wide=4.5)
    near = run(roof, (12, 136), (706, 136), wide=8)
    skew = run(roof, (12, 40), (706, 300), wide=8)
    both = [[trunk], [around], [plenum], [trunk, near], [trunk, skew], [skew, around]]
    for there, paths in [*((roof, one) for one in both), (floor, [drain])]:
        assert all(path.met for path in paths)
        assert told(there, paths, live=live) == 0


@pytest.mark.parametrize("apart", [6, 8, 12, 16, 19.2, 24])
@pytest.mark.parametrize("count", [1, 2, 9, 27, 60])
def test_every_crossing_has_its_letter_however_close_trusses_stand(apart, count):
    for along, across in (("y", (1, 0)), ("x", (0, 1))):
        there = level(row(count, apart, along=along))
        end = (count - 1) * apart + 9

        def at(gone, aside, across=across):
            return tuple(gone * k + aside * (1 - k) for k in across)

        straight = run(there, at(-9, 150), at(end, 150))
        lean = run(there, at(-9, 60), at(end, 290), wide=6)
        low = run(there, at(-9, 9), at(end, 9), wide=4)
        assert len(straight.met) == count
        for paths in ([straight], [lean], [low], [straight, lean]):
            assert told(there, paths) == 0
        assert told(there, [straight], live=True) == 0


@pytest.mark.parametrize("close", [3, 6, 10, 20])
def test_runs_close_beside_each_other_have_a_letter_at_each_crossing(close):
    there = level(row(30, 24))
    first, second = (run(there, (-9, y), (705, y), wide=4) for y in (150, 150 + close))
    for live in (False, True):
        assert told(there, [first, second], live=live, own=1) == 0


@pytest.mark.parametrize("apart", [12, 16, 24])
def test_a_run_with_a_bend_through_rows_that_lie_either_way(apart):
    there = level([*row(24, apart), *row(24, apart, along="x", at=(24 * apart + 24, 0), mark="R2")])
    corner = 24 * apart + 200
    bent = run(there, (-9, 20), (corner, 20), (corner, 24 * apart))
    assert len(bent.met) > 45
    assert told(there, [bent]) == 0


@pytest.mark.parametrize(("apart", "scale"), [(6, 1), (12, 1), (6, 0.5), (3, 1), (1.5, 1)])
def test_where_a_bay_has_no_room_letters_are_led_beyond_the_trusses(apart, scale):
    """A plan that is drawn small, as a very large one is, or trusses side by side."""
    there = level(row(40, apart), scale)
    path = run(there, (-9, 150), (40 * apart, 150), wide=6)
    assert told(there, [path], close=apart * scale < 8) < len(path.met) / 4


def test_two_trusses_side_by_side_are_told_apart_by_leaders():
    copies = [*row(12, 24), *row(12, 24, at=(1.5, 0), mark="R2")]
    there = level(sorted(copies, key=lambda one: (one.number, one.mark)))
    path = run(there, (-9, 150), (290, 150))
    assert len(path.met) == 24
    assert told(there, [path], own=1) == 0


@pytest.mark.parametrize("apart", [4, 5, 6])
def test_a_leader_leaves_between_signs_that_lie_over_one_another(apart):
    there = level(row(5, apart), 1)
    assert told(there, [run(there, (-9, 150), (4 * apart + 9, 150))], own=1) == 0
