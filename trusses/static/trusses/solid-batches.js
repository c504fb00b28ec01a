// What stands there as WebGL draws it: each mesh once for all its copies, all walls at once. Metres, y up.
import { turned } from "./glb.js";
import { byFacing, facing } from "./solid-faces.js";
import { less } from "./solid-space.js";

export const KINDS = { wood: 0, wall: 1, opening: 2, run: 3, ground: 4 };

export class Batches {
  constructor(gl, model) {
    Object.assign(this, { gl, model, all: [], boxes: [] });
    this.#load(model);
  }

  #load({ meshes, nodes, extras }) {
    const byMesh = new Map();
    nodes.forEach((node, number) => {
      if (!byMesh.has(node.mesh)) byMesh.set(node.mesh, []);
      byMesh.get(node.mesh).push(number);
    });
    let low = [1e9, 1e9, 1e9], high = [-1e9, -1e9, -1e9];
    const walls = [];
    // what lies in the ground isn't looked at
    const ground_m = (extras.ground_in ?? -1e6) * 0.0254;
    for (const [mesh, numbers] of byMesh) {
      for (const part of meshes[mesh].parts) {
        const places = new Float32Array(numbers.length * 4), middles = [];
        const middle = part.low.map((value, k) => (value + part.high[k]) / 2);
        numbers.forEach((number, i) => {
          const { at, turns } = nodes[number];
          places.set([...at, turns], i * 4);
          middles.push(turned(middle, turns).map((value, k) => value + at[k]));
          const ends = [part.low, part.high].map((corner) => turned(corner, turns).map((value, k) => value + at[k]));
          const [from, to] = [Math.min, Math.max].map((most) => ends[0].map((value, k) => most(value, ends[1][k])));
          from[1] = Math.min(Math.max(from[1], ground_m), to[1]);
          low = low.map((value, k) => Math.min(value, from[k]));
          high = high.map((value, k) => Math.max(value, to[k]));
          this.boxes.push([from, to]);
        });
        if (part.material === "wall") walls.push({ part, number: numbers[0] });
        else {
          const { indices, faces } = byFacing(part);
          this.all.push({ ...this.#batch({ ...part, indices }, numbers.length), faces, numbers, places, middles, kept: [], reach: Math.hypot(...less(part.high, part.low)) / 2, kind: KINDS[part.material] ?? 0 });
        }
      }
    }
    if (walls.length) this.all.push(this.#joined(walls));
    if (low[0] > high[0]) { low = [-1, 0, -1]; high = [1, 1, 1]; this.boxes.push([low, high]); }
    this.middle = low.map((value, k) => (value + high[k]) / 2);
    this.radius = Math.hypot(...less(high, low)) / 2;
    Object.assign(this, { low, high });
    const y = (extras.ground_in ?? 0) * 0.0254 - 0.01, r = this.radius * 3, [x, , z] = this.middle;
    const ground = { positions: new Float32Array([x - r, y, z - r, x - r, y, z + r, x + r, y, z + r, x + r, y, z - r]), normals: new Float32Array([0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0]), indices: new Uint16Array([0, 1, 2, 0, 2, 3]) };
    this.ground = { ...this.#batch(ground, 1), kind: KINDS.ground, drawn: 1 };
  }

  #batch(part, most) {
    const { gl } = this, array = gl.createVertexArray();
    gl.bindVertexArray(array);
    const fill = (slot, values, width, per) => {
      const buffer = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, values, per ? gl.DYNAMIC_DRAW : gl.STATIC_DRAW);
      gl.enableVertexAttribArray(slot);
      gl.vertexAttribPointer(slot, width, gl.FLOAT, false, 0, 0);
      if (per) gl.vertexAttribDivisor(slot, 1);
      return buffer;
    };
    fill(0, part.positions, 3);
    fill(1, part.normals, 3);
    if (part.grain) fill(2, part.grain, 2);
    if (part.members) fill(3, part.members, 1);
    const placed = fill(4, new Float32Array(most * 4), 4, true), looks = fill(5, new Float32Array(most * 4), 4, true);
    const indices = gl.createBuffer();
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, indices);
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, part.indices, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    const [type, bytes] = part.indices instanceof Uint32Array ? [gl.UNSIGNED_INT, 4] : [gl.UNSIGNED_SHORT, 2];
    return { array, placed, looks, indices, count: part.indices.length, drawn: 0, type, bytes };
  }

