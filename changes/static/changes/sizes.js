// The common sizes of an opening and of a run: one tap fills the fields, and what the fields say looks pressed. The sizes
// that this person asked for last, on this device, stand before all others: most houses have few.
self.sizes = (() => {
  "use strict";
  const form = document.querySelector("#ask, #run"), rows = document.getElementById("sizes");
  if (!form || !rows) return null;
  const MOST = 4, name = `sizes ${document.body.dataset.whose}`;
  const BARE = { carries: "", slope: '0"' }; // what only some of the sizes set goes with them
  const SAYS = { circle: ({ diameter }) => `${diameter} round`, rectangle: ({ width, height }) => `${width} × ${height}` };
  const ASKED = { circle: ["diameter"], rectangle: ["width", "height"] };
  const read = () => {
    try {
      const found = JSON.parse(localStorage.getItem(name) ?? "[]");
      return found.filter((one) => SAYS[one.shape] && ASKED[one.shape].every((key) => /^[^a-z]*\d[^a-z]*([a-z]+\.?)?\s*$/i.test(one[key])));
    } catch {
      return [];
    }
  };

  // 8", 8 in. and 0' 8" are one size; a bare number could be feet, so it is only itself.
  const inches = (text) => {
    const found = /^\s*(?:(\d+)'[\s-]*)?(\d+(?:\.\d+)?)?(?:[\s-]*(\d+)\/(\d+))?\s*("|in\.?)?\s*$/.exec(text);
    if (!found || !(found[1] ?? found[5])) return NaN;
    const [, ft = 0, inch = 0, over = 0, under = 1] = found;
    return 12 * Number(ft) + Number(inch) + over / under;
  };
  const same = (a, b) => a.trim() === b.trim() || inches(a) === inches(b);
  const chips = () => [...rows.querySelectorAll("button")];
  const show = () => {
    for (const chip of chips()) {
      const set = Object.entries(chip.dataset).every(([key, value]) => same(form.elements[key]?.value ?? "", value));
      if (set && chip.getAttribute("aria-pressed") !== "true") {
        const row = chip.parentElement;
        row.scrollLeft = chip.offsetLeft - row.offsetLeft - (row.clientWidth - chip.offsetWidth) / 2;
      }
      chip.setAttribute("aria-pressed", String(set));
    }
  };
  const take = (chip) => {
    const last = chips().find((one) => one.getAttribute("aria-pressed") === "true");
    for (const [key, bare] of Object.entries(BARE)) {
      const field = form.elements[key];
      if (field && last && key in last.dataset && same(field.value, last.dataset[key])) field.value = bare;
    }
    for (const [key, value] of Object.entries(chip.dataset)) if (form.elements[key]) form.elements[key].value = value;
    show();
  };
  for (const kind of ["input", "change", "restored"]) form.addEventListener(kind, show);

  // What was sent is kept once a page comes back that doesn't refuse it.
  const sent = sessionStorage.getItem(name);
  sessionStorage.removeItem(name);
  if (sent && !("refused" in form.dataset)) localStorage.setItem(name, JSON.stringify([JSON.parse(sent), ...read().filter((other) => JSON.stringify(other) !== sent)].slice(0, MOST)));
  form.addEventListener("submit", () => {
    const shape = form.elements.shape.value, one = { shape };
    for (const key of [...ASKED[shape], "insulation"]) one[key] = form.elements[key].value.trim();
    if (ASKED[shape].some((key) => !one[key]) || form.querySelector(".means .trouble")) return;
    sessionStorage.setItem(name, JSON.stringify(one));
  });
  const lately = read();
  if (lately.length) {
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
  }
  show();
  return { take };
})();

(() => {
  "use strict";
  // A row of chips says at which edges it goes on.
  const goesOn = (row) => {
    const left = row.scrollLeft, right = row.scrollWidth - row.clientWidth - left;
    row.dataset.more = [left > 2 && "before", right > 2 && "after"].filter(Boolean).join(" ");
  };
  const rows = () => { for (const row of document.querySelectorAll(".chips.in-line")) goesOn(row); };
  document.addEventListener("scroll", ({ target }) => { if (target.matches?.(".chips.in-line")) goesOn(target); }, { capture: true, passive: true });
  // A tap on the sign there shows what goes on, and picks nothing that lies half under it.
  const SIGN_PX = 32, SHARE = 0.7;
  document.addEventListener("click", (event) => {
    const row = event.target.closest?.(".chips.in-line");
    if (!row || !event.detail) return; // a key picks what has the focus
    const { left, right } = row.getBoundingClientRect(), more = row.dataset.more ?? "";
    const way = more.includes("after") && right - event.clientX < SIGN_PX ? 1 : more.includes("before") && event.clientX - left < SIGN_PX ? -1 : 0;
    if (!way) return;
    event.preventDefault();
    event.stopPropagation();
    row.scrollBy({ left: way * SHARE * row.clientWidth });
  }, { capture: true });
  addEventListener("resize", rows);
  addEventListener("load", rows);
  rows();
})();
