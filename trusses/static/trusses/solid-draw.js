// Draws the set with WebGL 2: a sun with a soft shadow, a sky that lights from above. Metres, y up.
// Colours of the ground come from the page's tokens, so that it is the page's paper.
import { Batches, KINDS } from "./solid-batches.js";
import { LEVELS } from "./solid-pace.js";
import { PROGRAMS } from "./solid-shaders.js";
import { eyeOf, looking, multiply, parallel, perspective, sidesOf, unit } from "./solid-space.js";

const SHADOW_PX = 2048, SAMPLES = 4;
const TOWARD_SUN = unit([-0.55, 0.95, 0.62]);
export const NO_CUT = [0, 0, 0, 1];

export class Drawing {
  // Its programs are made while the set is still on its way.
  constructor(canvas) {
    // edges are smoothed in a frame of our own, so that they needn't be while it moves
    const gl = canvas.getContext("webgl2", { antialias: false });
    if (!gl) throw new Error("no WebGL 2");
    Object.assign(this, { canvas, gl, cut: NO_CUT, programs: new Map(), counts: { calls: 0, triangles: 0 } });
    this.#made("dark");
    this.#made("lit");
    this.#shadowMap();
    gl.enable(gl.DEPTH_TEST);
    gl.enable(gl.CULL_FACE);
    gl.depthFunc(gl.LEQUAL);
  }

  load(model) {
    this.stands = new Batches(this.gl, model);
    const { low, high, middle, radius, boxes } = this.stands;
    Object.assign(this, { model, low, high, middle, radius, boxes });
  }

