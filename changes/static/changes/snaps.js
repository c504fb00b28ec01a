// Places that a thumb means when it comes near them: where webs leave as much on both sides, mid-span, the height of another
// opening, the height where the panel is clearest. Each has words, told below the drawing. They hold on to nothing: a little
// further the opening goes on, nearer drawings have finer places, and what is typed is taken as typed. Inches.
self.snaps = (() => {
  "use strict";
  const form = document.getElementById("ask");
  if (!form) return {};
  const REACH_PX = 6, REACH_IN = 8, FINE_IN = 1 / 4, HERE_IN = 3 / 16, EVEN_IN = 1 / 16;
  const EXACT = 16, QUARTERS = 4; // parts of an inch: of a middle a quarter is near enough, and easier on a tape
  const pockets = JSON.parse(form.dataset.pockets).map((walls) => walls.map(([[ax, ay], [bx, by]]) => {
    const long = Math.hypot(bx - ax, by - ay);
    return { ax, ay, bx, by, nx: (ay - by) / long, ny: (bx - ax) / long }; // the pocket lies where the normal points
  }));
  const crossed = (walls, level, [from, to]) => walls.flatMap((wall) => { // where a level, or plumb, line meets walls
    const [a, b] = [wall[from[1]], wall[to[1]]];
    if ((a - level) * (b - level) > 0 || a === b) return [];
    return [{ wall, at: wall[from[0]] + (wall[to[0]] - wall[from[0]]) * (level - a) / (b - a) }];
  }).sort((one, other) => one.at - other.at);
  const ALONG = [["ax", "ay"], ["bx", "by"]], UP = [["ay", "ax"], ["by", "bx"]];
  const around = (walls, [x, y], axis) => { // the walls on both sides of a place, level or plumb; null outside
    const [here, level] = axis === ALONG ? [x, y] : [y, x], met = crossed(walls, level, axis);
    const before = met.filter(({ at }) => at <= here), after = met.filter(({ at }) => at > here);
    return before.length % 2 && after.length ? [before.at(-1), after[0]] : null;
  };
  const pocketAt = (place) => pockets.find((walls) => around(walls, place, ALONG));
  const spare = ({ ax, ay, nx, ny }, [x, y], [wide, high]) => nx * (x - ax) + ny * (y - ay) - Math.abs(nx) * wide - Math.abs(ny) * high;

  // As far from one web as from the other, square to each of them.
  const evenBetween = (walls, [x, y], half) => {
    const met = around(walls, [x, y], ALONG);
    if (!met) return null;
    const [one, other] = met.map(({ wall }) => wall), slope = one.nx - other.nx;
    if (Math.abs(slope) < 1e-6) return null;
    const even = x + (spare(other, [x, y], half) - spare(one, [x, y], half)) / slope;
    return even > met[0].at && even < met[1].at ? even : null;
  };
  const clearestUp = (walls, [x, y], half) => {
    const met = around(walls, [x, y], UP);
    if (!met) return null;
    let most = -Infinity, best = [];
    for (let up = met[0].at; up <= met[1].at; up += FINE_IN) {
      const least = Math.min(...walls.map((wall) => spare(wall, [x, up], half)));
      if (least > most + EVEN_IN) best = [];
      if (least > most - EVEN_IN) best.push(up);
      most = Math.max(most, least);
    }
    return best.length ? (best[0] + best.at(-1)) / 2 : null;
  };
  const stage = () => document.getElementById("stage");
  const midSpan = () => {
    const xs = Object.values(JSON.parse(stage().dataset.faces)).map(({ x }) => x);
    return xs.length === 2 ? (xs[0] + xs[1]) / 2 : null; // with a wall between there are several spans
  };
  const others = () => {
    const svg = [...stage().querySelectorAll(":is(.for-phone, .for-desk) svg")].find((one) => one.getClientRects().length);
    return [...svg?.querySelectorAll(".opening:not(.ask)") ?? []].map(({ dataset }) => ({ id: dataset.opening, y: Number(dataset.centreY) }));
  };

  // The places near `at` along and up, each with its words.
  const near = ([x, y], half, reach) => {
    const found = { x: null, y: null }, close = (value, to) => value !== null && Math.abs(value - to) <= reach;
    const take = (axis, at, says, parts = QUARTERS) => {
      const from = axis === "x" ? x : y;
      if (!found[axis] || Math.abs(at - from) < Math.abs(found[axis].at - from)) found[axis] = { at, says, parts };
    };
    for (const other of others()) if (close(other.y, y)) take("y", other.y, `level with ${other.id}`, EXACT);
    const middle = midSpan();
    if (close(middle, x)) take("x", middle, "at mid-span", EXACT);
    const pocket = pocketAt([x, y]);
    if (pocket) {
      const even = evenBetween(pocket, [x, found.y?.at ?? y], half);
      if (close(even, x)) take("x", even, "centered in the open panel");
      const up = clearestUp(pocket, [found.x?.at ?? x, y], half);
      if (found.x && !found.y && close(up, y)) { // elsewhere it would go up and down as one moves along
        take("y", up, "at the height where it is clearest");
        const again = found.x?.says === "centered in the open panel" ? evenBetween(pocket, [found.x.at, up], half) : null;
        if (close(again, x)) found.x.at = again;
      }
    }
    return found;
  };
  const words = ({ x, y }) => {
    const says = [x, y].filter(Boolean).map((one) => one.says).join(", ");
    return says && `${says[0].toUpperCase()}${says.slice(1)}.`;
  };
  const reachOf = (pixel) => Math.min(REACH_PX * pixel, REACH_IN);
  return { near: (at, half, pixel) => near(at, half, reachOf(pixel)), words, here: (at, half) => words(near(at, half, HERE_IN)) };
})();
