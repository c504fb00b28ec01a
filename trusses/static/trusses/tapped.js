// A tap on a drawing names the piece that is nearest to it, in words below the drawing: a thumb is wider than wood is
// drawn, and on a phone nothing hovers. Without this file the drawing reads the same.
(() => {
  "use strict";
  const REACH_PX = [0, 5, 10, 15];
  const nearest = (svg, x, y) => {
    for (const reach of REACH_PX) {
      for (let turn = 0; turn < (reach ? 12 : 1); turn += 1) {
        const at = [x + reach * Math.cos(turn * Math.PI / 6), y + reach * Math.sin(turn * Math.PI / 6)];
        const piece = document.elementsFromPoint(...at).map((part) => part.closest("[data-member]")).find((part) => part && svg.contains(part));
        if (piece) return piece;
      }
    }
    return null;
  };
  // What brings a drawing nearer is fetched once one comes in sight: many a page is read without. A phone keeps it by its link.
  const later = document.getElementById("zoom")?.href;
  const sight = later && new IntersectionObserver((seen) => {
    if (!seen.some((one) => one.isIntersecting)) return;
    sight.disconnect();
    document.removeEventListener("htmx:afterSwap", watch);
    import(later);
  }, { rootMargin: "200px" });
  const watch = () => { for (const drawing of document.querySelectorAll(".drawing, .choose-sheet")) sight?.observe(drawing); };
  document.addEventListener("htmx:afterSwap", watch);
  watch();
  document.addEventListener("click", (event) => {
    const svg = event.target.closest("svg.elevation");
    if (!svg) return;
    const place = svg.parentElement, piece = nearest(svg, event.clientX, event.clientY);
    let says = place.querySelector(":scope > .tapped");
    if (!says) {
      says = document.createElement("p");
      says.className = "tapped small";
      says.setAttribute("role", "status");
      place.append(says);
    }
    says.textContent = piece?.querySelector("title")?.textContent ?? "";
    for (const part of svg.querySelectorAll(".m.tapped-on")) part.classList.remove("tapped-on");
    piece?.classList.add("tapped-on");
  });
})();
