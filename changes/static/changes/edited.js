// The fields that an answer refuses are marked while one types, as the page that comes back marks them: the answer alone
// is anew then, and says of which fields each of its sentences is.
(() => {
  "use strict";
  document.addEventListener("htmx:afterSettle", () => {
    const about = new Map();
    for (const says of document.querySelectorAll("#picture [data-of]")) {
      for (const name of says.dataset.of.split(" ").filter(Boolean)) about.set(name, [...(about.get(name) ?? []), says.id]);
    }
    for (const field of document.querySelectorAll("input[id^=of-]")) {
      const says = about.get(field.name);
      field.toggleAttribute("aria-describedby", Boolean(says));
      field.toggleAttribute("aria-invalid", Boolean(says));
      if (!says) continue;
      field.setAttribute("aria-invalid", "true");
      field.setAttribute("aria-describedby", says.join(" "));
    }
  });
  // A sentence leads to its field, into the room that the picture leaves above the buttons.
  document.addEventListener("click", (event) => {
    const link = event.target.closest?.("#picture [data-of] a"), field = link && document.querySelector(link.hash);
    if (!field) return;
    event.preventDefault();
    field.focus({ preventScroll: true });
    field.scrollIntoView({ block: "end" });
    const { top } = document.querySelector("form .foot-actions").getBoundingClientRect(), { bottom } = field.getBoundingClientRect();
    scrollBy(0, bottom + 12 - top);
  });
})();
