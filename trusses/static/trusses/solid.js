// The set turned under a thumb; without WebGL 2 the plain picture, which the page itself has where scripts are off.
import { readGlb, turned } from "./glb.js";
import { Drawing, NO_CUT } from "./solid-draw.js";
import { Frames } from "./solid-frames.js";
import { eyeOf } from "./solid-space.js";

const LOOKS = { "": 0, touched: 1, before: 2, after: 3 };
const PRINTABLE_MS = 4000, FINEST = 2, COARSEST = 0.75;
const stage = document.getElementById("solid");
const controls = document.getElementById("solid-controls");
const says = document.getElementById("solid-says");
const drawn = document.getElementById("solid-drawn");

const paperColour = () => {
  const probe = document.createElement("canvas").getContext("2d", { willReadFrequently: true });
  probe.fillStyle = getComputedStyle(document.documentElement).getPropertyValue("--paper").trim() || "#faf8f3";
  probe.fillRect(0, 0, 1, 1);
  return [...probe.getImageData(0, 0, 1, 1).data].slice(0, 3).map((value) => value / 255);
};

// With five hundred trusses it takes longer than the set itself, so it isn't drawn where that will stand.
const plainPicture = (hidden) => {
  const picture = stage.querySelector("img") ?? Object.assign(document.createElement("img"), { src: stage.dataset.picture, alt: "The set, drawn from above and from one corner of the plan" });
  picture.hidden = hidden;
  stage.append(picture);
};

class Viewer {
  constructor(drawing, model) {
    const { canvas } = drawing;
    Object.assign(this, { canvas, drawing, model });
    drawing.load(model);
    this.frames = new Frames((level) => this.#picture(level));
    this.paper = paperColour();
    this.chosen = null;
    this.level = "";
    this.walls = true;
    this.state = "after";
    this.sharp = 1;
    this.pointers = new Map();
    this.fits();
    this.from("corner");
    this.listens();
    new ResizeObserver(() => { if (this.fits()) this.draws(); }).observe(canvas);
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => { this.paper = paperColour(); this.draws(); });
    this.shows();
  }

  from(side) {
    const [turn, tilt] = { corner: [-0.7, 0.42], south: [0, 0.1], west: [-Math.PI / 2, 0.1], above: [0, 1.5] }[side];
    this.camera = this.drawing.fitted({ turn, tilt });
    this.draws();
  }

  fits() {
    const ratio = Math.max(COARSEST, Math.min(devicePixelRatio || 1, FINEST) * this.sharp), { clientWidth, clientHeight } = this.canvas;
    const [width, height] = [clientWidth, clientHeight].map((pixels) => Math.max(1, Math.round(pixels * ratio)));
    if (this.canvas.width === width && this.canvas.height === height) return false;
    Object.assign(this.canvas, { width, height });
    return true;
  }

  // A picture of what there is now; `moving` where the next one comes at once.
  draws(moving = false) {
    if (this.drawing) this.frames.wants(moving);
  }

