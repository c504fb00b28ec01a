// A drawing under two fingers: they zoom about their middle, one finger moves what is zoomed, a double tap brings it nearer
// or back to the whole; buttons below it and keys on it do the same. Only the viewBox changes, so letters grow with the
// wood and no name comes to lie on it. Before and after are looked at together. A plan is moved by scrolling, and two
// fingers change its size. What is no gesture of the drawing's is left to the page: its scroll at the drawing's edge, its
// own zoom when fingers close on a drawing that is whole.
const MOST = 8, STEP = 1.6, TWICE = 3, PAN_SHARE = 0.4, SLOP_PX = 6, TWICE_MS = 320, NEAR_PX = 28;
const DRAWINGS = ".drawing:not(.plan-sheet, .at-desk, [aria-live] .drawing)", PLANS = ".plan-sheet, .choose-sheet";
const GRIP = ".opening.ask"; // moves by itself under one finger, place.js
const within = (value, low, high) => Math.min(Math.max(value, low), high);
const middle = (touches) => touches.reduce((sum, one) => ({ x: sum.x + one.clientX / touches.length, y: sum.y + one.clientY / touches.length }), { x: 0, y: 0 });
const apart = ([a, b]) => Math.hypot(a.clientX - b.clientX, a.clientY - b.clientY);

// --- what is looked at: of all drawings that belong together one state for the wholes, and one for their enlarged details

const states = new WeakMap(), named = new Map();
const groupOf = (drawing) => drawing.closest(".both") ?? drawing;
const kindOf = (svg) => (svg.closest(".enlarged") ? "detail" : "whole");
const stateOf = (drawing) => { // what htmx draws anew keeps its id, and what was looked at
  const group = groupOf(drawing), [kept, key] = group.id ? [named, group.id] : [states, group];
  if (!kept.has(key)) kept.set(key, { whole: { k: 1, at: null }, detail: { k: 1, at: null }, last: "whole" });
  return kept.get(key);
};
const membersOf = (drawing) => {
  const group = groupOf(drawing);
  return group.matches(DRAWINGS) ? [group] : [...group.querySelectorAll(DRAWINGS)];
};
const svgsOf = (drawing) => [...drawing.querySelectorAll("svg[viewBox]")];
const isShown = (svg) => svg.getClientRects().length > 0;

