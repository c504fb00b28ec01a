"""The set in three dimensions: where trusses stand and how thick they are, by hand, and the file as another library
reads it."""

from __future__ import annotations

import io
import re
from dataclasses import replace

import numpy as np
import pytest
import shapely
import trimesh

from tests.trusses.drawn import RECTANGLE, ROUND, king_post
from trusses.demo_set import marks
from trusses.solid.bodies import Prism, body, triangles
from trusses.solid.covered import covered
from trusses.solid.gltf import METRE_PER_INCH, glb
from trusses.solid.heights import WALL_IN, LevelDepth, OverFloor, heights, over_floor
from trusses.solid.mesh import box, merged, prism, swept
from trusses.solid.picture import flat, picture
from trusses.solid.scene import AFTER, BEFORE, Placed, Run, Scene, Wall

#: 20 ft between bearings whose outer faces are 1 3/4 in. out; sits 1 3/4 in. under the centerline of its bottom chord;
#: the peak's centerline is 90 in. up, its upper edge 1.75/0.8 in. above that.
SPAN = (-1.75, 241.75)
HIGH = (0.0, 1.75 + 90 + 1.75 / 0.8)


def closed(mesh) -> trimesh.Trimesh:
    found = trimesh.Trimesh(mesh.points, mesh.triangles, process=False)
    found.merge_vertices(merge_norm=True, merge_tex=True)
    return found


def set_of(*placed: Placed, documents=None, **more) -> Scene:
    documents = documents or {"k": king_post()}
    return Scene({key: body(one) for key, one in documents.items()}, placed, levels=("Roof",), **more)


def opened(data: bytes) -> trimesh.Scene:
    found = trimesh.load(io.BytesIO(data), file_type="glb")
    assert isinstance(found, trimesh.Scene)
    return found


def told_of(found: trimesh.Scene) -> dict:
    """The extras of each node."""
    return {ends[1]: edge["metadata"] for ends, edge in found.graph.transforms.edge_data.items() if "metadata" in edge}


def hidden_edges(wood: list[Prism] | tuple[Prism, ...]) -> set[tuple[str, float, float]]:
    """The edges that are covered: whose, and from where to where along the span."""
    mesh = merged([prism(one, part) for part, one in enumerate(wood)])
    return {
        (wood[mesh.parts[corners[0]]].name, *(round(float(x), 2) for x in (s.min(), s.max())))
        for corners in mesh.triangles[covered(wood, mesh)]
        for s in [mesh.points[corners, 0]]
    }


def bounds_of(found: trimesh.Scene, name: str) -> np.ndarray:
    """Of a node, in plan inches and heights: x, y, z low and high."""
    transform, geometry = found.graph[name]
    points = trimesh.transform_points(found.geometry[geometry].vertices, transform) / METRE_PER_INCH
    points = np.stack([points[:, 0], -points[:, 2], points[:, 1]], axis=1)
    return np.array([points.min(axis=0), points.max(axis=0)])


