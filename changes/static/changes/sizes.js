// The sizes that this person asked for last, on this device, stand before the common ones: most houses have few.
(() => {
  "use strict";
  const form = document.getElementById("ask"), rows = document.getElementById("sizes");
  if (!form || !rows) return;
  const MOST = 4, name = `sizes ${document.body.dataset.whose}`;
  const SAYS = { circle: ({ diameter }) => `${diameter} round`, rectangle: ({ width, height }) => `${width} × ${height}` };
  const ASKED = { circle: ["diameter"], rectangle: ["width", "height"] };
  const read = () => {
    try {
      const found = JSON.parse(localStorage.getItem(name) ?? "[]");
      return found.filter((one) => SAYS[one.shape] && ASKED[one.shape].every((key) => typeof one[key] === "string"));
    } catch {
      return [];
    }
  };
  form.addEventListener("submit", () => {
    const shape = form.elements.shape.value, one = { shape };
    for (const key of [...ASKED[shape], "insulation"]) one[key] = form.elements[key].value.trim();
    if (ASKED[shape].some((key) => !one[key]) || form.querySelector(".means .trouble")) return;
    const like = JSON.stringify(one);
    localStorage.setItem(name, JSON.stringify([one, ...read().filter((other) => JSON.stringify(other) !== like)].slice(0, MOST)));
  });
  const lately = read();
  if (!lately.length) return;
  const row = document.createElement("div");
  row.className = "chips in-line";
  row.setAttribute("role", "group");
  row.setAttribute("aria-label", "Asked for last");
  for (const one of lately) {
    const chip = document.createElement("button");
    chip.type = "button";
    Object.assign(chip.dataset, one);
    chip.textContent = SAYS[one.shape](one) + (/[1-9]/.test(one.insulation) ? `, ${one.insulation} insulation` : "");
    row.append(chip);
  }
  rows.prepend(row);
  form.dispatchEvent(new Event("restored")); // the size that is set looks pressed here too
})();
