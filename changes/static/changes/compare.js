// The desk's table: sort by a column, filter to what reverses or crosses a limit, and one member lit in both drawings
// and in its row, each mark for itself. Pressing a member, in the table or in a drawing, opens every check behind it.
// Without this file the table still reads, and a member leads to a page of its checks.
(() => {
  "use strict";
  // What a phone folds stands open on a desk.
  if (matchMedia("(min-width: 48rem)").matches) {
    for (const fold of document.querySelectorAll("details.folds")) {
      fold.open = true;
      fold.classList.add("whole");
    }
  }
  // Paper has all of it, from a browser too that prints no closed part.
  const opened = [];
  addEventListener("beforeprint", () => {
    for (const fold of document.querySelectorAll(":is(details.folds, details.folds details):not([open])")) {
      fold.open = true;
      opened.push(fold);
    }
  });
  addEventListener("afterprint", () => { for (const fold of opened.splice(0)) fold.open = false; });
  const SCOPE = "section[data-truss]";
  const kept = new Map(); // of each mark the member that was pressed: lit while nothing else is pointed at
  const light = (scope, id) => {
    for (const part of scope.querySelectorAll("[data-member]")) {
      part.classList.toggle("lit", id !== null && part.dataset.member === id);
    }
  };
  const DRAWN = "svg :is([data-member], .label[data-for])"; // the wood, and the name that stands beside it
  const member = (event) => {
    const part = event.target.closest?.(`[data-member], ${DRAWN}`);
    return part?.dataset.member ?? part?.dataset.for ?? null;
  };
  const point = (event) => {
    const here = event.target.closest?.(SCOPE);
    for (const scope of document.querySelectorAll(SCOPE)) {
      light(scope, (scope === here ? member(event) : null) ?? kept.get(scope) ?? null);
    }
  };
  document.addEventListener("pointerover", point);
  document.addEventListener("focusin", point);

  const rowOf = (scope, id) => scope.querySelector(`tr[data-member="${CSS.escape(id)}"]`);
  const close = (scope) => {
    for (const row of scope.querySelectorAll("tr.detail")) row.remove();
    for (const link of scope.querySelectorAll("[data-checks]")) link.setAttribute("aria-expanded", "false");
  };
  const open = async (scope, row, block) => {
    const link = row.querySelector("[data-checks]");
    close(scope);
    row.closest("details")?.setAttribute("open", ""); // the table of a truss that nothing changes in is folded
    link.setAttribute("aria-expanded", "true");
    try {
      const reply = await fetch(link.href, { headers: { "HX-Request": "true" } });
      if (!reply.ok || reply.redirected) throw new Error(String(reply.status));
      const told = await reply.text();
      if (link.getAttribute("aria-expanded") === "true") row.insertAdjacentHTML("afterend", told);
    } catch {
      row.insertAdjacentHTML("afterend", '<tr class="detail"><td colspan="11"><p role="status">No answer. Is there a signal? Press the member again.</p></td></tr>');
      link.setAttribute("aria-expanded", "false");
    }
    // what opens must not push the member itself out of sight
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    row.scrollIntoView({ block, behavior: still ? "auto" : "smooth" });
  };
  document.addEventListener("click", (event) => {
    const scope = event.target.closest(SCOPE);
    const drawn = event.target.closest(DRAWN), link = event.target.closest("[data-checks]");
    if (!scope || (!drawn && !link) || event.ctrlKey || event.metaKey || event.shiftKey) return;
    if (link) event.preventDefault();
    const id = member(event), row = rowOf(scope, id);
    if (link && link.getAttribute("aria-expanded") === "true") {
      kept.delete(scope);
      close(scope);
      return;
    }
    kept.set(scope, id);
    light(scope, id);
    if (!row) return;
    row.hidden = false;
    open(scope, row, drawn ? "start" : "nearest");
  });

  // Before and after are whole where they stand. What would scroll away of them stays above the table as a strip of
  // both: the wood and the names over it, not the room around. The room that the strip gives up is kept below it, so
  // that nothing moves under the eyes of who scrolls.
  const HEADROOM_PX = 36, AIR_PX = 8;
  const pairs = new Map(); // of each pair its height where it stands whole, and that of the strip, pixels
  const edges = (parts) => [...parts].map((part) => part.getBoundingClientRect());
  const toWood = (drawing) => {
    const svg = [...drawing.querySelectorAll("svg")].find((one) => one.getClientRects().length);
    const wood = edges(svg?.querySelectorAll("g.m") ?? []);
    if (!wood.length) return;
    const top = Math.min(...wood.map((one) => one.top)), bottom = Math.max(...wood.map((one) => one.bottom));
    const named = Math.min(top, ...edges(svg.querySelectorAll("text")).map((one) => one.top)) - AIR_PX;
    const start = bottom + AIR_PX - named <= drawing.clientHeight ? named : top - HEADROOM_PX;
    drawing.scrollTop += start - drawing.getBoundingClientRect().top;
  };
  const pin = () => {
    for (const [pair, { whole, strip, gap }] of pairs) {
      const next = pair.nextElementSibling.getBoundingClientRect().top;
      // for as long as there is a table to read beside it
      const table = pair.parentElement.querySelector("div.forces")?.getBoundingClientRect().bottom ?? 0;
      const away = whole > strip && next - gap <= strip && table > strip;
      if (away === pair.classList.contains("aligned")) continue;
      pair.classList.toggle("aligned", away);
      for (const drawing of pair.querySelectorAll(".drawing")) if (away) toWood(drawing); else drawing.scrollTop = 0;
    }
  };
  const measure = () => {
    for (const pair of document.querySelectorAll(":is(.pair, .stack).both")) {
      pair.classList.add("pins");
      pair.classList.remove("aligned");
      const { height: whole, bottom } = pair.getBoundingClientRect();
      const gap = pair.nextElementSibling.getBoundingClientRect().top - bottom;
      pair.classList.add("aligned");
      const strip = pair.getBoundingClientRect().height;
      pair.classList.remove("aligned");
      pair.style.setProperty("--given-up", `${whole - strip}px`);
      pairs.set(pair, { whole, strip, gap });
    }
    pin();
  };
  measure();
  addEventListener("load", measure);
  document.addEventListener("toggle", measure, true); // what a fold holds has no height before it opens
  document.addEventListener("htmx:afterSettle", measure); // drawings that came later
  addEventListener("resize", measure);
  addEventListener("scroll", pin, { passive: true });

  const key = (cell) => {
    const value = cell.dataset.value;
    if (value !== undefined) return value === "" ? -Infinity : Number(value);
    return cell.textContent.trim();
  };
  const order = new Map(); // each row's place as the page brought it
  const sort = (table, column, down) => {
    close(table);
    const rows = [...table.tBodies[0].rows];
    rows.forEach((row, place) => { if (!order.has(row)) order.set(row, place); });
    rows.sort((a, b) => {
      if (column === null) return order.get(a) - order.get(b);
      const x = key(a.cells[column]), y = key(b.cells[column]);
      const both = typeof x === "number" && typeof y === "number";
      const larger = both ? Math.abs(y) - Math.abs(x) : -String(x).localeCompare(String(y), "en", { numeric: true });
      return down ? larger : -larger;
    });
    table.tBodies[0].append(...rows);
  };
  document.addEventListener("click", (event) => {
    const head = event.target.closest("table[data-sortable] thead th");
    if (!head || !event.target.closest("button")) return;
    const down = head.getAttribute("aria-sort") !== "descending";
    for (const other of head.parentNode.cells) other.removeAttribute("aria-sort");
    head.setAttribute("aria-sort", down ? "descending" : "ascending");
    sort(head.closest("table"), head.cellIndex, down);
  });

  document.addEventListener("change", (event) => {
    const forces = event.target.closest(".forces");
    if (!forces) return;
    const table = forces.querySelector("table[data-sortable]");
    // a phone shows no headings to sort by
    if (event.target.matches("[data-sort]")) sort(table, event.target.value ? Number(event.target.value) : null, true);
    if (event.target.type !== "radio") return;
    close(table);
    const wanted = event.target.value, rows = [...table.tBodies[0].rows];
    for (const row of rows) {
      row.hidden = (wanted === "changed" && row.dataset.change === "kept") || (wanted === "reverses" && !("reverses" in row.dataset)) || (wanted === "crosses" && !("crosses" in row.dataset));
    }
    forces.querySelector(".none").hidden = rows.some((row) => !row.hidden);
  });
})();