class TestBodies:
    def test_a_king_post_is_as_long_high_and_thick_as_its_wood(self):
        made = body(king_post())
        left, low, right, high = made.bounds
        # a plumb cut at the wall's outer face, and a top chord that is cut plumb there too
        assert (left, right) == pytest.approx(SPAN)
        assert (low, high) == pytest.approx(HIGH)
        assert {(one.near, one.far) for one in made.wood} == {(-0.75, 0.75)}
        assert [one.name for one in made.wood] == ["T1", "T2", "B1", "B2", "W1"]

    def test_plies_stand_side_by_side(self):
        made = body(king_post(plies=2))
        assert sorted({(one.near, one.far) for one in made.wood}) == [(-1.5, 0.0), (0.0, 1.5)]
        assert made.thickness_in == 3.0

    def test_wood_laid_flat_is_as_wide_as_its_wide_face(self):
        flat_one = king_post()
        flat_one["members"][4]["flat"] = True
        web = body(flat_one).wood[4]
        assert (web.near, web.far) == (-1.75, 1.75)
        assert np.ptp(web.outline[:, 0]) == pytest.approx(1.5)

    @pytest.mark.parametrize("mark", [one.mark for one in marks()])
    def test_every_piece_is_closed_and_has_the_volume_of_its_outline(self, mark):
        document = next(one.document for one in marks() if one.mark == mark)
        for piece in body(document).wood:
            solid = closed(prism(piece))
            assert solid.is_watertight
            assert solid.is_winding_consistent
            area = shapely.Polygon(piece.outline).area
            assert solid.volume == pytest.approx(area * (piece.far - piece.near), rel=1e-6)

    def test_edges_that_lie_on_other_pieces_are_never_seen(self):
        """Of a king post the chords' cuts at the peak, at the heels and where they butt, and the web's upper end; its
        foot stands on the joint of two pieces and is left as it is."""
        assert hidden_edges(body(king_post()).wood) == {
            ("T1", 120.0, 120.0), ("T2", 120.0, 120.0), ("B1", 120.0, 120.0), ("B2", 120.0, 120.0),
            ("B1", 0.58, 5.25), ("B2", 234.75, 239.42), ("W1", 118.25, 120.0), ("W1", 120.0, 121.75),
        }  # fmt: skip

    def test_a_thin_piece_hides_no_edge_of_a_thick_one(self):
        *chords, web = body(king_post()).wood
        assert not {one for one in hidden_edges([*chords, replace(web, near=-1.75, far=1.75)]) if one[0] == "W1"}

    def test_openings_are_clear_prisms_through_the_truss(self):
        made = body(king_post(openings=[RECTANGLE, ROUND]))
        assert [one.name for one in made.openings] == ["O1", "O2"]
        square, circle = (closed(prism(one)) for one in made.openings)
        # 24 by 12, from 3 in. before the wood to 3 in. behind it
        assert square.volume == pytest.approx(24 * 12 * 7.5)
        # a 24-gon in a circle of 10 in.
        assert circle.volume == pytest.approx(12 * 25 * np.sin(2 * np.pi / 24) * 7.5)

    def test_an_outline_with_a_notch_is_cut_into_triangles(self):
        ell = np.array([[0, 0], [10, 0], [10, 4], [4, 4], [4, 10], [0, 10]], dtype=float)
        ears = triangles(len(ell), ell.tobytes())
        areas = [shapely.Polygon(ell[ear]).area for ear in ears]
        assert sum(areas) == pytest.approx(64)
        assert all(shapely.Polygon(ell).covers(shapely.Polygon(ell[ear])) for ear in ears)


class TestWallsAndRuns:
    def test_a_wall_is_a_box_about_its_line(self):
        solid = closed(box(Wall("w", "Roof", (0, 0), (120, 0), 16, 113, 3.5)))
        assert solid.is_watertight
        assert solid.bounds == pytest.approx(np.array([[-1.75, -1.75, 16], [121.75, 1.75, 113]]))
        assert solid.volume == pytest.approx(123.5 * 3.5 * 97)

    @pytest.mark.parametrize(("round_one", "area"), [(True, 10 * 49 * np.sin(2 * np.pi / 20)), (False, 14 * 8)])
    def test_a_run_follows_its_path(self, round_one, area):
        run = Run("r", [(0, 0, 20), (100, 0, 20), (100, 50, 18)], 14, 14 if round_one else 8, round_one)
        solid = trimesh.Trimesh(*swept(run)[::4], process=False)
        assert solid.volume == pytest.approx(area * (100 + np.hypot(50, 2)))


class TestHeights:
    LEVELS = (LevelDepth("Roof", False, 110.0), LevelDepth("Floor over basement", True, 16.0))

    def test_a_roof_bears_a_common_wall_above_the_floor(self):
        found = heights(self.LEVELS, {})
        assert list(found) == ["Floor over basement", "Roof"]
        assert found["Roof"].bearing == 16.0 + WALL_IN
        assert not found["Roof"].said

    def test_what_is_said_counts(self):
        found = heights(self.LEVELS, {"Roof": 130.0})
        assert (found["Roof"].bearing, found["Roof"].said) == (130.0, True)

    def test_how_far_trusses_bear_above_the_floor_below_is_a_common_wall_until_somebody_says_it(self):
        assert over_floor(heights(self.LEVELS, {}), "Roof") == OverFloor(WALL_IN, True)
        assert over_floor(heights(self.LEVELS, {"Roof": 130.0}), "Roof") == OverFloor(114.0, False)
        assert over_floor(heights(self.LEVELS, {}), "Floor over basement") is None
        assert over_floor(heights(self.LEVELS[:1], {}), "Roof") == OverFloor(WALL_IN, True)
        assert over_floor(heights(self.LEVELS, {}), "Attic") is None
        # below a floor that stands higher than the roof was said to there is none
        assert over_floor(heights(self.LEVELS, {"Roof": 10.0}), "Roof") is None


