// Draws the set with WebGL 2: each mesh once for all its copies, a sun with a soft shadow, a sky that lights from above.
// Metres, y up. Colours of the ground come from the page's tokens, so that it is the page's paper.
const LIT = `#version 300 es
precision highp float;
layout(location=0) in vec3 position;
layout(location=1) in vec3 normal;
layout(location=2) in vec2 grain;
layout(location=3) in float member;
layout(location=4) in vec4 place;   // x, y, z and a quarter turn or none
layout(location=5) in vec4 told;    // number of the copy, its look, its lit member or -1, seed
uniform mat4 view, sun;
out vec3 v_at, v_normal, v_sun;
out vec2 v_grain;
flat out float v_member;
flat out vec4 v_told;
vec3 turned(vec3 p) { return place.w > 0.5 ? vec3(p.z, p.y, -p.x) : p; }
void main() {
  vec3 at = turned(position) + place.xyz;
  v_at = at; v_normal = turned(normal); v_grain = grain; v_member = member; v_told = told;
  vec4 s = sun * vec4(at + v_normal * 0.02, 1.0);
  v_sun = s.xyz * 0.5 + 0.5;
  gl_Position = view * vec4(at, 1.0);
}`;
const SHADE = `#version 300 es
precision highp float;
precision highp sampler2DShadow;
in vec3 v_at, v_normal, v_sun;
in vec2 v_grain;
flat in float v_member;
flat in vec4 v_told;
uniform vec3 toward_sun, eye, ground_colour;
uniform vec4 cut;                   // a plane: what lies on its positive side is away
uniform int kind;                   // 0 wood, 1 wall, 2 opening, 3 run, 4 ground
uniform float radius;
uniform sampler2DShadow shadows;
out vec4 colour;
float noise(vec2 p) {
  vec2 i = floor(p), f = fract(p); f = f * f * (3.0 - 2.0 * f);
  vec4 h = fract(sin(vec4(dot(i, vec2(12.99, 78.23)), dot(i + vec2(1, 0), vec2(12.99, 78.23)),
    dot(i + vec2(0, 1), vec2(12.99, 78.23)), dot(i + vec2(1, 1), vec2(12.99, 78.23)))) * 43758.5);
  return mix(mix(h.x, h.y, f.x), mix(h.z, h.w, f.x), f.y);
}
float lit_by_sun() {
  if (any(lessThan(v_sun, vec3(0.0))) || any(greaterThan(v_sun, vec3(1.0)))) return 1.0;
  float sum = 0.0;
  for (int i = -1; i <= 1; i++) for (int j = -1; j <= 1; j++)
    sum += texture(shadows, vec3(v_sun.xy + vec2(i, j) / 1536.0, v_sun.z - 0.0012));
  return sum / 9.0;
}
void main() {
  if (kind != 4 && dot(v_at, cut.xyz) > cut.w) discard;
  vec3 n = normalize(v_normal);
  vec3 base = vec3(0.80, 0.77, 0.71);
  if (kind == 0) {
    float tone = fract(sin(v_told.w * 7.13 + v_member * 3.77) * 951.3);
    float fibre = noise(vec2(v_grain.x * 0.06 + tone * 40.0, v_grain.y * 5.0 + tone * 9.0));
    float band = noise(vec2(v_grain.x * 0.02 + tone * 17.0, v_grain.y * 1.3));
    base = mix(vec3(0.90, 0.79, 0.60), vec3(0.79, 0.63, 0.43), tone * 0.45 + band * 0.4);
    base *= 0.93 + 0.12 * fibre;
    if (v_told.y > 0.5 && v_told.y < 1.5) base = mix(base, vec3(1.0, 0.80, 0.25), 0.55);
    if (v_told.y > 1.5 && v_told.y < 2.5) base = mix(base, vec3(0.62, 0.61, 0.58), 0.75);
    if (v_told.y > 2.5) base = mix(base, vec3(1.0, 0.80, 0.25), 0.55);
    if (v_told.z > -0.5) base = mix(base, vec3(0.95, 0.60, 0.16), abs(v_told.z - v_member) < 0.5 ? 0.85 : 0.25);
  } else if (kind == 1) {
    base = vec3(0.95, 0.94, 0.91);
  } else if (kind == 2) {
    base = vec3(0.42, 0.18, 0.51);
  } else if (kind == 3) {
    base = vec3(0.62, 0.67, 0.71);
  } else {
    base = ground_colour;
  }
  float sunlit = max(dot(n, toward_sun), 0.0) * lit_by_sun();
  vec3 sky = mix(vec3(0.42, 0.38, 0.33), vec3(0.60, 0.66, 0.74), n.y * 0.5 + 0.5);
  vec3 light = sky * 0.95 + vec3(1.0, 0.94, 0.83) * sunlit * 0.72;
  if (kind == 4) {
    // paper with a shadow on it, which ends softly
    float shade = 1.0 - 0.34 * (1.0 - lit_by_sun());
    float far = smoothstep(radius * 1.1, radius * 2.4, length(v_at.xz - eye.xz * 0.0));
    colour = vec4(ground_colour * mix(shade, 1.0, far), 1.0);
    return;
  }
  colour = vec4(pow(base, vec3(1.1)) * light * 1.08, kind == 2 ? 0.42 : kind == 3 ? 0.85 : 1.0);
}`;
const DARK = `#version 300 es
precision highp float;
in vec3 v_at;
uniform vec4 cut;
void main() { if (dot(v_at, cut.xyz) > cut.w) discard; }`;
const NAMED = `#version 300 es
precision highp float;
in vec3 v_at;
flat in float v_member;
flat in vec4 v_told;
uniform vec4 cut;
out vec4 colour;
void main() {
  if (dot(v_at, cut.xyz) > cut.w) discard;
  float n = v_told.x + 1.0;
  colour = vec4(mod(n, 256.0), floor(n / 256.0), mod(v_member + 1.0, 256.0), floor((v_member + 1.0) / 256.0)) / 255.0;
}`;
const KINDS = { wood: 0, wall: 1, opening: 2, run: 3 };
const SHADOW_PX = 2048;
export const NO_CUT = [0, 0, 0, 1];

