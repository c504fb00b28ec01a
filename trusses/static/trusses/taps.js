// One copy's own button sends its copy alone and brings the page anew: it isn't there while anything is ticked, typed or
// photographed of other copies, which would be lost.
(() => {
  "use strict";
  const copies = document.getElementById("copies");
  const typed = (field) => {
    if (/^(checkbox|radio)$/.test(field.type)) return field.checked && field.value !== "";
    return !/^(hidden|button|submit)$/.test(field.type) && Boolean(field.value?.trim()); // a file's is its name
  };
  const look = () => {
    const any = [...copies.querySelectorAll("form.copies-form")].some((form) => [...form.elements].some(typed));
    copies.toggleAttribute("data-typed", any);
  };
  for (const kind of ["input", "change"]) copies.addEventListener(kind, look);
  // A page comes anew under the thumb that tapped: a second tap, meant for what stood there, says nothing of another copy.
  const SETTLES_MS = 1_000;
  if (new URLSearchParams(location.search).has("ticked")) {
    const own = copies.querySelectorAll('button[form^="tap-"]');
    for (const button of own) button.disabled = true;
    setTimeout(() => { for (const button of own) button.disabled = false; }, SETTLES_MS);
  }
  // what a browser, a refusal or this device brings back is typed too
  document.addEventListener("restored", look, { capture: true });
  for (const kind of ["load", "pageshow"]) addEventListener(kind, () => setTimeout(look));
  look();
})();
