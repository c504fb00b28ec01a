// While an opening is held, names of the truss that its own name and numbers come over are hidden: two words in one
// place are read as neither. Where it is let go the server places them all anew.
self.cover = (() => {
  "use strict";
  const box = (text) => { const { x, y, width, height } = text.getBBox(); return [x, y, x + width, y + height]; };
  const meet = ([a, b, c, d], [e, f, g, h]) => a < g && e < c && b < h && f < d;
  const kept = new WeakMap(); // of each drawing, measured once while it is held
  const measured = (svg, own) => {
    const named = svg.querySelector(`.opening-label${own}`);
    const names = [...svg.querySelectorAll("text")]
      .filter((text) => !text.closest(".live-dim, .dims, .dim-rises, .drawing-key") && !named?.contains(text))
      .map((text) => [text.closest(".label, .opening-label, .load-label, .flag") ?? text, box(text)]);
    return { names, mine: [...named?.querySelectorAll("text") ?? []].map(box) };
  };
  // `own` selects what is of the opening, which moved `by` so many units since it was drawn.
  return (svg, own, [u, v]) => {
    if (!svg.getClientRects().length) return;
    if (!kept.has(svg)) kept.set(svg, measured(svg, own));
    const { names, mine } = kept.get(svg);
    const now = [...mine.map(([a, b, c, d]) => [a + u, b + v, c + u, d + v]), ...[...svg.querySelectorAll(".live-dim text")].map(box)];
    for (const [part, at] of names) part.classList.toggle("covered", now.some((one) => meet(one, at)));
  };
})();