const multiply = (a, b) => {
  const out = new Float32Array(16);
  for (let i = 0; i < 4; i += 1) for (let j = 0; j < 4; j += 1) for (let k = 0; k < 4; k += 1) out[j * 4 + i] += a[k * 4 + i] * b[j * 4 + k];
  return out;
};
const less = (a, b) => a.map((value, i) => value - b[i]);
const cross = (a, b) => [a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]];
const dot = (a, b) => a.reduce((sum, value, i) => sum + value * b[i], 0);
const unit = (a) => a.map((value) => value / (Math.hypot(...a) || 1));
const looking = (eye, at) => {
  const back = unit(less(eye, at));
  const right = unit(cross([0, 1, 0], back));
  const up = cross(back, right);
  return new Float32Array([right[0], up[0], back[0], 0, right[1], up[1], back[1], 0, right[2], up[2], back[2], 0, -dot(right, eye), -dot(up, eye), -dot(back, eye), 1]);
};
const perspective = (angle, ratio, near, far) => {
  const f = 1 / Math.tan(angle / 2);
  return new Float32Array([f / ratio, 0, 0, 0, 0, f, 0, 0, 0, 0, (far + near) / (near - far), -1, 0, 0, (2 * far * near) / (near - far), 0]);
};
const parallel = (half, near, far) => new Float32Array([1 / half, 0, 0, 0, 0, 1 / half, 0, 0, 0, 0, -2 / (far - near), 0, 0, 0, -(far + near) / (far - near), 1]);
export const eyeOf = ({ at, turn, tilt, far }) => [
  at[0] + far * Math.cos(tilt) * Math.sin(turn), at[1] + far * Math.sin(tilt), at[2] + far * Math.cos(tilt) * Math.cos(turn),
];

export class Drawing {
  constructor(canvas, model) {
    const gl = canvas.getContext("webgl2", { antialias: true, alpha: false });
    if (!gl) throw new Error("no WebGL 2");
    Object.assign(this, { canvas, gl, cut: NO_CUT, model });
    this.programs = { lit: this.#program(LIT, SHADE), dark: this.#program(LIT, DARK), named: this.#program(LIT, NAMED) };
    this.batches = [];
    this.#shadowMap();
    this.#load(model);
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.CULL_FACE);
  }