const homes = new WeakMap();
const homeOf = (svg) => {
  if (!homes.has(svg)) homes.set(svg, svg.getAttribute("viewBox").split(/[\s,]+/).map(Number));
  return homes.get(svg);
};
// The common point and measure of drawings that are not equally high: inches from the truss's own origin; of a detail,
// which follows an opening, from its middle.
const originOf = (svg) => {
  const [x, y, w, h] = homeOf(svg), { x0, y0, scale } = svg.dataset;
  if (kindOf(svg) === "detail" || y0 === undefined) return { x: x + w / 2, y: y + h / 2, scale: Number(scale) || 1 };
  return { x: Number(x0), y: Number(y0), scale: Number(scale) };
};
const viewOf = (svg) => {
  const [x, y, w, h] = svg.getAttribute("viewBox").split(/[\s,]+/).map(Number);
  return { x: x + w / 2, y: y + h / 2 };
};
const kept = (svg, { x, y }, k) => {
  const [left, top, w, h] = homeOf(svg), [halfW, halfH] = [w / k / 2, h / k / 2];
  return { x: within(x, left + halfW, left + w - halfW), y: within(y, top + halfH, top + h - halfH) };
};
const draw = (svg, { k, at }) => {
  const [left, top, w, h] = homeOf(svg);
  if (k <= 1 || !at) {
    svg.setAttribute("viewBox", [left, top, w, h].join(" "));
    return;
  }
  const from = originOf(svg), { x, y } = kept(svg, { x: from.x + at.x * from.scale, y: from.y + at.y * from.scale }, k);
  svg.setAttribute("viewBox", [x - w / k / 2, y - h / k / 2, w / k, h / k].map((value) => value.toFixed(2)).join(" "));
};
const show = (drawing, { tell = false } = {}) => {
  const state = stateOf(drawing);
  for (const member of membersOf(drawing)) {
    for (const svg of svgsOf(member)) draw(svg, state[kindOf(svg)]);
    bars.get(member)?.shows(state, tell);
  }
};
// `centre` in the units of that drawing, k times as large.
const look = (drawing, svg, centre, k, more) => {
  const state = stateOf(drawing), kind = kindOf(svg), nearer = within(k, 1, MOST), from = originOf(svg), to = kept(svg, centre, nearer);
  state[kind] = nearer > 1 ? { k: nearer, at: { x: (to.x - from.x) / from.scale, y: (to.y - from.y) / from.scale } } : { k: 1, at: null };
  state.last = kind;
  show(drawing, more);
};
const whole = (drawing, more) => {
  const state = stateOf(drawing);
  for (const kind of ["whole", "detail"]) state[kind] = { k: 1, at: null };
  state.last = "whole";
  show(drawing, more);
};
const looked = (drawing) => {
  const { last } = stateOf(drawing), svgs = svgsOf(drawing).filter(isShown);
  return svgs.find((svg) => kindOf(svg) === last) ?? svgs[0];
};
const step = (drawing, by) => {
  const svg = looked(drawing), { k, at } = stateOf(drawing)[kindOf(svg)];
  const own = k > 1 && at ? viewOf(svg) : mattersOf(svg) ?? viewOf(svg);
  look(drawing, svg, own, k * by, { tell: true });
};
const mattersOf = (svg) => { // what a button brings nearer first: what is asked for, else the wood
  const grip = svg.querySelector(GRIP), { x0, y0, scale } = svg.dataset;
  if (grip) return { x: Number(x0) + Number(grip.dataset.centreX) * scale, y: Number(y0) - Number(grip.dataset.centreY) * scale };
  const box = svg.querySelector(".members")?.getBBox();
  return box && { x: box.x + box.width / 2, y: box.y + box.height / 2 };
};
const push = (drawing, right, down) => {
  const svg = looked(drawing), { k } = stateOf(drawing)[kindOf(svg)], [, , w, h] = homeOf(svg), { x, y } = viewOf(svg);
  look(drawing, svg, { x: x + (right * PAN_SHARE * w) / k, y: y + (down * PAN_SHARE * h) / k }, k, { tell: true });
};

// --- buttons below the drawing, for whoever has one finger, a mouse or a switch

const bars = new Map();
const PUSHES = { "←": ["Look further left", -1, 0], "→": ["Look further right", 1, 0], "↑": ["Look further up", 0, -1], "↓": ["Look further down", 0, 1] };
const barOf = (drawing) => {
  const next = drawing.nextElementSibling, bar = next?.matches(".zoomer") ? next : Object.assign(document.createElement("div"), { className: "zoomer no-print" });
  bar.setAttribute("role", "group");
  bar.setAttribute("aria-label", "How near the drawing is");
  const says = Object.assign(document.createElement("span"), { className: "visually-hidden" });
  says.setAttribute("role", "status");
  const button = (text, label, act) => {
    const made = Object.assign(document.createElement("button"), { type: "button", textContent: text, onclick: act });
    if (label !== text) made.setAttribute("aria-label", label);
    bar.append(made);
    return made;
  };
  const pushes = Object.entries(PUSHES).map(([sign, [label, right, down]]) => button(sign, label, () => push(drawing, right, down)));
  const all = button("All of it", "All of it", () => { whole(drawing, { tell: true }); nearer.focus(); });
  const farther = button("Farther", "Farther away", () => { step(drawing, 1 / STEP); if (farther.hidden) nearer.focus(); });
  const nearer = button("Nearer", "Nearer", () => step(drawing, STEP));
  bar.append(says);
  bar.shows = (state, tell) => {
    const { k } = state[state.last], any = Math.max(state.whole.k, state.detail.k) > 1;
    for (const one of [all, farther, ...pushes]) one.hidden = !any;
    nearer.setAttribute("aria-disabled", k >= MOST); // keeps the focus, which a disabled button loses
    drawing.classList.toggle("zoomed", any);
    if (tell) says.textContent = k > 1 ? `${Math.round(k * 10) / 10} times as large` : "All of it";
  };
  return bar;
};

