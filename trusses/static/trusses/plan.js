// Points tapped on the plan: each goes, in feet and inches, into the field that is being drawn; the server alone reads it.
// The drawing says how its pixels map to inches (data-scale, data-left, data-low).
(() => {
  "use strict";
  const sheet = document.querySelector(".plan-sheet"), places = document.querySelector("[data-xs]");
  if (!sheet || !places) return;
  const NEAR_PX = 12, EDGE = 82, STEP_IN = 3, SQUARE = Math.tan(Math.PI / 18);
  const marks = (name) => places.dataset[name].split(" ").filter(Boolean).map(Number);
  const svg = () => sheet.querySelector("svg.plan"); // the plan itself, not what lies over it
  const kept = (name) => Number(svg().dataset[name]);

  const feet = (inches) => typed.feet(inches, " ");
  const inches = (text) => { // only what this page wrote is read back, to draw it and to keep right angles
    const found = /^\s*([-−]?)(?:(\d+)'[\s-]*)?(?:(\d+(?:\.\d+)?)?(?:\s*(\d+)\/(\d+))?)?"?\s*$/.exec(text);
    if (!found || !text.trim()) return NaN;
    const [, sign, ft, inch, over, under] = found;
    return (sign ? -1 : 1) * (12 * Number(ft ?? 0) + Number(inch ?? 0) + (over ? over / under : 0));
  };
  const points = (field) => field.value.split("\n").map((line) => line.split(",").map(inches)).filter((p) => p.length === 2 && p.every(Number.isFinite));

  const inPlan = (event) => {
    const at = new DOMPoint(event.clientX, event.clientY).matrixTransform(svg().getScreenCTM().inverse());
    const tall = svg().viewBox.baseVal.height;
    return [kept("left") + (at.x - EDGE) / kept("scale"), kept("low") + (tall - EDGE - at.y) / kept("scale")];
  };
  const onPaper = ([x, y]) => [EDGE + (x - kept("left")) * kept("scale"), svg().viewBox.baseVal.height - EDGE - (y - kept("low")) * kept("scale")];
  const snapped = (value, near) => {
    const pixel = 1 / (kept("scale") * svg().getScreenCTM().a);
    const best = near.reduce((a, b) => (Math.abs(b - value) < Math.abs(a - value) ? b : a), Infinity);
    return Math.abs(best - value) < NEAR_PX * pixel ? best : Math.round(value / STEP_IN) * STEP_IN;
  };
  // Right angles before walls and bays: a leg that is nearly along x or y is.
  const settled = ([x, y], before) => {
    let [a, b] = [snapped(x, marks("xs")), snapped(y, marks("ys"))];
    if (before) {
      if (Math.abs(x - before[0]) < SQUARE * Math.abs(y - before[1])) a = before[0];
      else if (Math.abs(y - before[1]) < SQUARE * Math.abs(x - before[0])) b = before[1];
    }
    return [a, b];
  };

  let field = null, took = false, thumb = false;
  const NS = "http://www.w3.org/2000/svg";
  const show = () => {
    sheet.querySelector(".tapped-group")?.remove();
    if (!field) return;
    const group = svg().appendChild(document.createElementNS(NS, "g"));
    group.setAttribute("class", "tapped-group");
    const there = points(field).map(onPaper);
    const line = group.appendChild(document.createElementNS(NS, "polyline"));
    line.setAttribute("class", "tapped-line");
    line.setAttribute("points", there.join(" "));
    for (const [x, y] of there) {
      const dot = group.appendChild(document.createElementNS(NS, "circle"));
      dot.setAttribute("class", "tapped-point");
      for (const [name, value] of [["cx", x], ["cy", y], ["r", 5]]) dot.setAttribute(name, value);
    }
    if (there.length && !thumb) seen(there.at(-1));
  };
  // What was typed or taken is brought in sight; under a thumb that taps nothing moves.
  const seen = ([x, y]) => {
    const on = new DOMPoint(x, y).matrixTransform(svg().getScreenCTM()), box = sheet.getBoundingClientRect();
    const edge = 4 * NEAR_PX;
    if (on.x < box.left + edge || on.x > box.right - edge) sheet.scrollLeft += on.x - (box.left + box.right) / 2;
    if (on.y < box.top + edge || on.y > box.bottom - edge) sheet.scrollTop += on.y - (box.top + box.bottom) / 2;
  };
  const stop = () => {
    sheet.classList.remove("tapping");
    for (const button of document.querySelectorAll("[data-tap]")) button.setAttribute("aria-pressed", "false");
  };
  const begin = (button) => {
    field = button.form.querySelector("textarea");
    sheet.classList.add("tapping");
    button.setAttribute("aria-pressed", "true");
  };
  for (const button of document.querySelectorAll("[data-tap]")) {
    button.hidden = false;
    if (button.dataset.tap === "at once") begin(button); // the page is there to draw on
    button.addEventListener("click", () => {
      const mine = button.form.querySelector("textarea"), on = field !== mine || !sheet.classList.contains("tapping");
      stop();
      field = mine;
      if (on) {
        begin(button);
        sheet.scrollIntoView({ block: "start" });
      }
      show();
    });
    button.form.querySelector("textarea").addEventListener("input", (event) => { field = event.target; thumb = false; show(); });
  }
  document.addEventListener("click", (event) => {
    const taken = event.target.closest("[data-points]");
    if (taken) { // an offered line, as the fields say it
      const form = taken.closest("form");
      form.elements.points.value = taken.dataset.points;
      form.elements.up.value = taken.dataset.up;
      form.elements.rises.value = taken.dataset.rises;
      field = form.elements.points;
      [took, thumb] = [true, false];
      field.dispatchEvent(new Event("change", { bubbles: true }));
      show();
      return;
    }
    const size = event.target.closest("#run #sizes button");
    if (size) {
      sizes.take(size);
      size.form.elements.carries.dispatchEvent(new Event("change", { bubbles: true }));
      return;
    }
    const undo = event.target.closest("[data-undo-point]");
    if (undo) {
      field = undo.form.querySelector("textarea");
      field.value = field.value.trimEnd().split("\n").slice(0, -1).join("\n");
      field.dispatchEvent(new Event("change", { bubbles: true }));
      show();
    }
  });
  sheet.addEventListener("click", (event) => {
    if (!sheet.classList.contains("tapping") || !field || !event.detail) return; // no place is in a key that opens a link
    event.preventDefault();
    const before = points(field).at(-1), [x, y] = settled(inPlan(event), before);
    if (before && before[0] === x && before[1] === y) return;
    thumb = true;
    field.value = [field.value.trim(), `${feet(x)}, ${feet(y)}`].filter(Boolean).join("\n");
    field.dispatchEvent(new Event("change", { bubbles: true }));
    show();
  });
  // The answer in one line stays in sight where the answer itself isn't.
  const line = () => document.getElementById("run-line"), answered = () => document.querySelector("#run-answer .note");
  const sight = new IntersectionObserver((seen) => line().classList.toggle("said", seen.at(-1).isIntersecting), { rootMargin: "-80px 0px 0px 0px" });
  const look = () => { sight.disconnect(); if (line() && answered()) sight.observe(answered().querySelector("strong") ?? answered()); };
  look();
  document.addEventListener("htmx:afterSettle", ({ target }) => {
    show();
    look();
    if (!took || target.id !== "run-answer") return;
    took = false; // the answer of the line that was taken stays where it was read, though the button is gone
    target.scrollIntoView({ block: "start" });
    target.focus({ preventScroll: true });
  });
  const begun = document.querySelector("#run textarea[name=points]");
  if (begun?.value.trim()) { field = begun; show(); } // a line that the address brought
  begun?.form.addEventListener("restored", () => { field = begun; show(); }); // or that was typed before
})();
