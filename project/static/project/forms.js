// What every form has in common: a number that could be feet or inches is settled by one tap, and Back, a reload or a
// tab that was put away bring back all that was typed or none of it. The browser's own memory of fields is switched
// off (autocomplete="off"), since it brings back some of them; what is kept here lives as long as the tab, and a draft of
// what a person asks (drafts.js) until it was sent.
(() => {
  "use strict";
  const kept = () => document.querySelectorAll("form[data-keep]");
  const name = (form, at = location) => `typed ${at.dataset?.keep ?? form.dataset.keep} ${at.pathname}${at.search}`;
  const tell = (field) => { for (const kind of ["input", "change"]) field.dispatchEvent(new Event(kind, { bubbles: true })); };
  const own = (form, field) => field.name && !field.disabled && !/^(button|submit|reset|file|password)$/.test(field.type)
    && (field.type !== "hidden" || (form.dataset.keepToo ?? "").split(" ").includes(field.name));
  const chosen = (field) => !/^(radio|checkbox)$/.test(field.type) || field.checked;

  // What a page says of what was just sent stands where the page opens, also where that is far down.
  const said = document.querySelector("main > .messages"), opens = document.getElementById(location.hash.slice(1) || "-");
  if (said && opens?.matches("main section")) {
    opens.prepend(said);
    opens.scrollIntoView({ behavior: "instant" });
  }

  // What is printed by a button too: a phone hides its own way to do it.
  for (const button of document.querySelectorAll("[data-print]")) button.hidden = typeof window.print !== "function";
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-print]")) window.print();
    const fill = event.target.closest("[data-fill]");
    if (fill) {
      const field = fill.closest("form").elements[fill.dataset.fill];
      field.value = fill.dataset.value;
      if (!("stays" in fill.dataset)) field.focus(); // which brings up a phone's keyboard
      tell(field);
    }
    const on = event.target.closest("form[data-keep] a[data-carries]"); // the same form beside another picture
    if (on) {
      keep(on.closest("form"), on);
      sessionStorage.setItem("carried", on.href);
    }
    if (event.target.closest("[data-afresh]")) {
      for (const form of kept()) sessionStorage.removeItem(name(form));
      location.replace(location.href);
    }
  });

  // A day after the last one on which an answer is of use is told so at once, and taken all the same.
  const tellLate = (field) => {
    const says = field.parentElement.querySelector("[data-says-late]") ?? field.parentElement.appendChild(Object.assign(document.createElement("span"), { className: "trouble", role: "status" }));
    says.dataset.saysLate = "";
    says.textContent = field.value > field.dataset.last ? field.dataset.late : "";
  };
  document.addEventListener("input", ({ target }) => { if (target.dataset.late) tellLate(target); });
  for (const field of document.querySelectorAll("[data-late]")) tellLate(field);

  // What is told below opens with the word that says so.
  document.addEventListener("change", ({ target }) => {
    if ("opensBelow" in target.dataset) target.closest("fieldset").nextElementSibling.open = true;
  });

  const pairsOf = (form) => [...form.elements].filter((field) => own(form, field) && chosen(field)).map((field) => [field.name, field.value]);
  const keep = (form, at = location) => sessionStorage.setItem(name(form, at), JSON.stringify(pairsOf(form)));
  const fill = (form, pairs) => {
    for (const field of form.elements) {
      if (!own(form, field)) continue;
      const values = pairs.filter(([one]) => one === field.name).map(([, value]) => value);
      if (/^(radio|checkbox)$/.test(field.type)) field.checked = values.includes(field.value);
      else if (values.length) field.value = values[0];
    }
    form.dispatchEvent(new Event("restored"));
    form.dispatchEvent(new Event("redraw"));
  };
  // Inches as a tape shows them, to the sixteenth: 1'-2 1/2", and of what is less than a foot 2 1/2"; `between` a space, as
  // lists of points have it, 0' 2 1/2".
  const feet = (inches, between = "-") => {
    let sixteenths = Math.round(Math.abs(inches) * 16);
    const sign = inches < 0 && sixteenths ? "−" : "", ft = Math.floor(sixteenths / 192), long = ft || between === " ";
    sixteenths -= ft * 192;
    const whole = Math.floor(sixteenths / 16);
    let part = sixteenths % 16, of = 16;
    while (part && part % 2 === 0) { part /= 2; of /= 2; }
    const inch = part ? `${whole || long ? `${whole} ` : ""}${part}/${of}` : whole;
    return `${sign}${long ? `${ft}'${between}` : ""}${inch}"`;
  };
  self.typed = { pairsOf, fill, name, feet };
  const keepChanged = (event) => { const form = event.target.closest?.("form[data-keep]"); if (form) keep(form); };
  for (const kind of ["input", "change", "redraw"]) document.addEventListener(kind, keepChanged);
  document.addEventListener("htmx:afterSettle", (event) => { if (event.target.matches?.("form[data-keep]")) keep(event.target); });

  const bringBack = (form) => {
    const pairs = JSON.parse(sessionStorage.getItem(name(form)) ?? "null");
    if (!pairs) return;
    const was = new Map(pairs), filed = JSON.parse(form.dataset.filed ?? "[]");
    if (filed.includes(was.get("key"))) { sessionStorage.removeItem(name(form)); return; }
    const says = document.getElementById("kept");
    if (says) says.hidden = false;
    fill(form, pairs);
  };
  // what was typed before the scripts were there, on a slow line, is answered too
  const begun = (form) => [...form.elements].some((field) => own(form, field) && "defaultValue" in field
    && !/^(radio|checkbox)$/.test(field.type) && field.value !== field.defaultValue);
  addEventListener("load", () => {
    const back = ["reload", "back_forward"].includes(performance.getEntriesByType("navigation")[0]?.type);
    const carried = sessionStorage.getItem("carried") === location.href;
    sessionStorage.removeItem("carried");
    for (const form of kept()) {
      if ("refused" in form.dataset) keep(form);
      else if (back || carried) bringBack(form);
      else {
        sessionStorage.removeItem(name(form));
        if (begun(form)) form.dispatchEvent(new Event("redraw"));
      }
    }
  });

  // A phone's keys for feet and inches come only where a length is asked.
  const keys = document.getElementById("keys")?.href;
  if (keys && document.querySelector("[data-length]")) document.head.append(Object.assign(document.createElement("script"), { src: keys, async: false }));

  // A double tap sends once. A page that comes back whole from the browser's memory was sent or is stale: load it anew.
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-keep]");
    if (!form) return;
    if (form.dataset.sent) event.preventDefault();
    form.dataset.sent = "1";
  });
  // WebKit empties a form without autocomplete just after that, and what is drawn beside it stays.
  addEventListener("pageshow", (event) => {
    if (!event.persisted) return;
    if ([...kept()].some((form) => form.dataset.sent)) location.reload();
    else setTimeout(() => { for (const form of kept()) bringBack(form); });
  });
})();
