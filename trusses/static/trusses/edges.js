// Safari and Firefox print nothing on the edges of a page: there each heading of a sheet says which revision the paper is of.
(() => {
  "use strict";
  const sheet = new CSSStyleSheet();
  sheet.replaceSync('@page { @top-left { content: "" } }');
  document.documentElement.classList.toggle("no-edges", !sheet.cssRules[0]?.cssRules?.length);
})();