  #picture(level) {
    this.sharp = level.sharp;
    this.fits();
    try {
      this.drawing.draw(this.camera, this.paper, level);
    } catch (trouble) {
      this.frames.ends();
      this.#plain(true);
      stage.dataset.trouble = String(trouble);
      return { done: () => true };
    }
    this.pictures = (this.pictures ?? 0) + 1;
    stage.dataset.pictures = this.pictures;
    return this.drawing.sent();
  }

  shows() {
    const every = new Set(), there = new Set();
    this.drawing.look(({ extras }, number) => {
      const { shown = "", level, kind, truss, copy } = extras;
      const away = (this.level && level !== this.level) || (kind === "wall" && !this.walls) || (shown === "before" && this.state === "after") || (shown === "after" && this.state === "before");
      if (kind === "truss") {
        every.add(`${truss}/${copy}`);
        if (!away) there.add(`${truss}/${copy}`);
      }
      return { shown: !away, look: LOOKS[shown] ?? 0, member: this.chosen?.number === number ? Math.max(this.chosen.member, 0) : -1 };
    });
    drawn.textContent = there.size === every.size ? `${every.size} truss${every.size === 1 ? "" : "es"} drawn.` : `${there.size} of ${every.size} trusses drawn.`;
    this.draws();
  }

  // One level by itself, or all; what was tapped on another is chosen no more.
  only(level) {
    this.level = level;
    if (level && this.chosen && this.model.nodes[this.chosen.number].extras.level !== level) this.chooses(null);
    else this.shows();
  }

  chooses(chosen) {
    this.chosen = chosen;
    this.shows();
    if (!chosen) {
      says.textContent = "Tap a truss to read which it is.";
      return;
    }
    const node = this.model.nodes[chosen.number], { kind, mark, copy, level, stage: where, href, shown, marked_end: end } = node.extras;
    if (kind === "run") {
      const slide = Object.assign(document.createElement("input"), { type: "range", min: 0, max: 1000, value: 0 });
      slide.addEventListener("input", () => this.follows(node.extras.path, Number(slide.value) / 1000));
      const label = document.createElement("label");
      label.append(`Follow ${node.name} `, slide);
      says.replaceChildren(label);
      return;
    }
    if (kind !== "truss") {
      says.textContent = node.name;
      return;
    }
    const member = this.model.meshes[node.mesh].extras.called?.[chosen.member];
    const link = Object.assign(document.createElement("a"), { href });
    link.append(Object.assign(document.createElement("bdi"), { textContent: mark }), ` copy ${copy}`);
    const rest = [member && `piece ${member}`, level, where, end && `its marked end toward the plan’s ${end}`, shown && (shown === "touched" ? "the request touches it" : `${shown} the change`)].filter(Boolean).join(", ");
    const cut = Object.assign(document.createElement("button"), { type: "button", className: "button quiet", textContent: "Cut here" });
    cut.addEventListener("click", () => this.cutsAt(node));
    says.replaceChildren(link, `: ${rest}. `, cut);
  }

  // What stands before a truss goes away, so that one looks at its face.
  cutsAt({ at, extras, mesh, turns }) {
    const across = extras.along === "y", eye = eyeOf(this.camera);
    // along plan x its face looks south or north (z), along plan y east or west (x)
    const axis = across ? 0 : 2, sign = eye[axis] > at[axis] ? 1 : -1;
    const plane = [0, 0, 0, 0];
    plane[axis] = sign;
    plane[3] = sign * at[axis] + 0.12;
    this.drawing.cutAt(plane);
    const { low, high } = this.model.meshes[mesh].parts[0], [s, y] = [0, 1].map((k) => (low[k] + high[k]) / 2);
    const middle = turned([s, y, 0], turns).map((value, k) => value + at[k]);
    const wide = (high[0] - low[0]) / Math.min(1, this.canvas.width / this.canvas.height);
    const turn = across ? (sign * Math.PI) / 2 : sign > 0 ? 0 : Math.PI;
    this.camera = { at: middle, turn, tilt: 0.08, far: Math.max(wide, (high[1] - low[1]) * 2) * 1.1 };
    this.tells(plane);
    this.draws();
  }

  // Looks along a run from a little behind and above a place so far along it; what stands before that place is away.
  follows(path, share) {
    const lengths = path.slice(1).map((point, i) => Math.hypot(...point.map((value, k) => value - path[i][k])));
    let left = share * lengths.reduce((sum, length) => sum + length, 0), i = 0;
    while (i < lengths.length - 1 && left > lengths[i]) left -= lengths[i++];
    const [a, b] = [path[i], path[i + 1]], part = lengths[i] ? left / lengths[i] : 0;
    const at = a.map((value, k) => value + (b[k] - value) * part), turn = Math.atan2(a[0] - b[0], a[2] - b[2]);
    this.camera = { at, turn, tilt: 0.16, far: this.drawing.radius * 0.3 };
    const [x, z] = [Math.sin(turn), Math.cos(turn)], plane = [x, 0, z, x * at[0] + z * at[2] + 0.3];
    this.drawing.cutAt(plane, true);
    this.tells(plane);
    this.draws(true);
  }

  tells(plane) {
    stage.dataset.cut = plane === NO_CUT ? "" : plane.map((value) => value.toFixed(3)).join(" ");
    controls.querySelector("[data-whole]").hidden = plane === NO_CUT;
  }

  slides(kind, share) {
    const axis = kind === "x" ? 0 : 2, { low, high, middle } = this.drawing;
    const at = low[axis] + (high[axis] - low[axis]) * share;
    const plane = [0, 0, 0, 0], eye = eyeOf(this.camera), sign = eye[axis] > middle[axis] ? 1 : -1;
    plane[axis] = sign;
    plane[3] = sign > 0 ? at : -at;
    this.drawing.cutAt(share >= 1 && sign > 0 ? NO_CUT : share <= 0 && sign < 0 ? NO_CUT : plane);
    this.tells(this.drawing.cut);
    this.draws(true);
  }

  listens() {
    const { canvas } = this;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      this.pointers.set(event.pointerId, [event.offsetX, event.offsetY]);
      this.moved = this.pointers.size > 1 ? 99 : 0;
    });
    canvas.addEventListener("pointermove", (event) => {
      const was = this.pointers.get(event.pointerId);
      if (!was) return;
      const now = [event.offsetX, event.offsetY], dx = now[0] - was[0], dy = now[1] - was[1];
      this.moved += Math.hypot(dx, dy);
      if (this.pointers.size === 1) {
        if (event.shiftKey || event.buttons & 6) this.shifts(dx, dy);
        else this.turns(dx * 0.006, dy * 0.006);
      } else {
        const other = [...this.pointers].find(([id]) => id !== event.pointerId)[1];
        const before = Math.hypot(was[0] - other[0], was[1] - other[1]), after = Math.hypot(now[0] - other[0], now[1] - other[1]);
        if (before > 0 && after > 0) this.nears(before / after);
        this.shifts(dx / 2, dy / 2);
      }
      this.pointers.set(event.pointerId, now);
    });
    const ends = (event) => {
      const tapped = this.pointers.size === 1 && this.moved < 6 && event.type === "pointerup";
      this.pointers.delete(event.pointerId);
      if (tapped) this.taps(event.offsetX, event.offsetY);
    };
    canvas.addEventListener("pointerup", ends);
    canvas.addEventListener("pointercancel", ends);
    canvas.addEventListener("contextmenu", (event) => event.preventDefault());
    canvas.addEventListener("wheel", (event) => { event.preventDefault(); this.nears(Math.exp(event.deltaY * 0.0012)); }, { passive: false });
    canvas.addEventListener("keydown", (event) => {
      const keys = { ArrowLeft: [-0.1, 0], ArrowRight: [0.1, 0], ArrowUp: [0, 0.08], ArrowDown: [0, -0.08] };
      if (keys[event.key]) this.turns(...keys[event.key]);
      else if (event.key === "+" || event.key === "=") this.nears(0.85);
      else if (event.key === "-") this.nears(1.18);
      else if (event.key === "Escape") this.chooses(null);
      else return;
      event.preventDefault();
    });
    // what a phone takes away for others it may give back: until then the plain picture, and nothing to press that does nothing
    canvas.addEventListener("webglcontextlost", (event) => {
      event.preventDefault();
      this.frames.ends();
      this.#plain(true);
    });
    canvas.addEventListener("webglcontextrestored", () => {
      const { cut } = this.drawing;
      this.drawing = new Drawing(canvas);
      this.drawing.load(this.model);
      this.drawing.cutAt(cut);
      this.frames = new Frames((level) => this.#picture(level));
      this.#plain(false);
      this.chooses(this.chosen);
    });
  }

  #plain(instead) {
    this.canvas.hidden = controls.hidden = instead;
    if (instead) says.textContent = "This device has no room for the set in three dimensions just now: this is its plain picture.";
    plainPicture(!instead);
  }

  taps(x, y) {
    const ratio = this.canvas.width / this.canvas.clientWidth;
    const found = this.drawing.pick(this.camera, Math.round(x * ratio), Math.round(y * ratio));
    this.chooses(found);
  }

  turns(dx, dy) {
    this.camera.turn -= dx;
    this.camera.tilt = Math.min(1.52, Math.max(-0.2, this.camera.tilt + dy));
    this.draws(true);
  }

  nears(share) {
    const { radius } = this.drawing;
    this.camera.far = Math.min(radius * 8, Math.max(radius * 0.12, this.camera.far * share));
    this.draws(true);
  }

  shifts(dx, dy) {
    const { camera } = this, step = (camera.far * 0.64) / this.canvas.clientHeight;
    const right = [Math.cos(camera.turn), 0, -Math.sin(camera.turn)], away = [-Math.sin(camera.turn), 0, -Math.cos(camera.turn)];
    const up = Math.cos(camera.tilt), along = Math.sin(camera.tilt);
    camera.at = camera.at.map((value, k) => value - right[k] * dx * step + (k === 1 ? up : away[k] * along) * dy * step);
    this.draws(true);
  }
}

