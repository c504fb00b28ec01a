// A tap on the drawing, or on the plan, fills the fields that say where: the drawing says how its pixels map to inches
// (data-scale, data-x0, data-y0; a plan data-left, data-low), the form which fields a tap fills and from where they are
// measured.
(() => {
  "use strict";
  const form = document.getElementById("need"), stage = document.getElementById("stage");
  if (!form || !stage || !form.dataset.taps) return;
  const EDGE = 82;  // of a plan's sheet, as in plan.js
  const { fields, either = [], left, level = 0, pieces = {}, count = {} } = JSON.parse(form.dataset.taps);
  const feet = (inches) => typed.feet(Math.round(inches * 4) / 4, " "); // a tap is no finer than a quarter
  const put = (name, text) => {
    const field = form.elements[name];
    if (!field) return;
    field.value = text;
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new Event("change", { bubbles: true }));
  };
  const forget = () => { for (const spot of stage.querySelectorAll(".tapped")) spot.remove(); };
  const spotAt = (svg, cx, cy) => {
    const spot = document.createElementNS("http://www.w3.org/2000/svg", "circle"), matrix = svg.getScreenCTM();
    spot.setAttribute("class", "tapped");
    for (const [name, value] of Object.entries({ cx, cy, r: 6 / Math.min(matrix?.a || 1, 1) })) spot.setAttribute(name, value);
    svg.append(spot);
  };
  // Which end of the piece that is chosen lengths count from: in words beside the field, and as a square on the drawing.
  const countsFrom = () => {
    const name = form.elements.piece?.value, hint = document.getElementById("id_at_helptext");
    if (!count[name]) return;
    if (hint) hint.textContent = count[name];
    const [[x, y]] = pieces[name];
    for (const svg of stage.querySelectorAll("svg[data-scale]")) {
      const { scale, x0, y0 } = svg.dataset, half = 5 / Math.min(svg.getScreenCTM()?.a || 1, 1);
      const end = document.createElementNS("http://www.w3.org/2000/svg", "rect");
      end.setAttribute("class", "tapped counts-from");
      const at = { x: Number(x0) + x * scale - half, y: y0 - y * scale - half, width: 2 * half, height: 2 * half };
      for (const [key, value] of Object.entries(at)) end.setAttribute(key, value);
      svg.append(end);
    }
  };
  // What is typed is marked where it lies; the server reads it.
  const follow = () => {
    forget();
    countsFrom();
    for (const [x, y] of JSON.parse(document.getElementById("typed")?.dataset.spots || "[]")) {
      for (const svg of stage.querySelectorAll("svg[data-scale]")) {
        const { scale, x0, y0, left: west, low } = svg.dataset;
        if (west !== undefined) spotAt(svg, EDGE + (x - west) * scale, svg.viewBox.baseVal.height - EDGE - (y - low) * scale);
        else spotAt(svg, Number(x0) + x * scale, y0 - y * scale);
      }
    }
  };
  let tapping = false;
  form.addEventListener("input", ({ target: { name, value } }) => {
    if (tapping) return;
    if ([...fields, ...either, "x", "y"].includes(name)) { forget(); countsFrom(); } // it is elsewhere now, and where comes at once
    if (either.includes(name) && value) for (const other of either) if (other !== name && form.elements[other]) form.elements[other].value = "";
  });
  document.body.addEventListener("htmx:afterSwap", ({ target }) => { if (target.id === "typed" || target.closest?.("#need")) follow(); });
  // What is being typed or tapped stays where it is, whatever an answer puts above it.
  let held;
  document.body.addEventListener("htmx:beforeSwap", () => {
    const box = form.contains(document.activeElement) && document.activeElement.closest("[data-field]");
    held = box && { box, top: box.getBoundingClientRect().top };
  });
  document.body.addEventListener("htmx:afterSettle", () => {
    if (held) scrollBy({ top: held.box.getBoundingClientRect().top - held.top, behavior: "instant" });
    held = undefined;
  });
  form.addEventListener("restored", () => form.dispatchEvent(new Event("redraw")));
  follow();
  stage.addEventListener("click", (event) => {
    const svg = event.target.closest("svg[data-scale]");
    if (!svg) return;
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg.getScreenCTM().inverse());
    const { scale, x0, y0, left: west, low } = svg.dataset;
    const onPlan = west !== undefined;
    const x = onPlan ? Number(west) + (at.x - EDGE) / Number(scale) : (at.x - Number(x0)) / Number(scale);
    const y = onPlan ? Number(low) + (svg.viewBox.baseVal.height - EDGE - at.y) / Number(scale) : (Number(y0) - at.y) / Number(scale);
    forget();
    spotAt(svg, at.x, at.y);
    tapping = true;
    fill(x, y, onPlan);
    countsFrom();
    tapping = false;
  });
  const fill = (x, y, onPlan) => {
    if (onPlan) { put("x", feet(x)); put("y", feet(y)); return; }
    for (const other of either) if (!fields.includes(other) && form.elements[other]) form.elements[other].value = "";
    if (fields.includes("along")) put("along", feet(x - left));
    if (fields.includes("up")) put("up", feet(y - level));
    if (fields.includes("piece")) {
      const far = ([[ax, ay], [bx, by]]) => {
        const length = Math.hypot(bx - ax, by - ay);
        const along = Math.min(Math.max(((x - ax) * (bx - ax) + (y - ay) * (by - ay)) / length, 0), length);
        const px = ax + ((bx - ax) * along) / length, py = ay + ((by - ay) * along) / length;
        return { off: Math.hypot(x - px, y - py), along };
      };
      const nearest = Object.entries(pieces).map(([name, ends]) => ({ name, ...far(ends) })).sort((a, b) => a.off - b.off)[0];
      if (nearest) { put("piece", nearest.name); put("at", feet(nearest.along)); }
    }
  };
})();