  // Whether it can be used is asked when it first is: meanwhile the browser may go on making it.
  #made(name) {
    const key = `${name}${this.cut === NO_CUT ? "" : " cut"}`;
    if (this.programs.has(key)) return this.programs.get(key);
    const { gl } = this, program = gl.createProgram(), { placed, shaded } = PROGRAMS[name];
    const shaders = [[gl.VERTEX_SHADER, placed], [gl.FRAGMENT_SHADER, shaded[this.cut === NO_CUT ? 0 : 1]]].map(([kind, source]) => {
      const shader = gl.createShader(kind);
      gl.shaderSource(shader, source);
      gl.compileShader(shader);
      gl.attachShader(program, shader);
      return shader;
    });
    gl.linkProgram(program);
    this.programs.set(key, { program, shaders });
    return this.programs.get(key);
  }

  #program(name) {
    const { gl } = this, made = this.#made(name), { program, shaders } = made;
    if (made.places) return made;
    if (!gl.getProgramParameter(program, gl.LINK_STATUS)) throw new Error([...shaders.map((one) => gl.getShaderInfoLog(one)), gl.getProgramInfoLog(program)].join("\n"));
    made.places = {};
    for (let i = 0; i < gl.getProgramParameter(program, gl.ACTIVE_UNIFORMS); i += 1) {
      const { name: uniform } = gl.getActiveUniform(program, i);
      made.places[uniform] = gl.getUniformLocation(program, uniform);
    }
    return made;
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

  // Colour and depth to draw into, and what throws them away.
  #frame(samples, depthFormat) {
    const { gl } = this, { width, height } = this.canvas, frame = gl.createFramebuffer();
    gl.bindFramebuffer(gl.FRAMEBUFFER, frame);
    const made = [[gl.RGBA8, gl.COLOR_ATTACHMENT0], [depthFormat, gl.DEPTH_ATTACHMENT]].map(([format, slot]) => {
      const buffer = gl.createRenderbuffer();
      gl.bindRenderbuffer(gl.RENDERBUFFER, buffer);
      gl.renderbufferStorageMultisample(gl.RENDERBUFFER, samples, format, width, height);
      gl.framebufferRenderbuffer(gl.FRAMEBUFFER, slot, gl.RENDERBUFFER, buffer);
      return buffer;
    });
    return { frame, width, height, ends: () => { gl.deleteFramebuffer(frame); made.forEach((one) => gl.deleteRenderbuffer(one)); } };
  }

  #smoothly() {
    const { gl, canvas } = this;
    if (this.smooth?.width === canvas.width && this.smooth.height === canvas.height) gl.bindFramebuffer(gl.FRAMEBUFFER, this.smooth.frame);
    else {
      this.smooth?.ends();
      this.smooth = this.#frame(Math.min(SAMPLES, gl.getParameter(gl.MAX_SAMPLES)), gl.DEPTH_COMPONENT24);
    }
  }

  #shows() {
    const { gl } = this, { width, height } = this.canvas;
    gl.bindFramebuffer(gl.DRAW_FRAMEBUFFER, null);
    gl.blitFramebuffer(0, 0, width, height, 0, 0, width, height, gl.COLOR_BUFFER_BIT, gl.NEAREST);
    gl.invalidateFramebuffer(gl.READ_FRAMEBUFFER, [gl.COLOR_ATTACHMENT0, gl.DEPTH_ATTACHMENT]);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
  }

  look(said) {
    this.stands.look(said);
    this.dark = false;
  }

  // What is cut away casts no shadow any more, unless the cut only clears the view.
  cutAt(plane, clears = false) {
    this.cut = plane;
    if (!clears) this.dark = false;
  }

  #castShadows() {
    const { gl } = this;
    const [near, far] = [2, 1e4].map((times) => this.middle.map((value, k) => value + TOWARD_SUN[k] * this.radius * times));
    this.sun = multiply(parallel(this.radius * 1.05, 0.1, this.radius * 4.4), looking(near, this.middle));
    this.stands.keep(() => true, far);
    gl.bindFramebuffer(gl.FRAMEBUFFER, this.shadowFrame);
    gl.viewport(0, 0, SHADOW_PX, SHADOW_PX);
    gl.clear(gl.DEPTH_BUFFER_BIT);
    this.#draw("dark", this.sun, this.#of(KINDS.wood, KINDS.wall, KINDS.run));
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    this.dark = true;
  }

  // Only what the camera sees, and isn't cut away whole.
  #keepSeen(view, camera) {
    const sides = sidesOf(view), [a, b, c, d] = this.cut;
    this.stands.keep(([x, y, z], reach) => sides.every((side) => side[0] * x + side[1] * y + side[2] * z + side[3] > -reach) && a * x + b * y + c * z - d < reach, eyeOf(camera));
  }

  #of(...kinds) {
    return this.stands.all.filter(({ kind }) => kinds.includes(kind));
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
      gl[batch.kind === KINDS.run ? "disable" : "enable"](gl.CULL_FACE);
      gl.bindVertexArray(batch.array);
      for (const [first, count] of batch.shown ?? [[0, batch.count]]) {
        gl.drawElementsInstanced(gl.TRIANGLES, count, batch.type, first * batch.bytes, batch.drawn);
        this.counts.calls += 1;
        this.counts.triangles += (count / 3) * batch.drawn;
      }
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

  // One picture, as fine as its level says.
  draw(camera, paper, { smooth, plain } = LEVELS[0]) {
    smooth &&= this.smooths !== false;
    const { gl } = this, view = this.view(camera);
    this.counts = { calls: 0, triangles: 0 };
    // while a cut is slid on what can't keep up, the shadow follows when it rests
    if (!this.dark && !(plain && this.sun)) this.#castShadows();
    this.#keepSeen(view, camera);
    if (smooth) this.#smoothly();
    gl.viewport(0, 0, this.canvas.width, this.canvas.height);
    gl.clearColor(...paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.bindTexture(gl.TEXTURE_2D, this.shadow);
    const more = { toward_sun: TOWARD_SUN, ground_colour: paper, radius: this.radius };
    const ground = eyeOf(camera)[1] > this.low[1] ? [this.stands.ground] : [];
    this.#draw(plain ? "plain" : "lit", view, [...this.#of(KINDS.wall, KINDS.wood), ...ground], more);
    this.#draw("lit", view, this.#of(KINDS.run), more);
    gl.enable(gl.BLEND);
    // seen through, but not to what lies under the canvas
    gl.blendFuncSeparate(gl.SRC_ALPHA, gl.ONE_MINUS_SRC_ALPHA, gl.ZERO, gl.ONE);
    gl.depthMask(false);
    this.#draw("lit", view, this.#of(KINDS.opening), more);
    gl.depthMask(true);
    gl.disable(gl.BLEND);
    if (!smooth) return;
    this.#shows();
    if (this.smooths) return;
    // asked once: a picture with rough edges is better than none
    this.smooths = gl.getError() === gl.NO_ERROR;
    if (!this.smooths) this.draw(camera, paper, { plain });
  }

  // Of the picture told to the graphics last: whether it is drawn by now. One without graphics any more is, too.
  sent() {
    const { gl } = this, sync = gl.fenceSync(gl.SYNC_GPU_COMMANDS_COMPLETE, 0);
    gl.flush();
    return {
      done: () => {
        if (sync && gl.getSyncParameter(sync, gl.SYNC_STATUS) === gl.UNSIGNALED) return false;
        gl.deleteSync(sync);
        return true;
      },
    };
  }

  // What stands at a place of the canvas, in its own pixels: { number, member } or null.
  pick(camera, x, y) {
    const { gl } = this, { width, height } = this.canvas;
    const named = this.#frame(0, gl.DEPTH_COMPONENT16);
    gl.viewport(0, 0, width, height);
    gl.clearColor(0, 0, 0, 0);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    this.#keepSeen(this.view(camera), camera);
    this.#draw("named", this.view(camera), this.#of(KINDS.wood, KINDS.wall, KINDS.run));
    const found = new Uint8Array(4 * 81);
    gl.readPixels(Math.max(0, x - 4), Math.max(0, height - y - 5), 9, 9, gl.RGBA, gl.UNSIGNED_BYTE, found);
    gl.bindFramebuffer(gl.FRAMEBUFFER, null);
    named.ends();
    // a thumb is wider than wood is drawn: the nearest of a few pixels around
    const order = [...Array(81).keys()].sort((a, b) => Math.hypot((a % 9) - 4, Math.floor(a / 9) - 4) - Math.hypot((b % 9) - 4, Math.floor(b / 9) - 4));
    for (const i of order) {
      const [a, b, c, d] = found.subarray(i * 4, i * 4 + 4), number = a + 256 * b - 1;
      if (number >= 0 && this.model.nodes[number]) return { number, member: c + 256 * d - 1 };
    }
    return null;
  }
}