  #program(vertex, fragment) {
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
    for (const [mesh, numbers] of byMesh) {
      for (const part of meshes[mesh].parts) {
        const places = new Float32Array(numbers.length * 4);
        numbers.forEach((number, i) => {
          const { at, turned } = nodes[number];
          places.set([...at, turned ? 1 : 0], i * 4);
          for (const corner of [part.low, part.high]) {
            const here = turned ? [corner[2] + at[0], corner[1] + at[1], -corner[0] + at[2]] : corner.map((value, k) => value + at[k]);
            low = low.map((value, k) => Math.min(value, here[k]));
            high = high.map((value, k) => Math.max(value, here[k]));
          }
        });
        this.batches.push({ ...this.#batch(part, places), numbers, kind: KINDS[part.material] ?? 0, told: new Float32Array(numbers.length * 4) });
      }
    }
    // what lies in the ground isn't looked at
    low[1] = Math.min(Math.max(low[1], (extras.ground_in ?? -1e6) * 0.0254), high[1]);
    if (low[0] > high[0]) { low = [-1, 0, -1]; high = [1, 1, 1]; }
    this.middle = low.map((value, k) => (value + high[k]) / 2);
    this.radius = Math.hypot(...less(high, low)) / 2;
    this.low = low;
    this.high = high;
    const y = (extras.ground_in ?? 0) * 0.0254 - 0.01, r = this.radius * 3, [x, , z] = this.middle;
    const ground = { positions: new Float32Array([x - r, y, z - r, x - r, y, z + r, x + r, y, z + r, x + r, y, z - r]), normals: new Float32Array([0, 1, 0, 0, 1, 0, 0, 1, 0, 0, 1, 0]), indices: new Uint16Array([0, 1, 2, 0, 2, 3]) };
    this.ground = { ...this.#batch(ground, new Float32Array(4)), numbers: [0], kind: 4, told: new Float32Array(4) };
    this.look(() => ({ shown: true, look: 0, member: -1 }));
  }

  #batch(part, places) {
    const { gl } = this, array = gl.createVertexArray();
    gl.bindVertexArray(array);
    const fill = (slot, values, width, per) => {
      const buffer = gl.createBuffer();
      gl.bindBuffer(gl.ARRAY_BUFFER, buffer);
      gl.bufferData(gl.ARRAY_BUFFER, values, gl.DYNAMIC_DRAW);
      gl.enableVertexAttribArray(slot);
      gl.vertexAttribPointer(slot, width, gl.FLOAT, false, 0, 0);
      if (per) gl.vertexAttribDivisor(slot, 1);
      return buffer;
    };
    fill(0, part.positions, 3);
    fill(1, part.normals, 3);
    if (part.grain) fill(2, part.grain, 2);
    if (part.members) fill(3, part.members, 1);
    const placed = fill(4, places, 4, true), looks = fill(5, new Float32Array(places.length), 4, true);
    gl.bindBuffer(gl.ELEMENT_ARRAY_BUFFER, gl.createBuffer());
    gl.bufferData(gl.ELEMENT_ARRAY_BUFFER, part.indices, gl.STATIC_DRAW);
    gl.bindVertexArray(null);
    return { array, placed, looks, places, count: part.indices.length, shown: places.length / 4, type: part.indices instanceof Uint32Array ? gl.UNSIGNED_INT : gl.UNSIGNED_SHORT };
  }

  // Which nodes are shown, and how; `said(node, number)` answers { shown, look, member }.
  look(said) {
    const { gl } = this;
    for (const batch of this.batches) {
      const places = [], told = [];
      batch.numbers.forEach((number, i) => {
        const { shown, look, member } = said(this.model.nodes[number], number);
        if (!shown) return;
        places.push(...batch.places.subarray(i * 4, i * 4 + 4));
        told.push(number, look, member, number % 97);
      });
      batch.shown = places.length / 4;
      gl.bindBuffer(gl.ARRAY_BUFFER, batch.placed);
      gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array(places));
      gl.bindBuffer(gl.ARRAY_BUFFER, batch.looks);
      gl.bufferSubData(gl.ARRAY_BUFFER, 0, new Float32Array(told));
    }
    this.#castShadows();
  }

  cutAt(plane) {
    this.cut = plane;
    this.#castShadows();
  }