class TestGltf:
    def test_a_truss_stands_at_its_place(self):
        here = set_of(
            Placed("k", 1, "K1", 1, "Roof", "x", 100, 50, 97, "set", href="/t/"),
            Placed("k", 1, "K1", 2, "Roof", "y", 400, 20, 97),
        )
        found = opened(glb(here))
        # along x: span by 1 1/2 in. by its height, at the place of its left bearing
        low, high = bounds_of(found, "K1/1")
        assert low == pytest.approx([100 + SPAN[0], 50 - 0.75, 97 + HIGH[0]], abs=1e-3)
        assert high == pytest.approx([100 + SPAN[1], 50 + 0.75, 97 + HIGH[1]], abs=1e-3)
        low, high = bounds_of(found, "K1/2")
        assert low == pytest.approx([400 - 0.75, 20 + SPAN[0], 97], abs=1e-3)
        assert high == pytest.approx([400 + 0.75, 20 + SPAN[1], 97 + HIGH[1]], abs=1e-3)
        extras = told_of(found)["K1/1"]
        told = {"kind": "truss", "mark": "K1", "copy": 1, "truss": 1, "stage": "set", "href": "/t/", "level": "Roof"}
        assert told.items() <= extras.items()
        # copies share their mesh
        assert len(found.geometry) == 1

    @pytest.mark.parametrize(("along", "way"), [("x", (1, 0)), ("y", (0, 1))])
    def test_a_turned_copy_stands_end_for_end(self, along, way):
        """A king post whose peak stands 60 in. from its left bearing: 60 in. from the far end of its line when it is
        turned, which is where a line of 240 in. has 180."""
        lopsided = king_post()
        lopsided["joints"] = {**lopsided["joints"], "B": [60, 90], "D": [60, 0]}
        place = {"x": 100 + 240 * way[0], "y": 50 + 240 * way[1], "z": 97, "turned": True}
        one = Placed("k", 1, "K1", 1, "Roof", along, **place)
        found = opened(glb(set_of(one, documents={"k": lopsided})))
        low, high = bounds_of(found, "K1/1")
        k = way.index(1)
        start = (100, 50)[k]
        assert (low[k], high[k]) == pytest.approx((start + SPAN[0], start + SPAN[1]), abs=1e-3)
        # the post under the peak, by itself
        pieces = opened(glb(set_of(one, documents={"k": lopsided}), by_member=True))
        assert bounds_of(pieces, "K1/1/W1").mean(axis=0)[k] == pytest.approx(start + 180, abs=1e-3)
        assert one.at(60, 0, 0)[k] == pytest.approx(start + 180)
        assert told_of(found)["K1/1"]["marked_end"] == {"x": "right", "y": "top"}[along]

    def test_each_piece_by_itself_is_named_and_closed(self):
        found = opened(glb(set_of(Placed("k", 1, "K1", 3, "Roof", "x", 0, 0, 0)), by_member=True))
        names = set(found.graph.nodes_geometry)
        assert names == {f"K1/3/{name}" for name in ("T1", "T2", "B1", "B2", "W1")}
        pieces = {one.name: one for one in body(king_post()).wood}
        for name in names:
            solid = found.geometry[found.graph[name][1]]
            solid.merge_vertices(merge_norm=True, merge_tex=True)
            assert solid.is_watertight
            outline = shapely.Polygon(pieces[name.rpartition("/")[2]].outline)
            assert solid.volume / METRE_PER_INCH**3 == pytest.approx(outline.area * 1.5, rel=1e-4)

    def test_before_after_walls_and_runs_are_told(self):
        documents = {"k": king_post(), "n": king_post(openings=[ROUND])}
        here = set_of(
            Placed("k", 1, "K1", 1, "Roof", "x", 0, 0, 0, shown=BEFORE),
            Placed("n", 1, "K1", 1, "Roof", "x", 0, 0, 0, shown=AFTER),
            documents=documents,
            walls=[Wall("south wall", "Roof", (0, 0), (240, 0), -97, 0, 3.5)],
            runs=[Run("trunk", [(0, -20, 20), (0, 20, 20)], 14, 14)],
        )
        found = opened(glb(here))
        # that library makes a node of each part of a mesh, the wood and the clear opening
        told = {name: one for name, one in told_of(found).items() if one["kind"] != "truss" or name.startswith("K1/1")}
        kinds = {name: (one["kind"], one.get("shown")) for name, one in told.items()}
        expected = {
            "K1/1 before": ("truss", BEFORE),
            "K1/1 after": ("truss", AFTER),
            "south wall": ("wall", None),
            "trunk": ("run", None),
        }
        assert expected.items() <= kinds.items()
        assert set(kinds.values()) == set(expected.values())
        # along y, that is against z, from 20 in. south of the line to 20 in. north of it
        assert np.array(told["trunk"]["path"]) / METRE_PER_INCH == pytest.approx(np.array([[0, 20, 20], [0, 20, -20]]))
        assert bounds_of(found, "trunk")[1] == pytest.approx([7, 20, 27], abs=0.1)

    def test_the_header_counts_its_bytes(self):
        data = glb(set_of(Placed("k", 1, "K1", 1, "Roof", "x", 0, 0, 0)))
        assert data[:4] == b"glTF"
        assert int.from_bytes(data[8:12], "little") == len(data)
        assert len(data) % 4 == 0

    def test_nothing_placed_is_a_file_too(self):
        assert glb(Scene({}, ()))[:4] == b"glTF"

    def test_five_hundred_trusses_share_their_meshes(self):
        every = [Placed("k", 1, "K1", n, "Roof", "x", 0, 24 * n, 0) for n in range(500)]
        assert len(glb(set_of(*every))) < 250_000


