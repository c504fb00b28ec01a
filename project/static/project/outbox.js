// What this device holds for one account at a time: drafts of forms, and forms that wait for a signal. Pages and the
// worker share it. A form is sent on under the key that it got when it was opened, so that it arrives once however often
// it is sent; it goes when the server has said that it arrived.
self.outbox = (() => {
  "use strict";
  const STORES = ["waiting", "drafts", "known"], SENDS_MS = 120_000, ASKS_MS = 8_000;
  let opened;
  const open = () => opened ??= new Promise((done, fail) => {
    const asked = indexedDB.open("chord-change", 1);
    asked.onupgradeneeded = () => { for (const name of STORES) asked.result.createObjectStore(name, { keyPath: "key" }); };
    asked.onsuccess = () => done(asked.result);
    asked.onerror = () => { opened = undefined; fail(asked.error); };
  });
  const run = async (store, mode, act) => {
    const on = (await open()).transaction(store, mode), asked = act(on.objectStore(store));
    return new Promise((done, fail) => {
      on.oncomplete = () => done(asked.result);
      on.onabort = on.onerror = () => fail(on.error);
    });
  };
  const get = (store, key) => run(store, "readonly", (rows) => rows.get(key));
  const all = (store) => run(store, "readonly", (rows) => rows.getAll());
  const put = (store, row) => run(store, "readwrite", (rows) => rows.put(row));
  const drop = (store, key) => run(store, "readwrite", (rows) => rows.delete(key));
  const mine = async (store, who) => (await all(store)).filter((row) => row.who === who).sort((a, b) => a.at - b.at);

  // Where no network answers this throws.
  const contact = async (keys = []) => {
    const answer = await fetch(`/contact/?keys=${keys.map(encodeURIComponent).join(",")}`, { cache: "no-store", signal: AbortSignal.timeout(ASKS_MS) });
    if (!answer.ok) throw new Error(`contact: ${answer.status}`);
    return answer.json();
  };
  const newKey = () => [...crypto.getRandomValues(new Uint8Array(16))].map((byte) => byte.toString(16).padStart(2, "0")).join("");

  // Sends on one form and says what came of it: still "waits", "arrived" or "refused".
  const sendOne = async (row, csrf) => {
    const body = new FormData();
    for (const [name, value] of row.fields) {
      if (name === "csrfmiddlewaretoken") continue;
      if (value instanceof Blob) body.append(name, value, value.name);
      else body.append(name, value);
    }
    let answer, told;
    try {
      answer = await fetch(row.url, { method: "POST", body, redirect: "manual", headers: { "X-CSRFToken": csrf, "Idempotency-Key": row.key }, signal: AbortSignal.timeout(SENDS_MS) });
      told = /json/.test(answer.headers.get("Content-Type")) ? await answer.json() : {};
    } catch {
      return { ...row, state: "waits", says: [] };
    }
    if (answer.ok && told.to) return { ...row, state: "arrived", to: told.to, says: [], fields: [], arrived: Date.now() };
    if (answer.status >= 500 || [401, 408, 429].includes(answer.status)) return { ...row, state: "waits", says: ["It was not taken just now; it is tried again."] };
    return { ...row, state: "refused", says: told.says ?? ["It was not taken."] };
  };

  // Sends on all that waits of whoever is signed in, one after the other, from one tab at a time. True where something
  // came of any of it.
  const sendAll = async () => {
    const waits = (await all("waiting")).filter((row) => row.state === "waits").sort((a, b) => a.at - b.at);
    if (!waits.length) return false;
    const work = async () => {
      let met = await contact(waits.map((row) => row.key)), came = false;
      for (const { key } of waits) {
        const row = await get("waiting", key); // another tab, or a finger, may have been here
        if (row?.state !== "waits" || row.who !== met.who) continue;
        const then = await sendOne(row, met.csrf);
        if (!(await get("waiting", key))) continue;
        await put("waiting", then);
        if (then.state === "arrived") await drop("drafts", key);
        came ||= then.state !== "waits";
        if (then.state === "waits") break;
      }
      return came;
    };
    if (!navigator.locks) return work();
    return navigator.locks.request("outbox", { ifAvailable: true }, (lock) => (lock ? work() : false));
  };
  // A moment as pages write it: 9:05 a.m. MST; with its day Nov 28, 9:05 a.m. MST. It is told in the zone of the job that
  // it is of, as all of a job's times are; of no job, or where the browser doesn't know that zone, in the device's own.
  const CLOCK = { hour: "numeric", minute: "2-digit", timeZoneName: "short" };
  const halves = (text) => text.replace(/\s([AP])M\b/, (all, half) => ` ${half.toLowerCase()}.m.`);
  const known = (timeZone) => {
    try {
      new Intl.DateTimeFormat("en-US", { timeZone });
      return timeZone;
    } catch {
      return undefined;
    }
  };
  const here = self.document?.body.dataset.zone;
  const told = (at, zone, how) => halves(new Date(at).toLocaleString("en-US", { ...how, timeZone: known(zone) }));
  const moment = (at, zone = here) => told(at, zone, { month: "short", day: "numeric", ...CLOCK });
  const clock = (at, zone = here) => told(at, zone, CLOCK);
  const day = (at, zone = here) => told(at, zone, { month: "short", day: "numeric", year: "numeric" });
  const isoDay = (at, zone) => new Date(at).toLocaleDateString("sv-SE", { timeZone: known(zone) });
  // Of the words of a page that is kept.
  const zoneOf = (html) => /<body\b[^>]* data-zone="([^"]+)"/.exec(html)?.[1];
  const make = (tag, props = {}, ...inner) => {
    const made = Object.assign(document.createElement(tag), props);
    made.append(...inner);
    return made;
  };
  // Of which job a row is, and when it was typed, to stand behind its title.
  const whence = ({ job, zone, at }) => [...(job ? [make("bdi", { textContent: job }), ", "] : []), `typed ${moment(at, zone)}`];
  // What throws something away asks once more, in its own place.
  const twice = (button, act) => button.addEventListener("click", () => {
    if (button.dataset.sure) { act(); return; }
    button.dataset.sure = "1";
    const yes = (says) => `Yes, ${says[0].toLowerCase()}${says.slice(1)}`;
    if (button.ariaLabel) button.ariaLabel = yes(button.ariaLabel);
    button.textContent = yes(button.textContent);
    button.classList.replace("quiet", "stop");
  });
  // A form that waits, as its fields have it.
  const rowOf = (fields, url, labels) => {
    const typed = new Map(fields), says = JSON.parse(typed.get("queued-lacks") || "[]");
    return {
      key: typed.get("idempotency-key") ?? typed.get("key"), who: typed.get("queued-by"), title: typed.get("queued-as"), job: typed.get("queued-in"), zone: typed.get("queued-zone"),
      url, page: typed.get("queued-from"), stays: typed.get("queued-stays"), fields, at: Date.now(), state: says.length ? "refused" : "waits", says, labels,
    };
  };
  // The field with the key of a form: of its own where it is filed under one, else the page's.
  const keyOf = (form) => form.elements["idempotency-key"] ?? form.elements.key;
  return { make, rowOf, clock, moment, day, isoDay, zoneOf, whence, twice, keyOf, get, all, put, drop, mine, contact, newKey, sendAll };
})();
