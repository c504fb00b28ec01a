// What every page has for when there is no signal: the worker, a line that says so, and what waits to be sent.
(() => {
  "use strict";
  const { whose: who, keeps } = document.body.dataset, root = document.documentElement, path = location.pathname;
  const AGAIN_MS = 20_000, CONTACT_MS = 300_000, SHOWN_MS = 600_000, HOUR_MS = 3_600_000;
  const { make } = outbox;

  // --- forms that wait: each has a key of its own, and says what it is called and where it was opened

  const queued = () => document.querySelectorAll("form[data-queued]");
  const hidden = (form, name, value) => {
    const field = form.elements[name] ?? form.appendChild(make("input", { type: "hidden", name }));
    field.value = value;
  };
  const prepare = (form, { again = false } = {}) => {
    hidden(form, "queued-as", form.dataset.queued);
    hidden(form, "queued-by", who);
    hidden(form, "queued-in", document.body.dataset.job ?? "");
    hidden(form, "queued-zone", document.body.dataset.zone ?? "");
    const from = new URL(location);
    for (const name of ["typed", "ticked"]) from.searchParams.delete(name); // what the form was filled with, or was said last, is no part of its address
    hidden(form, "queued-from", form.dataset.queuedFrom ?? path + from.search);
    if (form.dataset.queuedStays) hidden(form, "queued-stays", form.dataset.queuedStays);
    if (!form.elements.key) hidden(form, "idempotency-key", outbox.newKey());
    else if (again) form.elements.key.value = outbox.newKey(); // a kept page has the key of the form that was sent from it
  };
  for (const form of queued()) prepare(form, { again: root.classList.contains("kept") });
  addEventListener("pageshow", (event) => { if (event.persisted) for (const form of queued()) if (!form.elements.key) prepare(form); });
  const words = (from) => (from?.innerText ?? from?.textContent)?.replace(/\s+/g, " ").trim().replace(/ needed$/, "");
  // What the fields and what was chosen in them are called, for the page of the device, which has no form.
  const labelsOf = (form, pressed) => {
    const labels = pressed?.name ? { [pressed.name]: "Pressed", [`${pressed.name}=${pressed.value}`]: words(pressed) } : {};
    for (const field of form.elements) {
      if (field.dataset.said) [labels[field.name], labels[`${field.name}=${field.value}`]] = [field.dataset.called, field.dataset.said];
      // what nobody typed and nothing gives words to is the program's own, such as a key
      else if (field.name && field.type === "hidden" && [...form.elements].every((other) => other.name !== field.name || other.type === "hidden")) labels[`out ${field.name}`] ??= "out";
      if (!field.name || field.type === "hidden") continue;
      const box = field.closest("[data-field]"); // what a choice beside it puts out of sight doesn't count
      if (box && getComputedStyle(box).display === "none") labels[`out ${field.name}`] = "out";
      if (field.type === "date" && field.value) labels[`${field.name}=${field.value}`] = new Date(`${field.value}T12:00`).toLocaleDateString("en-US", { month: "short", day: "numeric", year: "numeric" });
      const label = words(field.labels?.[0]);
      if (/^(radio|checkbox)$/.test(field.type) && field.value !== "on") {
        labels[`${field.name}=${field.value}`] = label;
        labels[field.name] = words(field.closest("fieldset")?.querySelector("legend"));
      } else if (label) labels[field.name] = label;
      if (field.selectedOptions) for (const option of field.selectedOptions) labels[`${field.name}=${option.value}`] = words(option);
    }
    return labels;
  };
  outbox.labelsOf = labelsOf;
  // What is left empty of what is needed, in the server's words for it: what can't be sent is refused before it waits.
  const lacksOf = (form) => [...form.querySelectorAll("[data-missing]")].filter((box) => !box.querySelector("input, select, textarea")?.value.trim())
    .map((box) => `${words(box.querySelector("label"))}: ${box.dataset.missing}`);
  // Sent, but did it arrive? The server is asked on the next page.
  document.addEventListener("submit", (event) => {
    const form = event.target.closest("form[data-queued]");
    if (!form || event.defaultPrevented) return;
    hidden(form, "queued-lacks", JSON.stringify(lacksOf(form)));
    const key = outbox.keyOf(form).value;
    outbox.get("drafts", key).then((row) => outbox.put("drafts", { key, who, title: form.dataset.queued, job: document.body.dataset.job, zone: document.body.dataset.zone, path, at: Date.now(), ...row, sent: Date.now(), instead: form.dataset.instead, labels: labelsOf(form, event.submitter) }));
  });

  // What is of one moment, a decision above all, is never kept to be sent later: it says so in its place, and stays typed.
  const away = () => navigator.onLine === false || root.classList.contains("kept");
  document.addEventListener("submit", (event) => {
    const form = event.target;
    if (form.method !== "post" || "queued" in form.dataset || who === "nobody" || form.closest("header, footer, .demo-bar") || !away()) return;
    event.preventDefault();
    event.stopImmediatePropagation();
    const why = form.closest("[data-unqueued]")?.dataset.unqueued ?? "It can’t wait on this device.";
    document.querySelector("[data-unsent]")?.remove();
    const says = make("div", { className: "note stop" }, make("strong", { textContent: "No signal: not sent." }), make("span", { textContent: `${why} What you typed stays here; send it once there is a signal.` }));
    says.setAttribute("role", "alert");
    says.dataset.unsent = "";
    form.append(says);
    says.scrollIntoView({ block: "nearest" });
  }, { capture: true });

  // What was not taken, put into its form once more: what can't be, stays on the page of the device.
  const again = async () => {
    const key = new URLSearchParams(location.search).get("typed") ?? "", back = await outbox.get("known", `again ${key}`);
    const row = await outbox.get("waiting", key) ?? back;
    if (row?.who !== who) return;
    // of several forms that are sent to one address, the one whose own fields say the same
    const given = new Map(row.fields), OWN = /^(csrfmiddlewaretoken|key|idempotency-key|queued-.*|seen|stood)$/;
    const says = (one) => [...one.elements].every((field) => field.type !== "hidden" || OWN.test(field.name) || given.get(field.name) === field.value);
    const has = (one) => [...given.keys()].every((name) => OWN.test(name) || one.elements[name]);
    const form = [...queued()].find((one) => new URL(one.action || location.href).pathname === row.url.split("?")[0] && says(one) && has(one));
    if (!form) return;
    if (back) await outbox.drop("known", back.key); // once: a browser that went back to what was refused
    form.dataset.instead = row.key;
    hidden(form, "queued-instead", row.key);
    form.dataset.typed = "1";
    for (const field of form.elements) {
      if (!field.name || field.type === "hidden" || /^(button|submit)$/.test(field.type)) continue;
      const values = row.fields.filter(([name]) => name === field.name).map(([, value]) => value), fold = field.closest("details");
      if (fold && values.some((value) => value.size ?? value)) fold.open = true;
      if (field.type === "file") {
        const held = new DataTransfer();
        for (const file of values) if (file.size) held.items.add(file);
        field.files = held.files;
        field.dispatchEvent(new Event("held"));
      } else if (/^(radio|checkbox)$/.test(field.type)) field.checked = values.includes(field.value);
      else if (values.length) field.value = values[0];
    }
    form.dispatchEvent(new Event("restored"));
    form.dispatchEvent(new Event("redraw"));
    form.before(make("div", { className: "note stop" }, make("strong", { textContent: "This was not taken; it is here as you typed it." }), ...row.says.map((says) => make("span", { textContent: says }))));
    form.previousElementSibling.scrollIntoView({ block: "center" });
  };

  // --- the signal

  const line = document.getElementById("no-signal");
  // Where a form is sent, whoever types at its end reads it too.
  const atButtons = (there) => {
    for (const old of document.querySelectorAll("[data-no-signal]")) old.remove();
    if (there) return;
    for (const actions of document.querySelectorAll("form[data-queued] .foot-actions")) {
      const says = make("span", { className: "small", textContent: "No signal: it waits on this device, and goes when there is one." });
      says.dataset.noSignal = "";
      actions.append(says);
    }
  };
  const signal = (met) => {
    const there = met && navigator.onLine !== false; // an answer may come just after the signal went
    if (line && !root.classList.contains("kept")) line.hidden = there;
    atButtons(there);
    if (there) document.querySelector("[data-unsent]")?.remove();
  };
  const renew = (csrf) => { // what was kept, or was opened before signing in anew, has a token of before
    for (const field of document.querySelectorAll("[name=csrfmiddlewaretoken]")) field.value = csrf;
    document.body.setAttribute("hx-headers", JSON.stringify({ "X-CSRFToken": csrf }));
  };
  const meet = async (keys) => {
    try {
      const met = await outbox.contact(keys);
      signal(true);
      if (met.who === who) renew(met.csrf);
      return met;
    } catch {
      signal(false);
      return null;
    }
  };
  // Safari and Firefox bring a page back whole from their memory, also one of somebody who signed out since: it isn't seen
  // before it is known whose this device is now.
  addEventListener("pageshow", async (event) => {
    if (!event.persisted || who === "nobody") return;
    root.style.visibility = "hidden";
    const now = (await outbox.get("known", "who").catch(() => null))?.value ?? (await meet([]))?.who;
    if (now && now !== who) location.reload();
    else root.style.visibility = "";
  });
  addEventListener("offline", () => signal(false));
  addEventListener("online", () => { look(); keep(true); });
  document.addEventListener("htmx:sendError", () => signal(false));
  document.addEventListener("htmx:afterRequest", (event) => { if (event.detail.successful) signal(true); });

  // --- what waits, on every page

  const tray = document.getElementById("waits");
  // What, of which job, and when it was typed.
  const named = (row) => [make("bdi", { textContent: row.title }), " ", make("span", { className: "soft small" }, ...outbox.whence(row)), " "];
  const told = (row) => {
    if (!row.state) {
      const on = make("a", { href: `${row.path}?typed=${row.key}`, textContent: "Go on with it", ariaLabel: `Go on with it: ${row.title}` });
      const drop = make("button", { type: "button", className: "plain", textContent: "Throw it away", ariaLabel: `Throw it away: ${row.title}` });
      outbox.twice(drop, async () => { await outbox.drop("drafts", row.key); show(); });
      return make("li", {}, make("span", { className: "tag look", textContent: "typed, not sent" }), " ", ...named(row), make("span", { className: "inline" }, on, drop));
    }
    const tags = { waits: ["waits for a signal", "look"], refused: ["not taken", "stop"], arrived: ["arrived", "good"] };
    const [word, tone] = tags[row.state];
    const says = make("li", {}, make("span", { className: `tag ${tone}`, textContent: word }), " ", ...named(row));
    if (row.says.length && row.state !== "arrived") says.append(`${row.says.slice(0, 2).join(" ")} `);
    says.append(row.state === "arrived" ? make("a", { href: row.to, textContent: "Open it", className: "stands-alone", ariaLabel: `Open it: ${row.title}` }) : make("a", { href: `/device/#${row.key}`, textContent: "See what was typed", className: "stands-alone", ariaLabel: `See what was typed: ${row.title}` }));
    return says;
  };
  let unfolded = false; // several drafts stand under one line until somebody opens it
  const show = async () => {
    if (!tray) return;
    const rows = await outbox.mine("waiting", who), now = Date.now();
    const here = rows.filter((row) => row.state !== "arrived" || (now - row.arrived < SHOWN_MS && !row.seen));
    const waits = new Set(rows.map((row) => row.key));
    here.push(...(await outbox.mine("drafts", who)).filter((row) => row.pairs && !row.sent && row.path !== path && !waits.has(row.key)));
    const others = (await outbox.all("waiting")).filter((row) => row.who !== who && row.state === "waits").length, other = who === "nobody" ? "" : " under another account";
    tray.replaceChildren();
    // ticks that wait in their own rows of this page are only counted here
    const inRows = here.filter((row) => outbox.inPlace?.(row));
    const lines = here.filter((row) => row.state && !inRows.includes(row) && !(row.stays && row.state === "arrived" && row.page.split("?")[0] === path)), drafts = here.filter((row) => !row.state).sort((one, other) => other.at - one.at);
    if (drafts.length === 1) lines.push(...drafts);
    const items = lines.map(told);
    for (const [state, word, tone, says] of [["refused", "not taken", "stop", "say"], ["waits", "waiting to be sent", "look", "wait"]]) {
      const n = inRows.filter((row) => row.state === state).length, one = n === 1;
      if (n) items.unshift(make("li", {}, make("span", { className: `tag ${tone}`, textContent: word }), ` ${n} tick${one ? "" : "s"}: ${one ? "its row" : "their rows"} below ${says}${one ? "s" : ""} ${state === "waits" ? "for a signal" : "why"}.`));
    }
    if (items.length) tray.append(make("ul", {}, ...items));
    if (drafts.length > 1) {
      const says = make("span", {}, make("span", { className: "tag look", textContent: "typed, not sent" }), ` ${drafts.length} drafts; the newest: `, make("bdi", { textContent: drafts[0].title }));
      const fold = make("details", { className: "fold", open: unfolded }, make("summary", {}, says), make("ul", {}, ...drafts.map(told)));
      fold.addEventListener("toggle", () => { if (fold.isConnected) unfolded = fold.open; });
      tray.append(fold);
    }
    if (others) tray.append(make("p", { textContent: `${others === 1 ? `Something typed${other} waits` : `${others} things typed${other} wait`} on this device to be sent. Whoever typed it signs in, and it goes.` }));
    tray.hidden = !tray.childElementCount;
    for (const row of rows) { // seen once, gone after an hour
      if (row.state !== "arrived") continue;
      if (now - row.arrived > HOUR_MS) await outbox.drop("waiting", row.key);
      else if (path === new URL(row.to, location.origin).pathname) await outbox.put("waiting", { ...row, seen: true });
    }
    document.dispatchEvent(new CustomEvent("outbox"));
  };
  document.addEventListener("outbox-changed", () => show());
  document.addEventListener("outbox-look", () => look());
  let looks = false, onceMore = false;
  const look = async () => {
    onceMore = looks; // the signal may have come back while it was asked in vain
    if (looks) return;
    looks = true;
    try {
      const drafts = (await outbox.mine("drafts", who)).filter((row) => row.sent);
      const waits = (await outbox.mine("waiting", who)).some((row) => row.state === "waits");
      if (!drafts.length && !waits && !root.classList.contains("kept") && line?.hidden !== false) return;
      const met = await meet(drafts.map((row) => row.key));
      if (!met) return;
      for (const row of drafts) {
        if (await outbox.get("waiting", row.key)) await outbox.drop("drafts", row.key); // the worker took it first
        else if (row.key in met.arrived) {
          await outbox.drop("drafts", row.key);
          if (row.instead) await outbox.drop("waiting", row.instead);
        } else if (row.pairs) await outbox.put("drafts", { ...row, sent: undefined });
        else if (Date.now() - row.sent > HOUR_MS) await outbox.drop("drafts", row.key); // ticks, of which nothing else is kept
      }
      if (await outbox.sendAll().catch(() => false) || root.classList.contains("kept")) keep(true);
      await show();
      if (root.classList.contains("kept") && met.who === who) fresh();
    } finally {
      looks = false;
      if (onceMore) look();
    }
  };
  // With a signal a kept page is replaced by today's, unless somebody types in it.
  const fresh = () => {
    if (path === "/device/" || [...document.forms].some((form) => form.dataset.typed)) return;
    location.reload();
  };
  document.addEventListener("input", (event) => { if (event.target.form) event.target.form.dataset.typed = "1"; });

  // --- the worker, and what it keeps

  const worker = navigator.serviceWorker;
  const keep = async (now) => {
    if (!worker || !isSecureContext || who === "nobody") return;
    const ready = await worker.ready;
    ready.active?.postMessage({ keep: keeps, now, page: worker.controller ? undefined : location.href });
  };
  // Whether one may go up on the deck: how much of the job is here.
  const here = document.getElementById("kept-here");
  const tellHere = (says) => {
    if (!here || root.classList.contains("kept")) return;
    here.hidden = false;
    here.replaceChildren(`${says} `, make("a", { href: "/device/", textContent: "See what is here" }));
  };
  const tellKept = async () => {
    const row = here && await outbox.get("known", `kept ${keeps}`);
    if (row?.who === who) tellHere(`On this device for when there is no signal: all ${row.n} pages, as of ${outbox.clock(row.at)}`);
  };
  worker?.addEventListener("message", ({ data }) => {
    if (data?.keeps === keeps) tellHere(`Coming to this device for when there is no signal: ${data.n} of ${data.of} pages.`);
    if (data?.kept === keeps) tellKept();
    if (data?.stopped === keeps) tellHere(data.full ? "This device has no room for all of the job’s pages." : "The signal went before all pages were here; it goes on with the next page.");
    const dead = data?.dead?.find((sheet) => sheet.url === path);
    if (dead && !document.querySelector(".sheet.dead")) location.reload();
    document.dispatchEvent(new CustomEvent("worker", { detail: data }));
    if (data === undefined || data === true) show();
  });
  const opened = Date.now();
  addEventListener("load", async () => {
    // Not at the sign-in page: WebKit leaves a worker installing for good whose page goes at that moment, and for nobody
    // is anything kept.
    if (worker && isSecureContext && who !== "nobody") {
      await worker.register("/worker.js").catch(() => {});
      keep();
    }
    await again();
    await tellKept();
    await show();
    look();
  });
  document.addEventListener("visibilitychange", () => {
    if (document.hidden) return;
    if (document.querySelector(".sheet") && Date.now() - opened > HOUR_MS) location.reload(); // it says anew what is current
    look();
    keep();
  });
  setInterval(() => { if (!document.hidden) look(); }, AGAIN_MS);
  setInterval(() => { if (!document.hidden) keep(); }, CONTACT_MS);
})();