// --- fingers

const fingers = (drawing) => {
  let held = null, tapped = null;
  const svgAt = (touch) => touch.target.closest?.("svg[viewBox]") ?? svgsOf(drawing).find(isShown);
  const begin = (svg, touches) => {
    const matrix = svg.getScreenCTM(), mid = middle(touches), { k } = stateOf(drawing)[kindOf(svg)];
    const point = new DOMPoint(mid.x, mid.y).matrixTransform(matrix.inverse());
    held = { svg, n: touches.length, mid, point, k, pixels: matrix.a / k, apart: touches.length > 1 ? apart(touches) : 0, moved: false };
  };
  const follow = (touches) => {
    const mid = middle(touches), { svg, point, pixels } = held, k = held.n > 1 ? within(held.k * apart(touches) / held.apart, 1, MOST) : held.k;
    const box = svg.getBoundingClientRect(), scale = pixels * k;
    look(drawing, svg, { x: point.x - (mid.x - box.left - box.width / 2) / scale, y: point.y - (mid.y - box.top - box.height / 2) / scale }, k);
  };
  // What the drawing can't do the page does: scroll on at the edge, and zoom out when it is itself zoomed.
  const isOurs = (touches) => {
    const { k } = held;
    if (held.n > 1) return k > 1 || apart(touches) >= held.apart;
    const mid = middle(touches), by = { x: held.mid.x - mid.x, y: held.mid.y - mid.y }, now = viewOf(held.svg);
    const way = Math.abs(by.y) > Math.abs(by.x) ? { x: 0, y: Math.sign(by.y) } : { x: Math.sign(by.x), y: 0 };
    const then = kept(held.svg, { x: now.x + way.x, y: now.y + way.y }, k);
    return Math.abs(then.x - now.x) + Math.abs(then.y - now.y) > 0.1;
  };
  const start = (event) => {
    const touches = [...event.touches].filter((touch) => drawing.contains(touch.target));
    const svg = svgAt(touches[0] ?? event.changedTouches[0]), onGrip = touches.some((touch) => touch.target.closest(GRIP));
    held = null;
    if (!svg || touches.length > 2 || "holds" in drawing.dataset || (onGrip && touches.length === 1)) return;
    if (touches.length === 2 || stateOf(drawing)[kindOf(svg)].k > 1) begin(svg, touches);
    if (touches.length === 1 && !drawing.closest("[data-taps]")) { // where a tap says where, two of them say no more
      const { clientX: x, clientY: y } = touches[0], at = event.timeStamp;
      const again = tapped && at - tapped.at < TWICE_MS && Math.hypot(x - tapped.x, y - tapped.y) < NEAR_PX;
      tapped = again ? { x, y, at, again: true } : { x, y, at };
    } else tapped = null;
  };
  const move = (event) => {
    const touches = [...event.touches].filter((touch) => drawing.contains(touch.target));
    if (tapped && Math.hypot(touches[0].clientX - tapped.x, touches[0].clientY - tapped.y) > SLOP_PX) tapped = null;
    if (!held || touches.length !== held.n) return;
    held.moved ||= isOurs(touches) ? "ours" : "the page's";
    if (held.moved !== "ours") return;
    event.preventDefault();
    follow(touches);
  };
  const end = (event) => {
    const left = [...event.touches].filter((touch) => drawing.contains(touch.target));
    if (held && left.length === 1 && held.moved === "ours") { // one of two fingers was lifted: the other goes on
      begin(held.svg, left);
      held.moved = "ours";
      return;
    }
    if (event.type === "touchend" && tapped?.again && !left.length) {
      const svg = svgAt(event.changedTouches[0]), { k } = stateOf(drawing)[kindOf(svg)];
      const matrix = svg.getScreenCTM(), point = new DOMPoint(tapped.x, tapped.y).matrixTransform(matrix.inverse());
      if (k > 1) whole(drawing);
      else look(drawing, svg, point, TWICE);
      tapped = null;
    }
    if (!left.length) held = null;
  };
  drawing.addEventListener("touchstart", start, { passive: true });
  drawing.addEventListener("touchmove", move, { passive: false });
  drawing.addEventListener("touchend", end);
  drawing.addEventListener("touchcancel", end);

  // A mouse moves what is zoomed; the click at its end is none.
  let drags = null, swallow = false;
  drawing.addEventListener("pointerdown", (event) => {
    const svg = event.target.closest("svg[viewBox]");
    swallow = false;
    if (event.pointerType !== "mouse" || event.button || !svg || event.target.closest(GRIP) || stateOf(drawing)[kindOf(svg)].k <= 1) return;
    drags = { x: event.clientX, y: event.clientY, svg, from: viewOf(svg), scale: svg.getScreenCTM().a, pointer: event.pointerId };
  });
  drawing.addEventListener("pointermove", (event) => {
    if (!drags || event.pointerId !== drags.pointer) return;
    if (!event.buttons) { drags = null; return; }
    const [dx, dy] = [event.clientX - drags.x, event.clientY - drags.y];
    if (!swallow && Math.hypot(dx, dy) < SLOP_PX) return;
    if (!swallow) drawing.setPointerCapture(event.pointerId);
    swallow = true;
    const { svg, from, scale } = drags;
    look(drawing, svg, { x: from.x - dx / scale, y: from.y - dy / scale }, stateOf(drawing)[kindOf(svg)].k);
  });
  drawing.addEventListener("pointerup", () => { drags = null; });
  drawing.addEventListener("click", (event) => { if (swallow) { event.stopPropagation(); event.preventDefault(); swallow = false; } }, { capture: true });

  drawing.addEventListener("keydown", (event) => {
    if (event.target !== drawing || event.ctrlKey || event.metaKey || event.altKey) return;
    const { key } = event, { last, ...of } = stateOf(drawing), pushed = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[key];
    if (key === "+" || key === "=") step(drawing, STEP);
    else if (key === "-") step(drawing, 1 / STEP);
    else if (key === "0") whole(drawing, { tell: true });
    else if (pushed && of[last].k > 1) push(drawing, ...pushed);
    else return;
    event.preventDefault();
  });
};

