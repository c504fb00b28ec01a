// Draws the set with WebGL 2: each mesh once for all its copies, a sun with a soft shadow, a sky that lights from above.
// Metres, y up. Colours of the ground come from the page's tokens, so that it is the page's paper.
import { turned } from "./glb.js";
import { FRAGMENTS, LIT } from "./solid-shaders.js";
import { eyeOf, less, looking, multiply, parallel, perspective, sidesOf, unit } from "./solid-space.js";

const KINDS = { wood: 0, wall: 1, opening: 2, run: 3 };
const GROUND = 4, SHADOW_PX = 2048;
export const NO_CUT = [0, 0, 0, 1];

export class Drawing {
  constructor(canvas, model) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
    if (!gl) throw new Error("no WebGL 2");
    Object.assign(this, { canvas, gl, cut: NO_CUT, model, programs: new Map(), counts: { calls: 0, triangles: 0 } });
    this.batches = [];
    this.#shadowMap();
    this.#load(model);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.CULL_FACE);
    gl.depthFunc(gl.LEQUAL);
  }

  // Made when it is first asked for: the first picture needs two of the six.
  #program(name) {
    const key = `${name}${this.cut === NO_CUT ? "" : " cut"}`;
    if (!this.programs.has(key)) this.programs.set(key, this.#linked(LIT, FRAGMENTS[name][this.cut === NO_CUT ? 0 : 1]));
    return this.programs.get(key);
  }

  #linked(vertex, fragment) {
    const { gl } = this, program = gl.createProgram();
    for (const [kind, source] of [[gl.VERTEX_SHADER, vertex], [gl.FRAGMENT_SHADER, fragment]]) {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      if (!gl.getShaderParameter(shader, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(shader));
      gl.attachShader(program, shader);
    }
    gl.linkProgram(program);
    const places = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i += 1) {
      const { name } = gl.getActiveUniform(program, i);
      places[name] = gl.getUniformLocation(program, name);
    }
    return { program, places };
  }

  #shadowMap() {
    const { gl } = this;
    this.shadow = gl.createTexture();
    gl.bindTexture(gl.TEXTURE_2D, this.shadow);
    gl.texStorage2D(gl.TEXTURE_2D, 1, gl.DEPTH_COMPONENT24, SHADOW_PX, SHADOW_PX);
    for (const [name, value] of [[gl.TEXTURE_MIN_FILTER, gl.LINEAR], [gl.TEXTURE_MAG_FILTER, gl.LINEAR], [gl.TEXTURE_WRAP_S, gl.CLAMP_TO_EDGE], [gl.TEXTURE_WRAP_T, gl.CLAMP_TO_EDGE], [gl.TEXTURE_COMPARE_MODE, gl.COMPARE_REF_TO_TEXTURE]]) gl.texParameteri(gl.TEXTURE_2D, name, value);
    this.shadowFrame = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadowFrame);
    gl.framebufferTexture2D(gl.FRAMEBUFFER, gl.DEPTH_ATTACHMENT, gl.TEXTURE_2D, this.shadow, 0);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
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
    this.boxes = [];
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
        else this.batches.push({ ...this.#batch(part, numbers.length), numbers, places, middles, reach: Math.hypot(...less(part.high, part.low)) / 2, kind: KINDS[part.material] ?? 0 });
      }
    }
    if (walls.length) this.batches.push(this.#joined(walls));
    if (low[0] > high[0]) { low = [-1, 0, -1]; high = [1, 1, 1]; this.boxes.push([low, high]); }
    this.middle = low.map((value, k) => (value + high[k]) / 2);
    this.radius = Math.hypot(...less(high, low)) / 2;
    this.low = low;
    this.high = high;
    const y = (extras.ground_in ?? 0) * 0.0254 - 0.01, r = this.radius * 3, [x, , z] = this.middle;
    const ground = { positions: new Float32Array([x - r, y, z - r, x - r, y, z + r, x + r, y, z + r, x + r, y, z - r]), normals: new Float32Array([0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0]), indices: new Uint16Array([0, 1, 2, 0, 2, 3]) };
    this.ground = { ...this.#batch(ground, 1), kind: GROUND, drawn: 1 };
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
    return { array, placed, looks, indices, count: part.indices.length, drawn: 0, type: part.indices instanceof Uint32Array ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT };
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
    for (const batch of this.batches) {
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
      batch.seen = null;
    }
    this.dark = false;
  }

  // What is cut away casts no shadow any more, unless the cut only clears the view.
  cutAt(plane, clears = false) {
    this.cut = plane;
    if (!clears) this.dark = false;
  }

  // Of the copies of each batch those that `inside` keeps; what was kept last time stays where it is.
  #keep(inside) {
    const { gl } = this;
    for (const batch of this.batches) {
      if (batch.pieces) continue;
      const kept = batch.there.filter(({ middle }) => inside(middle, batch.reach)), seen = kept.map(({ told }) => told[0]).join();
      if (batch.seen === seen) continue;
      const fill = (buffer, values) => { gl.bindBuffer(gl.ARRAY_BUFFER, buffer); gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array(values)); };
      fill(batch.placed, kept.flatMap(({ place }) => [...place]));
      fill(batch.looks, kept.flatMap(({ told }) => told));
      Object.assign(batch, { seen, drawn: kept.length });
    }
  }

  #castShadows() {
    const { gl } = this;
    this.towardSun = unit([-0.55, 0.95, 0.62]);
    const eye = this.middle.map((value, k) => value + this.towardSun[k] * this.radius * 2);
    this.sun = multiply(parallel(this.radius * 1.05, 0.1, this.radius * 4.4), looking(eye, this.middle));
    this.#keep(() => true);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadowFrame);
    gl.viewport(0, 0, SHADOW_PX, SHADOW_PX);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.#draw("dark", this.sun, this.batches.filter(({ kind }) => kind < 2 || kind === 3));
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.dark = true;
  }

  // Only what the camera sees, and isn't cut away whole.
  #keepSeen(view) {
    const sides = sidesOf(view), [a, b, c, d] = this.cut;
    this.#keep(([x, y, z], reach) => sides.every((side) => side[0] * x + side[1] * y + side[2] * z + side[3] > -reach) && a * x + b * y + c * z - d < reach);
  }

  #draw(name, view, batches, more = {}) {
    const { gl } = this, { program, places } = this.#program(name);
    gl.useProgram(program);
    gl.uniformMatrix4fv(places.view, false, view);
    if (places.sun) gl.uniformMatrix4fv(places.sun, false, this.sun);
    if (places.cut) gl.uniform4fv(places.cut, this.cut);
    for (const [key, value] of Object.entries(more)) if (places[key]) gl[value.length ? `uniform${value.length}fv` : "uniform1f"](places[key], value);
    for (const batch of batches) {
      if (!batch.drawn) continue;
      if (places.kind) gl.uniform1i(places.kind, batch.kind);
      // a duct is hollow: where it is cut one sees into it
      gl[batch.kind === KINDS.run ? "disable" : "enable"](gl.CULL_FACE);
      gl.bindVertexArray(batch.array);
      gl.drawElementsInstanced(gl.TRIANGLES, batch.count, batch.type, 0, batch.drawn);
      this.counts.calls += 1;
      this.counts.triangles += (batch.count / 3) * batch.drawn;
    }
    gl.bindVertexArray(null);
  }

  // How far all that stands there reaches as the camera sees it: across and up, 1 at the canvas's edges.
  #reach(camera) {
    const view = this.view(camera), low = [1e9, 1e9], high = [-1e9, -1e9];
    for (const box of this.boxes) for (const [x] of box) for (const [, y] of box) for (const [, , z] of box) {
      const w = view[3] * x + view[7] * y + view[11] * z + view[15];
      for (const k of [0, 1]) {
        const at = (view[k] * x + view[4 + k] * y + view[8 + k] * z + view[12 + k]) / w;
        low[k] = Math.min(low[k], at);
        high[k] = Math.max(high[k], at);
      }
    }
    return { low, high };
  }

  // The camera moved so that all of it fills the canvas.
  fitted(camera) {
    const fit = { ...camera, at: [...this.middle], far: this.radius * 3 };
    for (let i = 0; i < 6; i += 1) {
      const { low, high } = this.#reach(fit), half = Math.max(high[0] - low[0], high[1] - low[1]) / 2;
      const ratio = this.canvas.width / this.canvas.height, reach = Math.tan(0.31) * fit.far;
      const du = ((low[0] + high[0]) / 2) * reach * ratio, dv = ((low[1] + high[1]) / 2) * reach;
      const right = [Math.cos(fit.turn), 0, -Math.sin(fit.turn)];
      const up = [-Math.sin(fit.tilt) * Math.sin(fit.turn), Math.cos(fit.tilt), -Math.sin(fit.tilt) * Math.cos(fit.turn)];
      fit.at = fit.at.map((value, k) => value + right[k] * du + up[k] * dv);
      fit.far *= half * 1.06;
    }
    return fit;
  }

  view(camera) {
    const eye = eyeOf(camera), ratio = this.canvas.width / this.canvas.height;
    return multiply(perspective(0.62, ratio, camera.far * 0.02, camera.far + this.radius * 8), looking(eye, camera.at));
  }

  draw(camera, paper) {
    const { gl } = this, view = this.view(camera);
    this.counts = { calls: 0, triangles: 0 };
    if (!this.dark) this.#castShadows();
    this.#keepSeen(view);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.clearColor(...paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.bindTexture(gl.TEXTURE_2D, this.shadow);
    const more = { toward_sun: this.towardSun, ground_colour: paper, radius: this.radius };
    const clear = this.batches.filter(({ kind }) => kind === KINDS.opening), solid = this.batches.filter((batch) => !clear.includes(batch));
    this.#draw("lit", view, solid, more);
    if (eyeOf(camera)[1] > this.low[1]) this.#draw("lit", view, [this.ground], more);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    this.#draw("lit", view, clear, more);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
  }

  // What stands at a place of the canvas, in its own pixels: { number, member } or null.
  pick(camera, x, y) {
    const { gl } = this, { width, height } = this.canvas;
    const frame = gl.createFramebuffer(), colour = gl.createRenderbuffer(), depth = gl.createRenderbuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    for (const [buffer, format, slot] of [[colour, gl.RGBA8, gl.COLOR_ATTACHMENT0], [depth, gl.DEPTH_COMPONENT16, gl.DEPTH_ATTACHMENT]]) {
      gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
      gl.renderbufferStorage(gl.RENDERBUFFER, format, width, height);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, slot, gl.RENDERBUFFER, buffer);
    }
    gl.viewport(0, 0, width, height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    this.#keepSeen(this.view(camera));
    this.#draw("named", this.view(camera), this.batches.filter(({ kind }) => kind < 2 || kind === 3));
    const found = new Uint8Array(4 * 81);
    gl.readPixels(Math.max(0, x - 4), Math.max(0, height - y - 5), 9, 9, gl.RGBA, gl.UNSIGNED_BYTE, found);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    gl.deleteFramebuffer(frame);
    gl.deleteRenderbuffer(colour);
    gl.deleteRenderbuffer(depth);
    // a thumb is wider than wood is drawn: the nearest of a few pixels around
    const order = [...Array(81).keys()].sort((a, b) => Math.hypot((a % 9) - 4, Math.floor(a / 9) - 4) - Math.hypot((b % 9) - 4, Math.floor(b / 9) - 4));
    for (const i of order) {
      const [a, b, c, d] = found.subarray(i * 4, i * 4 + 4), number = a + 256 * b - 1;
      if (number >= 0 && this.model.nodes[number]) return { number, member: c + 256 * d - 1 };
    }
    return null;
  }
}