class TestThePicture:
    def test_it_is_isometric(self):
        """ISO 5456-3: three axes toward the one who looks, west, south and up, at 120° and one scale."""
        origin, x, y, z = flat(np.array([[0, 0, 0], [-1, 0, 0], [0, -1, 0], [0, 0, 1]], dtype=float))
        ways = [one - origin for one in (x, y, z)]
        assert [np.hypot(*way) for way in ways] == pytest.approx([1, 1, 1])
        assert [ways[i] @ ways[j] for i, j in ((0, 1), (1, 2), (2, 0))] == pytest.approx([-0.5, -0.5, -0.5])

    def test_copies_of_one_design_are_drawn_once_and_all_of_it_is_in_the_frame(self):
        every = [Placed("k", 1, "K1", n, "Roof", "x", 0, 24 * n, 0) for n in range(9)]
        svg = picture(set_of(*every, walls=[Wall("w", "Roof", (0, 0), (240, 0), -97, 0, 3.5)]), "Job <1>")
        assert len(re.findall(r"<use ", svg)) == 9
        assert len(re.findall(r'<g id="t\d+"', svg)) == 1
        assert "Job &lt;1&gt;" in svg
        assert "style=" not in svg
        left, top, wide, tall = map(float, re.search(r'viewBox="([^"]*)"', svg)[1].split(","))
        corners = flat(np.array([[s, 24 * n, z] for s in SPAN for z in HIGH for n in (0, 8)]))
        assert (corners[:, 0] > left).all()
        assert (corners[:, 0] < left + wide).all()
        # the peak stands in the middle of the span: above the ends the box reaches higher than wood does
        assert (corners[:, 1] < top + tall).all()

    @pytest.mark.parametrize("along", ["x", "y"])
    def test_a_symmetric_truss_that_is_turned_looks_the_same(self, along):
        """Plies, thickness and faces are alike on both sides; only the order in which outlines are drawn may differ."""
        over = (240, 0) if along == "x" else (0, 240)
        ways = [
            picture(set_of(Placed("k", 1, "K1", 1, "Roof", along, x, y, 0, turned=bool(x or y))), "x")
            for x, y in ((0, 0), over)
        ]
        as_it_is, turned = (re.search(r'viewBox="([^"]*)"', svg)[1] for svg in ways)
        assert as_it_is == turned
        fronts = [re.findall(r'fill="(#e9d7b0|#cdb583)"', svg) for svg in ways]
        assert fronts[0] == fronts[1]
        assert len(fronts[0]) == 1

    def test_the_farthest_is_drawn_first(self):
        """One looks to the north-east: of trusses along x the northern one is behind."""
        x_way = [Placed("k", 1, "K1", n, "Roof", "x", 0, y, 0) for n, y in enumerate((0, 240))]
        svg = picture(set_of(*x_way), "x")
        tops = [float(v) for v in re.findall(r'<use [^>]*y="(-?[\d.]+)"', svg)]
        assert tops == sorted(tops)


def test_merged_meshes_keep_their_triangles():
    one = prism(body(king_post()).wood[0])
    both = merged([one, one._replace(points=one.points + np.array([0, 10, 0]))])
    assert len(both.triangles) == 2 * len(one.triangles)
    assert both.triangles.max() == len(both.points) - 1
