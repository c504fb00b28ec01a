// Copies chosen on a small plan, in step with what the form sends: boxes, or a field of numbers like 1-3, 7.
(() => {
  "use strict";
  for (const root of document.querySelectorAll("[data-choose]")) {
    const form = root.closest("form"), picks = [...root.querySelectorAll("[data-free]")];
    const boxes = [...form.querySelectorAll('input[type="checkbox"][name="copies"]')];
    const field = boxes.length ? null : form.elements.copies ?? form.elements.copy;
    if (!picks.length || !(boxes.length || field)) continue;
    const single = field?.name === "copy", all = [...new Set(picks.map((pick) => Number(pick.dataset.copy)))];
    const NONE = "none yet";
    const words = (numbers) => {
      const runs = [];
      for (const n of [...numbers].sort((a, b) => a - b)) {
        if (runs.length && runs.at(-1)[1] === n - 1) runs.at(-1)[1] = n;
        else runs.push([n, n]);
      }
      return runs.map(([a, b]) => (a === b ? `${a}` : `${a}–${b}`)).join(", ");
    };
    // An empty field means all that can change; what can't be read chooses nothing here, and the server says so.
    const typed = () => {
      if (!field.value.trim()) return new Set(field.required ? [] : all);
      const found = new Set();
      for (const part of field.value.trim().replace(/\s*[-–]\s*/g, "-").split(/[,;\s]+/)) {
        const match = /^(\d{1,4})(?:-(\d{1,4}))?$/.exec(part);
        if (!match) return new Set();
        for (let n = Number(match[1]); n <= Number(match[2] ?? match[1]); n += 1) found.add(n);
      }
      return found;
    };
    const chosen = () => (field ? typed() : new Set(boxes.filter((box) => box.checked).map((box) => Number(box.value))));
    let mode = single ? "one" : null, writes = false;
    const write = (numbers) => {
      writes = true;
      if (field) {
        field.value = words(numbers) || (field.required ? "" : NONE); // left empty it means all
        for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true }));
      } else {
        for (const box of boxes) {
          const on = numbers.has(Number(box.value));
          if (box.checked !== on) {
            box.checked = on;
            box.dispatchEvent(new Event("change", { bubbles: true }));
          }
        }
      }
      writes = false;
      show();
    };
    const show = () => {
      const now = chosen(), count = all.filter((n) => now.has(n)).length;
      for (const pick of picks) pick.setAttribute("aria-checked", String(now.has(Number(pick.dataset.copy))));
      const is = mode ?? (count === all.length ? "all" : count === 1 ? "one" : "some");
      for (const button of root.querySelectorAll("[data-mode]")) button.setAttribute("aria-pressed", String(button.dataset.mode === is));
      root.querySelector("[data-chosen]").textContent = count ? `Chosen: ${count === 1 ? "copy" : "copies"} ${words([...now].filter((n) => all.includes(n)))}, ${count} of ${all.length} that can be.` : mode === "one" ? "None is chosen: tap the one." : "None is chosen.";
    };
    const tap = (pick) => {
      const n = Number(pick.dataset.copy), now = chosen();
      if (mode === "one") return write(new Set([n]));
      if (now.has(n)) now.delete(n);
      else now.add(n);
      mode = null;
      return write(now);
    };
    // Tab leads to one of them, arrows to its fellows.
    const reach = (to) => { for (const pick of picks) pick.setAttribute("tabindex", pick === to ? "0" : "-1"); };
    for (const [i, pick] of picks.entries()) {
      pick.setAttribute("role", "checkbox");
      pick.setAttribute("aria-label", `Copy ${pick.dataset.copy}`);
      pick.addEventListener("click", () => { reach(pick); tap(pick); });
      pick.addEventListener("keydown", (event) => {
        const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
        if (step) {
          const to = picks[(i + step + picks.length) % picks.length];
          reach(to);
          to.focus();
          to.scrollIntoView({ block: "nearest", inline: "nearest" });
        } else if (event.key === " " || event.key === "Enter") tap(pick);
        else return;
        event.preventDefault();
      });
    }
    reach(picks[0]);
    const modes = root.querySelector("[data-modes]");
    modes.hidden = single;
    modes.addEventListener("click", ({ target }) => {
      const wanted = target.closest("[data-mode]")?.dataset.mode;
      if (!wanted) return;
      mode = wanted === "one" ? "one" : null;
      const now = chosen();
      if (wanted === "all") write(new Set(all));
      else if (wanted === "one") write(now.size === 1 ? now : new Set()); // whoever taps names it, nobody else
      else write(now.size === all.length ? new Set() : now);
    });
    const follow = () => { if (!writes) { mode = single ? "one" : null; show(); } };
    if (field) field.addEventListener("input", follow);
    for (const box of boxes) box.addEventListener("change", follow);
    // What of a plan lies beyond its edges is told, and one tap away.
    for (const sheet of root.querySelectorAll(".choose-sheet")) {
      const bar = Object.assign(document.createElement("div"), { className: "zoomer no-print" });
      const WAYS = { left: [-1, 0], right: [1, 0], up: [0, -1], down: [0, 1] };
      const buttons = Object.entries(WAYS).map(([way, [x, y]]) => {
        const button = Object.assign(document.createElement("button"), { type: "button" });
        button.onclick = () => sheet.scrollBy({ left: 0.8 * x * sheet.clientWidth, top: 0.8 * y * sheet.clientHeight });
        bar.append(button);
        return [way, button];
      });
      const beyond = () => {
        const box = sheet.getBoundingClientRect(), found = { left: 0, right: 0, up: 0, down: 0 };
        for (const line of sheet.querySelectorAll(".pick .target")) {
          const { left, right, top, bottom } = line.getBoundingClientRect(), x = (left + right) / 2, y = (top + bottom) / 2;
          if (x < box.left) found.left += 1;
          else if (x > box.right) found.right += 1;
          else if (bottom <= box.top || (y < box.top && bottom - top < box.height)) found.up += 1;
          else if (top >= box.bottom || (y > box.bottom && bottom - top < box.height)) found.down += 1;
        }
        for (const [way, button] of buttons) {
          const n = found[way], where = `further ${way}`;
          if (!n && document.activeElement === button) sheet.focus(); // the last of that side came in sight
          button.hidden = !n;
          button.textContent = way === "left" ? `‹ ${n} ${where}` : way === "right" ? `${n} ${where} ›` : `${n} ${where}`;
          button.setAttribute("aria-label", `${n} ${n === 1 ? "copy" : "copies"} ${where}`);
        }
        bar.hidden = buttons.every(([, button]) => button.hidden);
      };
      sheet.after(bar);
      sheet.addEventListener("scroll", beyond, { passive: true });
      new ResizeObserver(beyond).observe(sheet);
    }
    // what a browser brings back after a reload comes without an event
    window.addEventListener("pageshow", show);
    show();
  }
})();
