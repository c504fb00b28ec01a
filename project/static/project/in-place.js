// What one tap said of a copy while there was no signal waits in that copy's own row, and the page stays: there it can be
// taken back before it is sent, and there stands why it wasn't taken.
(() => {
  "use strict";
  const { whose: who } = document.body.dataset, { make } = outbox, shown = new Set();
  const away = () => navigator.onLine === false || document.documentElement.classList.contains("kept");
  const formOf = (row) => {
    const given = new Map(row.fields);
    return [...document.querySelectorAll("form[data-queued-stays]")].find((form) => new URL(form.action).pathname === row.url
      && ["copy", "to"].every((name) => form.elements[name].value === given.get(name)));
  };
  const buttonOf = (form) => document.querySelector(`button[form="${form.id}"]`);
  // The row of a copy, also where no tap says that of it any more.
  const spotOf = (row) => {
    const form = formOf(row), at = form ? buttonOf(form)?.parentElement : null;
    return at ?? document.getElementById(row.stays)?.querySelector(":scope > .inline") ?? null;
  };
  outbox.inPlace = (row) => Boolean(row.stays && row.state && row.state !== "arrived" && spotOf(row));

  document.addEventListener("submit", async (event) => {
    const form = event.target;
    if (!("queuedStays" in form.dataset) || !form.elements["queued-as"] || who === "nobody" || !away()) return;
    event.preventDefault();
    const fields = [...new FormData(form, event.submitter).entries()];
    await outbox.put("waiting", outbox.rowOf(fields, new URL(form.action).pathname, outbox.labelsOf(form, event.submitter)));
    navigator.serviceWorker?.ready.then(({ sync }) => sync?.register("outbox")).catch(() => {});
    document.dispatchEvent(new CustomEvent("outbox-changed"));
    if (navigator.onLine !== false) document.dispatchEvent(new CustomEvent("outbox-look"));
  }, { capture: true });

  // Not between a question to the server and its answer: what is on its way is waited for.
  const takeBack = async (key) => {
    const act = async () => { if ((await outbox.get("waiting", key))?.state !== "arrived") await outbox.drop("waiting", key); };
    await (navigator.locks ? navigator.locks.request("outbox", act) : act());
    document.dispatchEvent(new CustomEvent("outbox-changed"));
  };
  const fold = (row, asks, does) => {
    const yes = make("button", { type: "button", className: "button quiet", textContent: does });
    yes.addEventListener("click", () => { yes.disabled = true; takeBack(row.key); });
    return make("details", { className: "take-back" }, make("summary", { textContent: asks }), yes);
  };
  const says = (row) => {
    const box = make("span", { className: "waits-here inline no-print" }), name = row.title;
    box.dataset.of = row.key;
    if (row.state === "waits") {
      box.append(make("strong", { className: "tag look", textContent: "waiting to be sent (no signal)" }), make("span", { className: "small", textContent: row.title.replace(/^.*?: /, "") }));
      box.append(fold(row, "Take it back", "Don’t send it"));
    } else {
      box.append(make("strong", { className: "tag stop", textContent: "not taken" }), make("span", { className: "small breaking", textContent: row.says.join(" ") }));
      box.append(fold(row, "I have read it", "Put it away"));
    }
    for (const one of box.querySelectorAll("summary, button")) one.append(make("span", { className: "visually-hidden", textContent: ` (${name})` }));
    box.setAttribute("role", "status");
    return box;
  };
  const show = async () => {
    const rows = (await outbox.mine("waiting", who)).filter(outbox.inPlace), states = new Map(rows.map((row) => [row.key, row.state]));
    for (const old of document.querySelectorAll(".waits-here")) if (!rows.some((row) => row.key === old.dataset.of && row.state === old.dataset.state)) old.remove();
    for (const hidden of document.querySelectorAll("button[data-waits]")) { hidden.hidden = false; delete hidden.dataset.waits; }
    for (const row of rows) {
      const form = formOf(row), button = form && buttonOf(form), spot = spotOf(row);
      if (button && row.state === "waits") { button.hidden = true; button.dataset.waits = ""; }
      if (document.querySelector(`.waits-here[data-of="${row.key}"]`)) continue;
      const box = says(row);
      box.dataset.state = row.state;
      if (button) button.before(box);
      else spot.append(box);
    }
    // what arrived, or wasn't taken, changed the list: it comes anew
    const gone = [...shown].filter((key) => states.get(key) !== "waits");
    for (const key of shown) if (!states.has(key)) shown.delete(key);
    for (const row of rows) if (row.state === "waits") shown.add(row.key); else shown.delete(row.key);
    const came = (await Promise.all(gone.map((key) => outbox.get("waiting", key)))).some(Boolean);
    if (came && !document.documentElement.classList.contains("kept") && ![...document.forms].some((form) => form.dataset.typed)) location.reload();
  };
  document.addEventListener("outbox", show);
})();