const begin = async () => {
  if (!("WebGL2RenderingContext" in window)) throw new Error("no WebGL 2");
  const answers = fetch(stage.dataset.set, { credentials: "same-origin" });
  const shown = Object.assign(document.createElement("canvas"), { tabIndex: 0 });
  shown.setAttribute("role", "application");
  shown.setAttribute("aria-label", "The set in three dimensions: drag or use the arrow keys to turn it, plus and minus to come nearer, tap a truss to read which it is");
  const drawing = new Drawing(shown), answer = await answers;
  if (!answer.ok) throw new Error(`the server answered ${answer.status}`);
  const model = readGlb(await answer.arrayBuffer());
  if (!model.nodes.length) throw new Error("nothing stands there");
  stage.append(shown);
  const viewer = new Viewer(drawing, model);
  controls.hidden = false;
  controls.addEventListener("click", ({ target }) => {
    const side = target.closest("[data-from]")?.dataset.from;
    if (side) viewer.from(side);
    if (target.closest("[data-whole]")) { viewer.drawing.cutAt(NO_CUT); viewer.tells(NO_CUT); viewer.draws(); }
  });
  controls.addEventListener("input", ({ target }) => {
    if (target.name === "level") viewer.only(target.value);
    else if (target.name === "walls") { viewer.walls = target.checked; viewer.shows(); }
    else if (target.dataset.cut !== undefined) viewer.slides(target.dataset.cut, Number(target.value) / 1000);
    else if (target.name === "state") { viewer.state = target.value; viewer.shows(); }
  });
  // for what follows a run, and for tests
  stage.viewer = viewer;
  stage.dataset.ready = "yes";
  // what is printed; where the graphics were taken away until then it stands in for them
  setTimeout(() => { if (!viewer.canvas.hidden) plainPicture(true); }, PRINTABLE_MS);
};
begin().catch((trouble) => {
  stage.querySelector("canvas")?.remove();
  plainPicture(false);
  document.getElementById("solid-says").textContent = "A plain picture: nothing in it can be turned or tapped in this browser.";
  stage.dataset.trouble = String(trouble);
});