  #castShadows() {
    const { gl } = this;
    this.towardSun = unit([-0.55, 0.95, 0.62]);
    const eye = this.middle.map((value, k) => value + this.towardSun[k] * this.radius * 2);
    this.sun = multiply(parallel(this.radius * 1.05, 0.1, this.radius * 4.4), looking(eye, this.middle));
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadowFrame);
    gl.viewport(0, 0, SHADOW_PX, SHADOW_PX);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.#draw(this.programs.dark, this.sun, this.batches.filter(({ kind }) => kind < 2 || kind === 3));
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  #draw({ program, places }, view, batches, more = {}) {
    const { gl } = this;
    gl.useProgram(program);
    gl.uniformMatrix4fv(places.view, false, view);
    if (places.sun) gl.uniformMatrix4fv(places.sun, false, this.sun);
    gl.uniform4fv(places.cut, this.cut);
    for (const [name, value] of Object.entries(more)) if (places[name]) gl[value.length ? `uniform${value.length}fv` : "uniform1f"](places[name], value);
    for (const batch of batches) {
      if (!batch.shown) continue;
      if (places.kind) gl.uniform1i(places.kind, batch.kind);
      gl.bindVertexArray(batch.array);
      gl.drawElementsInstanced(gl.TRIANGLES, batch.count, batch.type, 0, batch.shown);
    }
    gl.bindVertexArray(null);
  }

  // The corners of all that stands there, as the camera sees them: across and up, 1 at the canvas's edges.
  #corners(camera) {
    const view = this.view(camera), found = [];
    for (const x of [this.low[0], this.high[0]]) for (const y of [this.low[1], this.high[1]]) for (const z of [this.low[2], this.high[2]]) {
      const [u, v, , w] = [0, 1, 2, 3].map((k) => view[k] * x + view[4 + k] * y + view[8 + k] * z + view[12 + k]);
      found.push([u / w, v / w]);
    }
    return found;
  }

  // The camera moved so that all of it fills the canvas.
  fitted(camera) {
    const fit = { ...camera, at: [...this.middle], far: this.radius * 3 };
    for (let i = 0; i < 6; i += 1) {
      const corners = this.#corners(fit), [us, vs] = [0, 1].map((k) => corners.map((corner) => corner[k]));
      const half = Math.max((Math.max(...us) - Math.min(...us)) / 2, (Math.max(...vs) - Math.min(...vs)) / 2);
      const ratio = this.canvas.width / this.canvas.height, reach = Math.tan(0.31) * fit.far;
      const du = ((Math.max(...us) + Math.min(...us)) / 2) * reach * ratio, dv = ((Math.max(...vs) + Math.min(...vs)) / 2) * reach;
      const right = [Math.cos(fit.turn), 0, -Math.sin(fit.turn)];
      const up = [-Math.sin(fit.tilt) * Math.sin(fit.turn), Math.cos(fit.tilt), -Math.sin(fit.tilt) * Math.cos(fit.turn)];
      fit.at = fit.at.map((value, k) => value + right[k] * du + up[k] * dv);
      fit.far *= half / 1.04;
    }
    return fit;
  }

  view(camera) {
    const eye = eyeOf(camera), ratio = this.canvas.width / this.canvas.height;
    return multiply(perspective(0.62, ratio, camera.far * 0.02, camera.far + this.radius * 8), looking(eye, camera.at));
  }

  draw(camera, paper) {
    const { gl } = this, view = this.view(camera);
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.clearColor(...paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.bindTexture(gl.TEXTURE_2D, this.shadow);
    const more = { toward_sun: this.towardSun, eye: eyeOf(camera), ground_colour: paper, radius: this.radius };
    const solid = this.batches.filter(({ kind }) => kind < 2), clear = this.batches.filter(({ kind }) => kind >= 2);
    this.#draw(this.programs.lit, view, solid, more);
    if (eyeOf(camera)[1] > this.low[1]) this.#draw(this.programs.lit, view, [this.ground], more);
    gl.enable(gl.BLEND);
    gl.blendFunc(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA);
    gl.depthMask(false);
    this.#draw(this.programs.lit, view, clear, more);
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
    this.#draw(this.programs.named, this.view(camera), this.batches.filter(({ kind }) => kind < 2 || kind === 3));
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
      if (number >= 0) return { number, member: c + 256 * d - 1 };
    }
    return null;
  }
}
