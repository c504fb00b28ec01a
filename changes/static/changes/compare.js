// The desk's table: sort by a column, filter to what reverses or crosses a limit, one combination at a time, and one
// member lit in both drawings and in its row. Without this file the table still reads.
(() => {
  "use strict";
  let kept = null; // the member that was pressed, in a row or in a drawing, stays lit while nothing else is pointed at
  const light = (id) => {
    for (const part of document.querySelectorAll("[data-member]")) {
      part.classList.toggle("lit", id !== null && part.dataset.member === id);
    }
  };
  const member = (event) => event.target.closest("[data-member]")?.dataset.member ?? null;
  document.addEventListener("pointerover", (event) => light(member(event) ?? kept));
  document.addEventListener("focusin", (event) => light(member(event) ?? kept));
  document.addEventListener("click", (event) => {
    const drawn = event.target.closest("svg [data-member]");
    if (!drawn && !event.target.closest("tr[data-member] th button")) return;
    kept = !drawn && kept === member(event) ? null : member(event);
    light(kept ?? member(event));
    for (const button of document.querySelectorAll("tr[data-member] th button")) {
      button.setAttribute("aria-pressed", String(button.closest("tr").dataset.member === kept));
    }
    const row = drawn && document.querySelector(`tr[data-member="${CSS.escape(kept)}"]`);
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (row) row.scrollIntoView({ block: "center", behavior: still ? "auto" : "smooth" });
  });

  const key = (cell) => {
    const value = cell.dataset.value;
    if (value !== undefined) return value === "" ? -Infinity : Number(value);
    return cell.textContent.trim();
  };
  const sort = (table, column, down) => {
    const rows = [...table.tBodies[0].rows].sort((a, b) => {
      const x = key(a.cells[column]), y = key(b.cells[column]);
      const order = typeof x === "number" && typeof y === "number" ? Math.abs(y) - Math.abs(x) : String(x).localeCompare(String(y), "en", { numeric: true });
      const worded = typeof x === "number" ? order : -order;
      return down ? worded : -worded;
    });
    table.tBodies[0].append(...rows);
  };
  for (const table of document.querySelectorAll("table[data-sortable]")) {
    table.tHead.addEventListener("click", (event) => {
      const head = event.target.closest("th");
      if (!head || !event.target.closest("button")) return;
      const column = head.cellIndex, down = head.getAttribute("aria-sort") !== "descending";
      for (const other of head.parentNode.cells) other.removeAttribute("aria-sort");
      head.setAttribute("aria-sort", down ? "descending" : "ascending");
      sort(table, column, down);
    });
  }

  const pounds = (value) => (value === null ? "—" : `${Math.abs(value).toLocaleString("en-US", { maximumFractionDigits: 0 })} lb ${value > 0 ? "tension" : "compression"}`);
  for (const tools of document.querySelectorAll("[data-table]")) {
    const table = document.getElementById(tools.dataset.table);
    const rows = [...table.tBodies[0].rows];
    const forces = JSON.parse(document.getElementById(`${tools.dataset.table}-forces`).textContent);
    const governing = new Map(rows.map((row) => [row, [3, 4, 5].map((n) => [row.cells[n].textContent, row.cells[n].dataset.value])]));
    // a phone shows no headings to sort by
    tools.querySelector("[data-sort]").addEventListener("change", (event) => {
      if (event.target.value) sort(table, Number(event.target.value), true);
      else table.tBodies[0].append(...rows);
    });
    tools.addEventListener("change", () => {
      const wanted = tools.querySelector("input:checked").value;
      const name = tools.querySelector("[data-combination]").value;
      for (const row of rows) {
        row.hidden = (wanted === "changed" && row.dataset.change === "kept") || (wanted === "reverses" && !("reverses" in row.dataset)) || (wanted === "crosses" && !("crosses" in row.dataset));
        const pair = name ? forces[name][row.dataset.member] ?? [null, null] : null;
        // how much more it carries; where the force changes sides, the whole swing
        const both = pair && pair[0] !== null && pair[1] !== null;
        const change = both ? (pair[0] * pair[1] >= 0 ? Math.abs(pair[1]) - Math.abs(pair[0]) : Math.abs(pair[1] - pair[0])) : null;
        const cells = pair
          ? [[pounds(pair[0]), pair[0] ?? ""], [pounds(pair[1]), pair[1] ?? ""], [change === null ? "—" : `${change > 0 ? "+" : "−"}${Math.abs(change).toLocaleString("en-US", { maximumFractionDigits: 0 })} lb`, change ?? ""]]
          : governing.get(row);
        cells.forEach(([text, value], n) => { row.cells[3 + n].textContent = text; row.cells[3 + n].dataset.value = value; });
      }
      document.getElementById(`${table.id}-none`).hidden = rows.some((row) => !row.hidden);
    });
  }
})();
