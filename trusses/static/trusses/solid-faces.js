// A mesh's triangles sorted by which way they face, so that those that face away from the camera are never asked for: half of them.
const SECTORS = 24, GAP = 36;

// { indices, faces }: the triangles without those that nobody ever sees, and where those of one direction begin, how many
// indices they are, and their planes [x, y, z, d]: seen from a place p where x p.x + y p.y + z p.z > d.
export const byFacing = ({ positions, normals, indices, unseen = 0 }) => {
  const groups = Array.from({ length: SECTORS + 2 }, () => ({ corners: [], planes: new Map() })), many = indices.length - unseen * 3;
  for (let i = 0; i < many; i += 3) {
    const at = indices[i] * 3, x = normals[at], y = normals[at + 1], z = normals[at + 2];
    // around the span from below, so that what is seen from above is one piece; the two broad faces before and after all others
    const around = Math.floor(((Math.atan2(y, x) / (2 * Math.PI) + 1.25) % 1) * SECTORS);
    const { corners, planes } = groups[z > 0.7 ? 0 : z < -0.7 ? SECTORS + 1 : around + 1];
    corners.push(indices[i], indices[i + 1], indices[i + 2]);
    const d = x * positions[at] + y * positions[at + 1] + z * positions[at + 2];
    const key = Math.round(x * 500) + 1000 * (Math.round(y * 500) + 1000 * Math.round(d * 500));
    if (!planes.has(key)) planes.set(key, [x, y, z, d]);
  }
  const sorted = new indices.constructor(many), faces = [];
  let first = 0;
  for (const { corners, planes } of groups) {
    sorted.set(corners, first);
    if (corners.length) faces.push({ first, count: corners.length, planes: [...planes.values()] });
    first += corners.length;
  }
  return { indices: sorted, faces };
};

// [[first, count], …]: the indices whose faces may be seen from somewhere in a box from `low` to `high`, in the mesh's own directions.
export const facing = (faces, low, high) => {
  const pieces = [];
  for (const { first, count, planes } of faces) {
    const seen = planes.some(([x, y, z, d]) => x * (x > 0 ? high : low)[0] + y * (y > 0 ? high : low)[1] + z * (z > 0 ? high : low)[2] > d - 1e-3);
    if (!seen) continue;
    const last = pieces.at(-1);
    if (last && first - last[0] - last[1] <= GAP) last[1] = first + count - last[0];
    else pieces.push([first, count]);
  }
  return pieces;
};
