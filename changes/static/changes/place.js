// The opening under a thumb: drag it on the drawing, and the page answers while it moves.
// The drawing says how its pixels map to inches (data-scale, data-x0, data-y0); the server alone says what fits.
(() => {
  "use strict";
  const form = document.getElementById("ask");
  if (!form) return;
  const field = (name) => form.elements[name];
  const csrf = form.querySelector("[name=csrfmiddlewaretoken]").value;

  const feet = (inches) => {
    const sign = inches < 0 ? "-" : "";
    let sixteenths = Math.round(Math.abs(inches) * 16);
    const ft = Math.floor(sixteenths / 192);
    sixteenths -= ft * 192;
    const whole = Math.floor(sixteenths / 16);
    let part = sixteenths % 16, of = 16;
    while (part && part % 2 === 0) { part /= 2; of /= 2; }
    const inch = part ? (whole ? `${whole} ${part}/${of}` : `${part}/${of}`) : `${whole}`;
    return sign + (ft ? `${ft}'-${inch}"` : `${inch}"`);
  };

  // One question in flight; while it is, only the newest of the others waits.
  let busy = false, waiting = null;
  const ask = async (stage, opening) => {
    if (busy) { waiting = opening; return; }
    busy = true;
    try {
      const reply = await fetch(stage.dataset.fit, {
        method: "POST",
        headers: { "Content-Type": "application/json", "X-CSRFToken": csrf },
        body: JSON.stringify({ truss: Number(stage.dataset.truss), opening }),
      });
      if (reply.ok) say(await reply.json());
      else say(null);
    } catch { say(null); }
    busy = false;
    if (waiting) { const next = waiting; waiting = null; ask(stage, next); }
  };

  const say = (found) => {
    const note = document.getElementById("answer");
    if (!note) return;
    const bold = note.querySelector("strong");
    note.classList.remove("good", "look", "stop");
    if (!found) { note.classList.add("stop"); bold.textContent = "No answer: is there a signal?"; return; }
    note.classList.add(found.fits ? "good" : "look");
    bold.textContent = found.fits ? `Fits, with ${feet(found.spare_in)} to spare`
      : found.touches.length ? `Touches ${found.touches.join(", ")}` : "Outside the truss";
    const says = document.getElementById("answer-says");
    if (says) says.textContent = found.fits ? "" : found.nearest ? `It fits ${feet(found.nearest.moved_in)} away.` : "";
  };

  const GRIP = ".opening.ask";
  const opening = (grip) => {
    const { opening: id, shape, centreX, centreY, diameter, width, height, clearance } = grip.dataset;
    const size = shape === "circle" ? { diameter_in: Number(diameter) } : { width_in: Number(width), height_in: Number(height) };
    return { id, shape, centre_in: [Number(centreX), Number(centreY)], ...size, clearance_in: Number(clearance) };
  };

  let drag = null;
  form.addEventListener("pointerdown", (event) => {
    const stage = event.target.closest("#stage");
    const grip = stage && event.target.closest(GRIP);
    if (!grip) return;
    event.preventDefault();
    const svg = grip.ownerSVGElement;
    drag = { stage, svg, grip, from: inches(svg, event), opening: opening(grip), id: event.pointerId };
    svg.setPointerCapture(event.pointerId);
  });

  const inches = (svg, event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    return { x: (at.x - Number(svg.dataset.x0)) / Number(svg.dataset.scale), y: (Number(svg.dataset.y0) - at.y) / Number(svg.dataset.scale) };
  };

  form.addEventListener("pointermove", (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    const at = inches(drag.svg, event), scale = Number(drag.svg.dataset.scale);
    const dx = at.x - drag.from.x, dy = at.y - drag.from.y;
    drag.grip.setAttribute("transform", `translate(${(dx * scale).toFixed(2)} ${(-dy * scale).toFixed(2)})`);
    drag.moved = { ...drag.opening, centre_in: [drag.opening.centre_in[0] + dx, drag.opening.centre_in[1] + dy] };
    place(drag.stage, drag.moved.centre_in);
    ask(drag.stage, drag.moved);
  });

  const place = (stage, [x, y]) => {
    field("along").value = feet(x - Number(stage.dataset.datumX));
    field("up").value = feet(y - Number(stage.dataset.datumY));
  };

  const drop = (event) => {
    if (!drag || event.pointerId !== drag.id) return;
    const moved = drag.moved;
    drag = null;
    if (moved) redraw();
  };
  form.addEventListener("pointerup", drop);
  form.addEventListener("pointercancel", drop);

  const redraw = () => form.dispatchEvent(new Event("redraw"));

  // Arrow keys move it by an inch, with Shift by a quarter: a drag for those who don't drag.
  form.addEventListener("keydown", (event) => {
    const grip = event.target.closest(GRIP);
    const step = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (!grip || !step) return;
    event.preventDefault();
    const by = event.shiftKey ? 0.25 : 1, [x, y] = opening(grip).centre_in;
    place(grip.closest("#stage"), [x + step[0] * by, y + step[1] * by]);
    form.dataset.refocus = "1";
    redraw();
  });
  const shown = () => [...document.querySelectorAll(`#stage ${GRIP}`)].filter((grip) => grip.getClientRects().length);
  const reachable = () => {
    for (const grip of document.querySelectorAll(`#stage ${GRIP}`)) {
      grip.setAttribute("tabindex", "0");
      grip.setAttribute("role", "button");
      grip.setAttribute("aria-label", "The opening. Drag it, or move it with the arrow keys: an inch a press, with Shift a quarter inch.");
    }
  };
  document.body.addEventListener("htmx:afterSwap", () => {
    reachable();
    if (!form.dataset.refocus) return;
    delete form.dataset.refocus;
    shown()[0]?.focus();
  });
  reachable();

  form.addEventListener("click", (event) => {
    const chip = event.target.closest("#sizes button");
    if (chip) {
      for (const [name, value] of Object.entries(chip.dataset)) {
        if (name === "shape") form.querySelector(`[name=shape][value=${value}]`).checked = true;
        else field(name).value = value;
      }
      for (const other of form.querySelectorAll("#sizes button")) other.setAttribute("aria-pressed", String(other === chip));
      show();
      redraw();
    }
    const nearest = event.target.closest("#nearest");
    if (nearest) {
      field("along").value = nearest.dataset.along;
      field("up").value = nearest.dataset.up;
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
  form.addEventListener("change", show);
  show();

  // A double tap sends once.
  form.addEventListener("submit", (event) => {
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "1";
    setTimeout(() => delete form.dataset.sent, 4000);
  });
})();
