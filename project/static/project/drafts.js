// What a person asks lives on the device from the first key until the server has it, photos too: a closed tab, a dead
// battery. On the next visit it is offered, never put in unasked: what stands in a form is all of it or none.
(() => {
  "use strict";
  const who = document.body.dataset.whose, forms = [...document.querySelectorAll("form[data-keep][data-queued]")];
  const filesOf = (form) => [...form.querySelectorAll("input[type=file]")].map((field) => [field.name, [...field.files]]).filter(([, files]) => files.length);
  const put = (form, files) => {
    for (const [name, those] of files ?? []) {
      if (!form.elements[name]) continue;
      const held = new DataTransfer();
      for (const file of those) held.items.add(file);
      form.elements[name].files = held.files;
      form.elements[name].dispatchEvent(new Event("held"));
    }
  };
  const keep = async (form) => {
    if (form.dataset.sent || navigator.userActivation?.hasBeenActive === false) return;
    await outbox.put("drafts", { key: outbox.keyOf(form).value, who, form: form.dataset.keep, path: location.pathname, title: form.dataset.queued, job: document.body.dataset.job, zone: document.body.dataset.zone, at: Date.now(), pairs: typed.pairsOf(form), files: filesOf(form), labels: outbox.labelsOf(form) });
  };
  for (const kind of ["input", "change", "redraw"]) {
    document.addEventListener(kind, (event) => { const form = event.target.closest?.("form[data-keep][data-queued]"); if (form) keep(form); });
  }
  document.addEventListener("click", async (event) => {
    if (event.target.closest("[data-afresh]")) for (const form of forms) await outbox.drop("drafts", outbox.keyOf(form).value);
  }, { capture: true });

  const { make } = outbox;
  const offer = (form, row) => {
    const bring = make("button", { type: "button", className: "button quiet", textContent: "Bring it back" });
    const away = make("button", { type: "button", className: "plain", textContent: "Throw it away" });
    const note = make("div", { className: "note look", id: "draft" }, make("strong", { textContent: "You typed something here that was not sent." }), make("span", { textContent: `Last ${outbox.moment(row.at)}. It is still on this device.` }), make("div", { className: "inline" }, bring, away));
    bring.addEventListener("click", async () => {
      await outbox.drop("drafts", outbox.keyOf(form).value); // what stood here meanwhile gives way to it
      typed.fill(form, row.pairs);
      put(form, row.files);
      note.remove();
      form.querySelector("input:not([type=hidden]), select, textarea")?.dispatchEvent(new Event("change", { bubbles: true }));
    });
    outbox.twice(away, async () => { await outbox.drop("drafts", row.key); note.remove(); document.dispatchEvent(new Event("outbox-changed")); });
    form.before(note);
    if (new URLSearchParams(location.search).get("typed") === row.key) bring.click();
  };
  addEventListener("pageshow", async (event) => { // with its page from the browser's memory, which may have dropped photos
    if (!event.persisted) return;
    for (const form of forms) {
      const own = await outbox.get("drafts", outbox.keyOf(form).value);
      if (own?.who === who && !filesOf(form).length) put(form, own.files);
    }
  });
  addEventListener("load", async () => {
    const back = ["reload", "back_forward"].includes(performance.getEntriesByType("navigation")[0]?.type);
    for (const form of forms) {
      const own = await outbox.get("drafts", outbox.keyOf(form).value);
      if (own?.who === who) put(form, own.files); // this form came back, or was refused: its photos with it
      if (back && !own && outbox.keyOf(form).value in (await outbox.contact([outbox.keyOf(form).value]).catch(() => ({ arrived: {} }))).arrived) {
        sessionStorage.removeItem(typed.name(form)); // it was sent: Back begins anew
        location.replace(location.href);
        return;
      }
      if (own || (back && sessionStorage.getItem(typed.name(form)))) continue;
      const waits = new Set((await outbox.mine("waiting", who)).map((row) => row.key)); // what waits is no draft any more
      const rows = (await outbox.mine("drafts", who)).filter((row) => row.pairs && !waits.has(row.key) && row.form === form.dataset.keep && row.path === location.pathname);
      const met = rows.length ? await outbox.contact(rows.map((row) => row.key)).catch(() => ({ arrived: {} })) : null;
      const left = rows.filter((row) => !(row.key in met.arrived));
      const wanted = new URLSearchParams(location.search).get("typed");
      const row = left.find(({ key }) => key === wanted) ?? left.at(-1);
      if (row) offer(form, row);
    }
  });
})();
