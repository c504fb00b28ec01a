// An open page of a request says so once it tells no more how the request stands. It never changes by itself: somebody may
// be reading, or typing.
(() => {
  "use strict";
  const at = document.getElementById("anew"), note = at?.firstElementChild, EVERY_MS = 60_000, LEAST_MS = 5_000;
  if (!at) return;
  let last = Date.now();
  const look = async () => {
    const kept = document.documentElement.classList.contains("kept");
    // while it is computed its own line asks, and brings the answer
    if (document.hidden || navigator.onLine === false || kept || !note.hidden || document.getElementById("progress") || Date.now() - last < LEAST_MS) return;
    last = Date.now();
    try {
      const answer = await fetch(at.dataset.at, { cache: "no-store", redirect: "manual" });
      if (!answer.ok || (await answer.json()).now === at.dataset.now) return;
      note.querySelector("[data-typed]").hidden = ![...document.forms].some((form) => form.dataset.typed);
      note.hidden = false;
    } catch { /* no signal: it is asked again */ }
  };
  document.addEventListener("visibilitychange", look);
  addEventListener("focus", look);
  addEventListener("online", look);
  setInterval(look, EVERY_MS);
})();