// --- a plan: larger and smaller within its own scrolling

const plan = (sheet) => {
  let held = null;
  const parts = () => [...sheet.querySelectorAll("svg[viewBox]")];
  sheet.addEventListener("touchstart", ({ touches }) => {
    held = null;
    if (touches.length !== 2 || ![...touches].every((touch) => sheet.contains(touch.target)) || !parts().length) return;
    const both = [...touches], first = parts()[0].getBoundingClientRect(), mid = middle(both);
    held = { apart: apart(both), wide: parts().map((svg) => svg.getBoundingClientRect().width), x: (mid.x - first.left) / first.width, y: (mid.y - first.top) / first.height };
  }, { passive: true });
  sheet.addEventListener("touchmove", (event) => {
    if (!held || event.touches.length !== 2) return;
    const both = [...event.touches], all = parts(), least = Math.min(1, sheet.clientWidth / held.wide[0]), natural = Number(all[0].getAttribute("width")) || all[0].viewBox.baseVal.width;
    held.ours ??= apart(both) >= held.apart || least < 1 ? "ours" : "the page's"; // a plan that is whole leaves it to the page
    if (held.ours !== "ours") return;
    event.preventDefault();
    const by = within(apart(both) / held.apart, least, Math.max(1, (MOST / 2) * natural / held.wide[0]));
    all.forEach((svg, n) => { Object.assign(svg.style, { width: `${held.wide[n] * by}px`, height: "auto", maxWidth: "none", maxHeight: "none", zoom: "1" }); });
    const mid = middle(both), now = all[0].getBoundingClientRect();
    sheet.scrollLeft += now.left + held.x * now.width - mid.x;
    sheet.scrollTop += now.top + held.y * now.height - mid.y;
  }, { passive: false });
  for (const kind of ["touchend", "touchcancel"]) sheet.addEventListener(kind, () => { held = null; });
};

