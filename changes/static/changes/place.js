// The opening under a thumb: drag it on the drawing, and the page answers while it moves.
// The drawing says how its pixels map to inches (data-scale, data-x0, data-y0); the server alone says what fits.
(() => {
  "use strict";
  const form = document.getElementById("ask");
  if (!form) return;
  const GRIP = ".opening.ask";
  const KEYS_SETTLE_MS = 400, SLOP_PX = 4;
  const QUARTERS = 4; // what a thumb can aim at and a tape shows
  const field = (name) => form.elements[name];
  const csrf = form.querySelector("[name=csrfmiddlewaretoken]").value;
  const stage = () => document.getElementById("stage");

  const { feet } = typed;

  // One question in flight; while it is, only the newest of the others waits.
  let busy = false, waiting = null;
  const ask = async (opening) => {
    if (busy) { waiting = opening; return; }
    busy = true;
    try {
      const { fit, truss } = stage().dataset;
      const reply = await fetch(fit, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
        body: JSON.stringify({ truss: Number(truss), opening }),
      });
      const told = await reply.json();
      if (held) say(reply.ok ? told : { trouble: Object.values(told).flat().join(" ") });
    } catch {
      if (held) say({ trouble: "Is there a signal? Nothing is lost: let go, and it is asked again." });
    }
    busy = false;
    if (waiting && held) { const next = waiting; waiting = null; ask(next); } else waiting = null;
  };

  // Drawn is the size that is shown; a page that turns to the other one asks for that.
  const shown = () => ["desk", "phone"].map((size) => stage().querySelector(`.for-${size}`)).find((one) => one?.getClientRects().length);
  form.addEventListener("htmx:configRequest", (event) => {
    event.detail.parameters.shown = shown()?.classList.contains("for-phone") ? "phone" : "desk";
  });
  addEventListener("resize", () => { if (!held && shown()?.childElementCount === 0) redraw(); });

  // The picture that htmx brings: when it doesn't come, the last verdict must not stand as if it were about what is typed.
  form.addEventListener("htmx:sendError", () => say({ trouble: "No answer. Is there a signal? Nothing typed is lost." }));
  form.addEventListener("htmx:responseError", (event) => {
    const denied = event.detail.xhr.status === 403 || event.detail.xhr.status === 404;
    say({ trouble: denied ? "You are signed in as somebody else now. Sign in again in another tab; nothing typed is lost." : "The server could not answer. Nothing typed is lost; try again." });
  });
  form.addEventListener("htmx:beforeSwap", (event) => {
    if (new URL(event.detail.xhr.responseURL).pathname === location.pathname) return;
    event.detail.shouldSwap = false;
    say({ trouble: "You are signed out. Sign in again in another tab; nothing typed is lost." });
  });

  const spare = (inches) => (inches < 1 / 32 ? "With nothing to spare." : `${feet(inches)} to spare beyond its clear space.`);
  const say = (found) => {
    const note = document.getElementById("answer"), tone = found.trouble || found.never ? "stop" : !found.fits || found.beside ? "look" : "";
    const beside = document.getElementById("answer-beside");
    if (beside) beside.textContent = found.beside ?? "";
    const likely = document.getElementById("answer-likely");
    if (likely) likely.textContent = found.likely ?? "";
    note.classList.remove("look", "stop");
    if (tone) note.classList.add(tone); // what fits is no leave to cut: nothing is green
    note.querySelector("strong").textContent = found.trouble ? "Can't tell yet" : found.answer;
    const says = document.getElementById("answer-says");
    if (says) says.textContent = found.trouble ?? (found.fits ? spare(found.spare_in) : found.says);
    for (const part of stage().querySelectorAll("[data-member]")) {
      part.classList.toggle("in-the-way", (found.touches ?? []).includes(part.dataset.member));
    }
  };

  const opening = (grip) => {
    const { opening: id, shape, centreX, centreY, diameter, width, height, clearance } = grip.dataset;
    const size = shape === "circle" ? { diameter_in: Number(diameter) } : { width_in: Number(width), height_in: Number(height) };
    return { id, shape, centre_in: [Number(centreX), Number(centreY)], ...size, clearance_in: Number(clearance) };
  };

  const inches = (svg, event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return { x: (at.x - Number(svg.dataset.x0)) / Number(svg.dataset.scale), y: (Number(svg.dataset.y0) - at.y) / Number(svg.dataset.scale) };
  };

  // Where the tape is hooked, and what it counts to: a round opening's middle, any other one's near and lower edge.
  const floorAt = (x) => {
    const floor = JSON.parse(stage().dataset.floor);
    if (x <= floor[0][0]) return floor[0][1];
    for (let k = 1; k < floor.length; k++) {
      const [[ax, ay], [bx, by]] = [floor[k - 1], floor[k]];
      if (x <= bx) return ay + (by - ay) * (x - ax) / (bx - ax);
    }
    return floor.at(-1)[1];
  };
  const halves = (grip) => (grip.dataset.shape === "circle" ? [0, 0] : [Number(grip.dataset.width) / 2, Number(grip.dataset.height) / 2]);
  const face = () => JSON.parse(stage().dataset.faces)[field("face").value];
  const marks = ([x, y], [wide, high]) => [face().way * (x - face().x) - wide, y - floorAt(x) - high];
  const centre = ([along, up], [wide, high]) => {
    const x = face().x + face().way * (along + wide);
    return [x, floorAt(x) + up + high];
  };
  // In a drawing so small that a thumb can't aim at a quarter, whole inches from the end; a nearer one has quarters.
  const onTape = (at, half, parts = QUARTERS) => centre(marks(at, half).map((inches) => Math.round(inches * parts) / parts), half);
  const pixel = (svg) => 1 / (Number(svg.dataset.scale) * svg.getScreenCTM().a);
  const size = (grip) => {
    const { shape, diameter, width, height } = grip.dataset;
    return (shape === "circle" ? [diameter, diameter] : [width, height]).map((inches) => inches / 2);
  };
  const snapped = ([x, y], grip, svg) => {
    const found = snaps.near([x, y], size(grip), pixel(svg)), coarse = pixel(svg) > 1 / 2 ? 1 : QUARTERS;
    const [along] = onTape([found.x?.at ?? x, y], halves(grip), found.x?.parts ?? coarse);
    const [, up] = onTape([along, found.y?.at ?? y], halves(grip), found.y?.parts ?? coarse); // from the wood below that place
    return { at: [along, up], says: snaps.words(found) };
  };
  const tell = (says) => { document.getElementById("snapped").textContent = says; };
  const place = (at, half) => {
    marks(at, half).forEach((inches, n) => {
      const name = ["along", "up"][n];
      field(name).value = feet(inches);
      document.getElementById(`id_${name}_error`).textContent = "";
    });
  };
  const redraw = () => form.dispatchEvent(new Event("redraw"));

  // The same opening stands in each drawing of the page, its names and dimensions beside it: all of it goes along.
  const SVG = "http://www.w3.org/2000/svg";
  const mapping = (svg) => ["scale", "x0", "y0"].map((name) => Number(svg.dataset[name]));
  const centreOf = (grip) => [Number(grip.dataset.centreX), Number(grip.dataset.centreY)];
  const stroke = (group, d, like) => {
    const path = group.appendChild(document.createElementNS(SVG, "path"));
    path.setAttribute("d", d);
    for (const name of ["stroke", "stroke-width"]) path.setAttribute(name, like?.getAttribute(name) ?? "currentColor");
    path.setAttribute("fill", "none");
  };
  // What the tape reads where the opening is now; the drawing says from where to where (data-face, data-foot).
  const dimension = (svg, dim, [x, y]) => {
    const [scale, x0, y0] = mapping(svg), told = Object.fromEntries(Object.entries(dim.dataset).map(([k, v]) => [k, Number(v)]));
    dim.live?.remove();
    const live = dim.live = document.createElementNS(SVG, "g");
    live.setAttribute("class", "live-dim");
    dim.after(live);
    const text = live.appendChild(dim.querySelector("text").cloneNode()), size = Number(text.getAttribute("font-size")), t = size * 0.36;
    let ends, inches, at;
    if ("face" in told) {
      const to = x + told.target, [u, w] = [told.face, to].map((inch) => x0 + inch * scale);
      ends = [[u, told.level], [w, told.level]];
      inches = to - told.face;
      at = [(u + w) / 2, told.level - size * 0.37];
    } else {
      const foot = told.foot + told.slope * (x - dim.drawn[0]), to = y + told.target, u = x0 + x * scale + told.aside;
      ends = [[u, y0 - foot * scale], [u, y0 - to * scale]];
      inches = to - foot;
      at = [u + (told.aside < 0 ? -6 : 6), (ends[0][1] + ends[1][1]) / 2 + size * 0.35];
    }
    const tick = dim.querySelector(".tick");
    stroke(live, `M${ends[0]}L${ends[1]}`);
    for (const [u, v] of ends) stroke(live, `M${u - t},${v + t}L${u + t},${v - t}`, tick);
    if ("face" in told) stroke(live, `M${ends[1]}V${y0 - y * scale}`);
    text.setAttribute("text-anchor", "face" in told ? "middle" : told.aside < 0 ? "end" : "start");
    text.setAttribute("x", at[0]);
    text.setAttribute("y", at[1]);
    text.textContent = "face" in told || inches >= 0 ? feet(inches) : `${feet(-inches)} into the chord`;
  };
  const carry = (middle) => {
    for (const grip of stage().querySelectorAll(GRIP)) {
      const svg = grip.ownerSVGElement, [scale] = mapping(svg), [x, y] = grip.drawn;
      const by = [(middle[0] - x) * scale, (y - middle[1]) * scale];
      const moves = `translate(${by[0].toFixed(2)} ${by[1].toFixed(2)})`;
      grip.setAttribute("transform", moves);
      const own = `[data-for="${CSS.escape(grip.dataset.opening)}"]`;
      svg.querySelector(`.opening-label${own}`)?.setAttribute("transform", moves);
      for (const dim of svg.querySelectorAll(`.dim-opening${own}`)) {
        dim.drawn ??= [x, y];
        dimension(svg, dim, middle);
      }
      self.cover(svg, own, by);
      // the enlarged detail looks where the opening is, unless that is what is held
      if (svg.closest(".enlarged") && svg !== held?.svg) {
        svg.looks ??= svg.getAttribute("viewBox").split(" ").map(Number);
        svg.setAttribute("viewBox", [svg.looks[0] + by[0], svg.looks[1] + by[1], svg.looks[2], svg.looks[3]].join(" "));
      }
    }
  };

  // What is being moved, by a pointer or by keys: taken up at `start`, now `at`, inches. It may be taken up again
  // before the server has drawn where it was let go, so where it is `drawn` can be a third place.
  let held = null;
  const hold = (grip, more) => {
    const start = opening(grip).centre_in;
    for (const each of stage().querySelectorAll(GRIP)) {
      each.drawn ??= centreOf(each);
      each.ownerSVGElement.classList.add("dragging");
    }
    held = { grip, svg: grip.ownerSVGElement, start, at: start, ...more };
  };
  const moveTo = (to) => {
    held.at = to;
    held.moved = true;
    stage().dataset.holds = ""; // two fingers are no pinch now, zoom.js
    carry(held.at);
    place(held.at, halves(held.grip));
    ask({ ...opening(held.grip), centre_in: held.at });
  };
  const letGo = () => {
    const { moved, at } = held;
    held = null;
    delete stage().dataset.holds;
    for (const each of stage().querySelectorAll(GRIP)) {
      [each.dataset.centreX, each.dataset.centreY] = at;
      // moved: its own numbers stay until the server has drawn it anew
      if (!moved) each.ownerSVGElement.classList.remove("dragging");
    }
    if (moved) redraw();
  };

  form.addEventListener("pointerdown", (event) => {
    const grip = event.target.closest(`#stage ${GRIP}`);
    if (!grip || held || event.button > 0) return;
    event.preventDefault();
    hold(grip, { pointer: event.pointerId, from: inches(grip.ownerSVGElement, event), down: [event.clientX, event.clientY] });
    held.svg.setPointerCapture(event.pointerId);
  });
  // A finger on the opening moves the opening, up and down as well; anywhere else it scrolls the page. A second finger
  // before it moved makes a pinch of both.
  form.addEventListener("touchstart", (event) => {
    if (event.target.closest(`#stage ${GRIP}`) && event.touches.length === 1) event.preventDefault();
    else if (event.touches.length > 1 && held?.pointer !== undefined && !held.moved) letGo();
  }, { passive: false });
  form.addEventListener("pointermove", (event) => {
    if (event.pointerId !== held?.pointer) return;
    if (!held.moved && Math.hypot(event.clientX - held.down[0], event.clientY - held.down[1]) < SLOP_PX) return;
    const at = inches(held.svg, event);
    const { at: to, says } = snapped([held.start[0] + at.x - held.from.x, held.start[1] + at.y - held.from.y], held.grip, held.svg);
    tell(says);
    moveTo(to);
  });
  const drop = (event) => { if (held && event.pointerId === held.pointer) letGo(); };
  form.addEventListener("pointerup", drop);
  form.addEventListener("pointercancel", drop);
  // What comes while it is held would take the drawing from under a thumb; letting go asks again.
  document.body.addEventListener("htmx:beforeSwap", (event) => { if (held) event.detail.shouldSwap = false; });

  // Arrow keys move it by an inch, with Shift by a quarter: a drag for those who don't drag.
  form.addEventListener("keydown", (event) => {
    const grip = event.target.closest(GRIP);
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!grip || !step || held?.pointer !== undefined) return;
    event.preventDefault();
    if (!held) hold(grip);
    const by = event.shiftKey ? 1 / QUARTERS : 1;
    moveTo(onTape([held.at[0] + step[0] * by, held.at[1] + step[1] * by], halves(grip)));
    tell(snaps.here(held.at, size(grip)));
    form.dataset.refocus = "1";
    clearTimeout(held.settles);
    held.settles = setTimeout(letGo, KEYS_SETTLE_MS);
  });
  const reachable = () => {
    for (const grip of stage().querySelectorAll(`:is(.for-desk, .for-phone) ${GRIP}`)) {
      grip.setAttribute("tabindex", "0");
      grip.setAttribute("role", "button");
      grip.setAttribute("aria-label", "The opening. Drag it, or move it with the arrow keys: an inch a press, with Shift a quarter inch.");
      grip.ownerSVGElement.setAttribute("role", "group"); // an image has nothing in it that could be pressed
    }
  };
  // What others asked for, or was designed before, is drawn too: it is told apart from what is asked here.
  const apart = () => {
    const mine = stage().querySelector(GRIP)?.dataset.opening;
    for (const one of stage().querySelectorAll("[data-opening], .opening-label[data-for], .dim-opening[data-for], .dim-names[data-for]")) {
      one.classList.toggle("not-mine", (one.dataset.opening ?? one.dataset.for) !== mine);
    }
  };
  // On a phone what stays in sight while one types is the enlarged detail, where there is one, and the answer.
  const lower = () => {
    const picture = document.getElementById("picture");
    const enlarged = [...picture.querySelectorAll(".enlarged")].find((one) => one.getClientRects().length);
    const above = enlarged ? enlarged.getBoundingClientRect().top - picture.getBoundingClientRect().top : 0;
    form.style.setProperty("--above", `${above}px`);
  };
  addEventListener("resize", lower);
  addEventListener("load", lower);
  const told = () => {
    const grip = stage().querySelector(GRIP);
    tell(grip ? snaps.here(centreOf(grip), size(grip)) : "");
  };
  document.body.addEventListener("htmx:afterSwap", () => {
    reachable();
    apart();
    lower();
    told();
    // A region that stays on the page is read out; one that is put in anew may not be.
    document.getElementById("spoken").textContent = ["answer", "snapped"].map((id) => document.getElementById(id).innerText).join(" ");
    if (!form.dataset.refocus) return;
    delete form.dataset.refocus;
    [...stage().querySelectorAll(GRIP)].find((grip) => grip.getClientRects().length)?.focus();
  });
  reachable();
  apart();
  lower();
  told();

  form.addEventListener("click", (event) => {
    const chip = event.target.closest("#sizes button");
    if (chip) {
      const middle = drawnAt();
      sizes.take(chip);
      show();
      stays(middle);
      redraw();
    }
    const offer = event.target.closest("#offers button");
    if (offer) {
      field("along").value = offer.dataset.along;
      field("up").value = offer.dataset.up;
      redraw();
    }
  });

  // Only the sizes of the chosen shape are asked.
  const show = () => {
    const round = field("shape").value === "circle";
    for (const [name, on] of [["diameter", round], ["width", !round], ["height", !round]]) {
      form.querySelector(`[data-field=${name}]`).hidden = !on;
    }
  };
  // Another size or another wall to measure from leaves the opening where it is: the fields change, not the place.
  const drawnAt = () => {
    const grip = stage().querySelector(GRIP);
    return grip && opening(grip).centre_in;
  };
  const inchesOf = (name) => { const found = /^([0-9.]+)"$/.exec(field(name).value); return found ? Number(found[1]) : null; };
  const stays = (middle) => {
    const round = field("shape").value === "circle", [wide, high, wrap] = ["width", "height", "insulation"].map(inchesOf);
    if (!middle || (!round && (wide === null || high === null || wrap === null))) return;
    place(middle, round ? [0, 0] : [wide / 2 + wrap, high / 2 + wrap]);
  };
  form.addEventListener("change", (event) => {
    const middle = drawnAt();
    if (event.target.name === "shape") stays(middle);
    if (event.target.name === "face" && middle) place(middle, halves(stage().querySelector(GRIP)));
  });
  form.addEventListener("restored", () => show());
  form.addEventListener("input", show);
  form.addEventListener("change", show);
  show();
})();
