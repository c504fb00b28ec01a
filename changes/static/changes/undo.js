// One step back, as often as one likes: a thumb slips, and where the opening was is lost otherwise.
(() => {
  "use strict";
  const form = document.getElementById("ask"), button = document.getElementById("undo");
  if (!form || !button) return;
  const NAMES = ["shape", "diameter", "width", "height", "insulation", "clearance", "face", "along", "up"];
  const MOST = 50;
  const now = () => NAMES.map((name) => form.elements[name].value);
  const same = (one, other) => one.every((value, n) => value === other[n]);
  const before = [];
  let shown = now();
  const note = () => {
    const is = now();
    if (same(is, shown)) return;
    before.push(shown);
    if (before.length > MOST) before.shift();
    shown = is;
    button.hidden = false;
  };
  form.addEventListener("redraw", note);
  form.addEventListener("change", note);
  button.addEventListener("click", () => {
    shown = before.pop();
    NAMES.forEach((name, n) => { form.elements[name].value = shown[n]; });
    button.hidden = !before.length;
    form.dispatchEvent(new Event("restored"));
    form.dispatchEvent(new Event("redraw"));
  });
})();