// It opens where its run is, or the mark whose address or the copies whose selector it names, or in its `middle`; a button below shows all of it, and its place again.
const opensAt = (sheet) => {
  const run = sheet.querySelectorAll(".run-line"), { opens } = sheet.dataset;
  const about = run.length || !opens ? [...run] : opens.startsWith(".") ? [...sheet.querySelectorAll(opens)] : [...sheet.querySelectorAll(".copy")].filter((copy) => (copy.getAttribute("href") ?? copy.getAttribute("xlink:href"))?.startsWith(opens));
  const boxes = (opens === "middle" ? [sheet.querySelector("svg[viewBox]")] : about).map((one) => one.getBoundingClientRect());
  if (!boxes.length) return;
  const left = Math.min(...boxes.map((box) => box.left)), right = Math.max(...boxes.map((box) => box.right));
  const top = Math.min(...boxes.map((box) => box.top)), bottom = Math.max(...boxes.map((box) => box.bottom)), here = sheet.getBoundingClientRect();
  sheet.scrollLeft += (left + right - here.left - here.right) / 2;
  sheet.scrollTop += (top + bottom - here.top - here.bottom) / 2;
};
const placed = (sheet) => {
  const bar = Object.assign(document.createElement("div"), { className: "zoomer no-print" });
  const button = bar.appendChild(Object.assign(document.createElement("button"), { type: "button", textContent: "All of it" }));
  button.onclick = () => {
    const all = sheet.classList.toggle("zoom-whole");
    for (const svg of sheet.querySelectorAll("svg[viewBox]")) svg.removeAttribute("style");
    button.textContent = all ? "Nearer" : "All of it";
    if (!all) opensAt(sheet);
  };
  const shows = () => { bar.hidden = !sheet.classList.contains("zoom-whole") && sheet.scrollWidth <= sheet.clientWidth + 1 && sheet.scrollHeight <= sheet.clientHeight + 1; };
  sheet.after(bar);
  shows();
  addEventListener("resize", shows);
  opensAt(sheet);
};

// --- all of it, also what comes later

const begun = new WeakSet();
const attach = () => {
  for (const drawing of document.querySelectorAll(DRAWINGS)) {
    if (!svgsOf(drawing).length && !drawing.id) continue;
    if (!begun.has(drawing)) {
      begun.add(drawing);
      const bar = barOf(drawing);
      bars.set(drawing, bar);
      if (drawing.nextElementSibling !== bar) drawing.after(bar);
      fingers(drawing);
    }
    show(drawing);
  }
  for (const drawing of bars.keys()) if (!drawing.isConnected) bars.delete(drawing);
  for (const sheet of document.querySelectorAll(PLANS)) if (!begun.has(sheet)) { begun.add(sheet); plan(sheet); if ("opens" in sheet.dataset) placed(sheet); }
};
let focused = -1;
document.addEventListener("htmx:beforeSwap", () => {
  const bar = document.activeElement?.closest?.(".zoomer");
  focused = bar ? [...bar.children].indexOf(document.activeElement) : -1;
});
document.addEventListener("htmx:afterSwap", () => {
  attach();
  if (focused >= 0 && document.activeElement === document.body) document.querySelector(".zoomer")?.children[focused]?.focus();
});
addEventListener("beforeprint", () => { // paper has all of it
  for (const drawing of bars.keys()) for (const svg of svgsOf(drawing)) draw(svg, { k: 1 });
});
addEventListener("afterprint", () => { for (const drawing of bars.keys()) show(drawing); });
attach();
dispatchEvent(new Event("resize")); // buttons came in below the drawings