  // Walls stand where they are written, each once: one mesh of all, whose vertices tell their wall's node.
  #joined(walls) {
    const { gl } = this, positions = [], normals = [], members = [];
    const pieces = walls.map(({ part, number }) => {
      const start = members.length;
      positions.push(...part.positions);
      normals.push(...part.normals);
      members.push(...Array(part.positions.length / 3).fill(number));
      return { number, indices: [...part.indices].map((index) => index + start) };
    });
    const every = new Uint32Array(pieces.flatMap(({ indices }) => indices));
    const batch = this.#batch({ positions: new Float32Array(positions), normals: new Float32Array(normals), members: new Float32Array(members), indices: every }, 1);
    gl.bindBuffer(gl.ARRAY_BUFFER, batch.looks);
    gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array([-1, 0, -1, 0]));
    return { ...batch, pieces, kind: KINDS.wall };
  }

  // Which nodes are shown, and how; `said(node, number)` answers { shown, look, member }.
  look(said) {
    const { gl } = this;
    for (const batch of this.all) {
      if (batch.pieces) {
        const indices = batch.pieces.flatMap((piece) => (said(this.model.nodes[piece.number], piece.number).shown ? piece.indices : []));
        gl.bindVertexArray(batch.array);
        gl.bufferSubData(gl.ELEMENT_ARRAY_BUFFER, 0, new Uint32Array(indices));
        gl.bindVertexArray(null);
        Object.assign(batch, { count: indices.length, drawn: indices.length ? 1 : 0 });
        continue;
      }
      batch.there = [];
      batch.numbers.forEach((number, i) => {
        const { shown, look, member } = said(this.model.nodes[number], number);
        if (shown) batch.there.push({ place: batch.places.subarray(i * 4, i * 4 + 4), told: [number, look, member, number % 97], middle: batch.middles[i] });
      });
      batch.kept = null;
    }
  }

  // Of the copies of each batch those that `inside` keeps, and of their faces those that look toward `eye`.
  keep(inside, eye) {
    const { gl } = this;
    for (const batch of this.all) {
      if (batch.pieces) continue;
      const kept = batch.there.filter(({ middle }) => inside(middle, batch.reach));
      // a duct is hollow: where it is cut one sees into it
      batch.shown = batch.kind === KINDS.run ? [[0, batch.count]] : facing(batch.faces, ...boxOf(eye, kept));
      // what was kept last time stays where it is
      if (batch.kept?.length === kept.length && kept.every((one, i) => one === batch.kept[i])) continue;
      const fill = (buffer, values) => { gl.bindBuffer(gl.ARRAY_BUFFER, buffer); gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array(values)); };
      fill(batch.placed, kept.flatMap(({ place }) => [...place]));
      fill(batch.looks, kept.flatMap(({ told }) => told));
      Object.assign(batch, { kept, drawn: kept.length });
    }
  }
}

// From where copies are looked at, each in its own directions: the box of all these places.
const boxOf = (eye, copies) => {
  const low = [Infinity, Infinity, Infinity], high = [-Infinity, -Infinity, -Infinity];
  for (const { place } of copies) {
    const from = turned([eye[0] - place[0], eye[1] - place[1], eye[2] - place[2]], (4 - place[3]) % 4);
    for (let k = 0; k < 3; k += 1) {
      low[k] = Math.min(low[k], from[k]);
      high[k] = Math.max(high[k], from[k]);
    }
  }
  return [low, high];
};
