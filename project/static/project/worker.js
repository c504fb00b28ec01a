// The service worker: keeps the pages that one account opened or that its job says to keep, answers with them where there
// is no signal and says how old they are, and takes a form that can't be sent. Its first line, KNOWS, is the server's.
//
// A page comes from the network whenever that answers. What is kept belongs to one account: a page that says that it is
// another's (Kept-For) throws it away. Nothing that a form sent is ever kept as a page, nor what a redirect led to.
"use strict";
importScripts(KNOWS.outbox);

const FILES = "files", PAGES = "pages ", AT = "X-Kept-At", VERSION = "X-Kept-Version";
const WAITS_MS = 10_000, SENDS_MS = 20_000, SENDS_PHOTOS_MS = 60_000, SILENT_MS = 30_000, CLOCKS_S = 300;
const FRESH_S = 3_600, LIST_FRESH_MS = 60_000, OLDEST_S = 14 * 24 * 3_600, MOST_FILES = 200;
const AWAY = [502, 503, 504];

self.addEventListener("install", (event) => event.waitUntil((async () => {
  const files = await caches.open(FILES), page = await fetch(KNOWS.device, { credentials: "omit", cache: "no-store" });
  if (!page.ok || page.redirected) throw new Error("the page of the device didn't come");
  await keepParts(files, await page.clone().text());
  await files.put(KNOWS.device, page);
  await self.skipWaiting();
})()));
self.addEventListener("activate", (event) => event.waitUntil((async () => {
  await self.clients.claim();
  const files = await caches.open(FILES); // the oldest are of versions that no page names any more
  for (const old of (await files.keys()).slice(0, -MOST_FILES)) await files.delete(old);
})()));

// --- whose it is

let owner, leavings = 0; // what was asked for before somebody signed out is kept for nobody
const who = async () => owner ??= (await outbox.get("known", "who"))?.value ?? "nobody";
const belongsTo = async (now) => {
  if (!now || now === await who()) return;
  owner = now;
  await outbox.put("known", { key: "who", value: now });
  await forget(now);
};
const forget = async (but) => {
  for (const name of await caches.keys()) if (name.startsWith(PAGES) && name !== PAGES + but) await caches.delete(name);
};
const pages = async () => caches.open(PAGES + await who());

// --- from the network

let silentUntil = 0;
const tooLong = (ms) => new Promise((_, fail) => { setTimeout(() => fail(new DOMException("no answer", "TimeoutError")), ms); });
const network = async (request, ms = WAITS_MS, more = undefined) => {
  const answer = await Promise.race([fetch(request, more), tooLong(ms)]);
  if (AWAY.includes(answer.status)) throw new Error(`answered ${answer.status}`);
  silentUntil = 0;
  return answer;
};
const isPage = (answer) => answer.type === "basic" && answer.status === 200 && !answer.redirected && /^text\/html/.test(answer.headers.get("Content-Type"));
const stamped = async (answer, version = "") => {
  const headers = new Headers(answer.headers);
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  headers.set(AT, String(Date.now()));
  if (version) headers.set(VERSION, version);
  return new Response(await answer.blob(), { status: 200, headers });
};
// What a page shows besides its own words: styles, scripts and pictures, of which those of a revision never change.
const keepParts = async (pagesOrFiles, html) => {
  const files = await caches.open(FILES), found = new Set();
  for (const [, address] of html.matchAll(/<(?:link|script|img)\b[^>]*?\b(?:href|src)="([^"]+)"/g)) {
    const url = new URL(address.replaceAll("&amp;", "&"), location.origin);
    if (url.origin === location.origin) found.add(url.href);
  }
  for (const url of found) {
    if (EDGES.test(new URL(url).pathname)) continue; // came with its sheet
    const to = new URL(url).pathname.startsWith(KNOWS.static) ? files : pagesOrFiles;
    if (await to.match(url)) continue;
    const part = await fetch(url, { redirect: "manual" });
    if (part.ok && part.type === "basic") await to.put(url, part);
  }
};
const keepPage = async (url, answer, since, version) => {
  if (since !== leavings) return;
  await belongsTo(answer.headers.get("Kept-For"));
  if (await who() === "nobody") return;
  const to = await pages(), html = await answer.clone().text();
  // what is not to be stored is kept for the form in it alone, which waits here too
  if (/no-store/.test(answer.headers.get("Cache-Control") ?? "") && !html.includes(" data-queued=")) return;
  const edges = html.match(/href="([^"?]+\/margins\.css)"/)?.[1];
  if (edges) { // anew with each sheet: it says whether to build
    const fresh = await network(edges, WAITS_MS, { cache: "no-store", redirect: "manual" });
    if (fresh.ok && fresh.type === "basic") await to.put(new URL(edges, location.origin).href, fresh);
  }
  const kept = await stamped(answer, version);
  if (since !== leavings) return;
  await to.put(url, kept);
  await keepParts(to, html);
};

// --- what is kept, told as such

const ageOf = (answer) => {
  const at = Number(answer.headers.get(AT)), said = Date.parse(answer.headers.get("Date")) || at;
  const age = Math.max(Date.now() - at, Date.now() - said) / 1000; // the device's clock, and the server's beside it
  return { at: new Date(at), age, old: !(age > -CLOCKS_S && age <= KNOWS.current_s) };
};
const toldAt = (at, zone) => {
  const day = outbox.day(at, zone), time = outbox.clock(at, zone);
  if (day === outbox.day(Date.now(), zone)) return `${time} today`;
  if (day === outbox.day(Date.now() - 86_400_000, zone)) return `${time} yesterday`;
  return `${day}, ${time}`;
};
const textOf = (words) => words.replaceAll("&", "&amp;").replaceAll("<", "&lt;");
const hours = () => (KNOWS.current_s >= 7200 ? `${Math.round(KNOWS.current_s / 360) / 10} hours` : `${Math.round(KNOWS.current_s / 60)} minutes`);
const EDGES = /\/revisions\/\d+\/margins\.css$/;
const STATUS = /<!--status-->[^]*?<!--\/status-->/;
const CROSS = '<svg class="dead-cross" viewBox="0 0 100 100" preserveAspectRatio="none" aria-hidden="true"><path d="M0 0L100 100M100 0L0 100"/></svg>';
const instead = (word, says, second, more = "") => `${more}<div class="status-line"><p class="first-line">${word}</p><p>${says}</p></div><div class="verdict-line no"><p class="second-line">${second}</p></div>`;

const fromKept = async (kept, url) => {
  const { at, old } = ageOf(kept), dead = await deadOf(url);
  const isSheet = /\/revisions\/\d+\/$/.test(new URL(url).pathname);
  let html = await kept.text();
  const time = toldAt(at, outbox.zoneOf(html));
  let says = `<strong>As of ${time}, no signal.</strong> `;
  const classes = ["kept"];
  const isDead = /<article class="[^"]*\bdead\b/.test(html); // by its own word, and for good
  if (isSheet && !isDead && (old || dead) && !STATUS.test(html)) return onDevice("not-current"); // never as it stood
  if (dead && !isDead) {
    classes.push("superseded");
    html = html.replace(STATUS, () => instead("DEAD", ...dead, CROSS))
      .replace(/(<article class="[^"]*\bsheet\b)/, "$1 dead");
  } else if (old && !isDead) {
    html = html.replace(STATUS, () => instead("NOT KNOWN", `This sheet was fetched at ${time} and can't be called current: a newer revision may be out.`, "No. Do not build from this until it was opened with a signal."));
  }
  if (old) classes.push("old");
  const mark = isSheet ? undefined : /^\/jobs\/\d+\/trusses\/\d+\//.exec(new URL(url).pathname)?.[0];
  const gone = mark && (await lists()).flatMap((list) => list.sheets).find((one) => one.withdrawn !== undefined && one.url.startsWith(mark));
  if (gone) says += `<strong>${textOf(gone.withdrawn)} is withdrawn: it is out of the set. Do not build from its sheets.</strong> `;
  if (gone) classes.push("superseded");
  says += old ? `<span>That is more than ${hours()} ago, or this device's clock is wrong: nothing on this page can be called current.</span>` : "<span>What was decided since isn't on it.</span>";
  // the printed edges say what this page says
  const [first, second] = ["first-line", "second-line"].map((line) => new RegExp(`class="${line}">([^<]*)`).exec(html)?.[1].replaceAll("&#x27;", "’") ?? "");
  html = html.replace(/(href="[^"?]+\/margins\.css)"/, (_, link) => `${link}?first=${encodeURIComponent(first)}&amp;second=${encodeURIComponent(second)}"`);
  html = html.replace('<html lang="en">', `<html lang="en" class="${classes.join(" ")}" data-kept-at="${at.getTime()}">`)
    .replace("<!--kept-->", () => `<div class="kept-line" role="status">${says}</div>`);
  return new Response(html, { status: 200, headers: kept.headers });
};
// The edges of a kept sheet as its page has them: two lines of its own, the rest as kept.
const edgesOf = async (url) => {
  const kept = await (await pages()).match(url.origin + url.pathname), line = (name) => (url.searchParams.get(name) ?? "").replace(/["\\\n\r\f<]/g, "");
  if (!kept) return Response.error();
  const css = (await kept.text()).replace(/(@top-center \{ content: )"[^"]*"/, (_, box) => `${box}"${line("first")}"`).replace(/(@bottom-left \{ content: )"[^"]*"/, (_, box) => `${box}"${line("second")}"`);
  return new Response(css, { status: 200, headers: { "Content-Type": "text/css; charset=utf-8" } });
};
const lists = async () => {
  const to = await pages(), told = [];
  for (const request of await to.keys()) {
    if (!request.url.endsWith("/kept.json")) continue;
    const kept = await to.match(request);
    told.push({ ...(await kept.json()), age: ageOf(kept) });
  }
  return told;
};
const isOver = (sheet) => sheet.dead_by !== undefined || sheet.withdrawn !== undefined;
// What a sheet that doesn't count any more says of itself, where it doesn't know yet.
const deadOf = async (url) => {
  const path = new URL(url).pathname, sheet = (await lists()).flatMap((list) => list.sheets).find((one) => one.url === path);
  if (!sheet || !isOver(sheet)) return undefined;
  if (sheet.withdrawn !== undefined) return [`${textOf(sheet.withdrawn)} is withdrawn: it is out of the set. Take this down.`, "No. This mark is withdrawn: do not build from this."];
  return [`Revision ${sheet.dead_by} is current. Take this one down.`, `No. Superseded by revision ${sheet.dead_by}: do not build from this.`];
};
// The page of the device, in place of one that isn't here; `why` is a word that the page knows.
const onDevice = async (why, at = "") => {
  const kept = await (await pages()).match(KNOWS.device) ?? await (await caches.open(FILES)).match(KNOWS.device);
  if (!kept) return Response.error();
  const html = (await kept.text()).replace('<html lang="en">', `<html lang="en" class="kept" data-why="${why}" data-at="${at.replace(/[^\w/.-]/g, "")}">`);
  const headers = new Headers(kept.headers);
  for (const name of ["Content-Encoding", "Content-Length"]) headers.delete(name);
  return new Response(html, { status: 200, headers });
};

// --- answers

const page = async (event) => {
  const { request } = event, url = new URL(request.url);
  url.hash = "";
  for (const name of ["typed", "ticked"]) url.searchParams.delete(name); // what its form is filled with, or was said last, is no other page
  if (Date.now() > silentUntil || !(await (await pages()).match(url.href))) {
    const since = leavings;
    try {
      const answer = await network(request);
      if (isPage(answer) && since === leavings) {
        const copy = answer.clone();
        await belongsTo(answer.headers.get("Kept-For")); // before the page is seen: none of another's is left by then
        event.waitUntil(keepPage(url.href, copy, since).catch(() => {}));
      }
      return answer;
    } catch (trouble) {
      if (trouble.name === "TimeoutError") silentUntil = Date.now() + SILENT_MS;
    }
  }
  const kept = await (await pages()).match(url.href);
  if (kept && url.pathname.endsWith(".pdf")) return file(kept, url.pathname);
  if (kept) return url.pathname === KNOWS.device ? onDevice("") : fromKept(kept, url.href);
  // the form is kept without what an address fills into it
  if (url.search && /\/damage\/$/.test(url.pathname) && await (await pages()).match(url.origin + url.pathname)) return Response.redirect(url.pathname);
  if (url.pathname === "/") { // the job, where there is one
    const jobs = await lists();
    if (jobs.length === 1) return Response.redirect(`/jobs/${jobs[0].job}/`);
  }
  const code = /^\/jobs\/\d+\/sheets\/$/.test(url.pathname) ? (url.searchParams.get("code") ?? "").replace(/\D/g, "") : "";
  const paper = /^\/paper\/([^/]+)\/$/.exec(url.pathname)?.[1] ?? "";
  if (code || paper) { // a sheet in somebody's hand: the kept one says what is known of it, and as of when
    const sheets = (await lists()).flatMap((list) => list.sheets).filter((sheet) => (code ? sheet.code === code : sheet.paper === paper));
    for (const sheet of sheets) if (await (await pages()).match(sheet.url)) return Response.redirect(sheet.url);
    const dead = sheets.length && sheets.every(isOver);
    return onDevice(dead ? "code-dead" : sheets.length ? "code-elsewhere" : "code-unknown", code || paper);
  }
  return onDevice("not-kept", url.pathname);
};
// A sealed drawing is opened outside of these pages, where no line can say how old it is: its name does.
const file = async (kept, path) => {
  const list = (await lists()).find(({ files }) => files.includes(path)); // as old as the word that it still counts
  const { at, old } = list?.age ?? ageOf(kept), headers = new Headers(kept.headers), day = outbox.isoDay(at, list?.zone);
  const name = /filename="?([\w.-]+)"?/.exec(headers.get("Content-Disposition") ?? "")?.[1] ?? "sealed.pdf";
  headers.set("Content-Disposition", `attachment; filename="${old ? "not-known-to-be-current" : "as-of"}-${day}-${name}"`);
  return new Response(kept.body, { status: 200, headers });
};
const part = async (event) => {
  const { request } = event, url = new URL(request.url), isFile = url.pathname.startsWith(KNOWS.static);
  if (EDGES.test(url.pathname) && url.search) return edgesOf(url);
  const to = isFile ? await caches.open(FILES) : await pages();
  const kept = await to.match(request.url);
  if (kept && Date.now() < silentUntil) return kept;
  try {
    const answer = await network(request);
    if (answer.ok && answer.type === "basic" && !answer.redirected) event.waitUntil(to.put(request.url, answer.clone()).catch(() => {}));
    return answer;
  } catch (trouble) {
    if (kept) return kept;
    throw trouble;
  }
};

// A form: sent as ever; where nothing answers it waits here, if its page knows how to wait. Leaving clears what is kept,
// whatever the server says. Back and reload come to an answer, and would send the form behind it once more: nobody chose
// that again, and what was refused then may be taken by now. They open the page of the form instead.
const form = async (event) => {
  const { request } = event, copy = request.clone(), path = new URL(request.url).pathname;
  if (request.isHistoryNavigation || request.isReloadNavigation || /^(only-if|force)-cached?$/.test(request.cache)) return sentBefore(copy);
  const leaves = KNOWS.leaves.some((start) => path.startsWith(start));
  if (leaves) {
    leavings += 1;
    await belongsTo("nobody");
    await forget("");
  }
  try {
    return await network(request, /multipart/.test(request.headers.get("Content-Type")) ? SENDS_PHOTOS_MS : SENDS_MS);
  } catch (trouble) {
    if (trouble.name === "TimeoutError") silentUntil = Date.now() + SILENT_MS;
    if (leaves) return onDevice("not-left");
    const { fields, typed } = await fieldsOf(copy);
    const key = typed.get("idempotency-key") ?? typed.get("key"), title = typed.get("queued-as"), by = typed.get("queued-by");
    if (!key || !title || !by) return onDevice("not-sent");
    const { labels } = await outbox.get("drafts", key) ?? {}, instead = typed.get("queued-instead");
    const row = outbox.rowOf(fields, path + new URL(request.url).search, labels), from = new URL(row.page ??= path, location);
    await outbox.put("waiting", row);
    if (instead && instead !== key) await outbox.drop("waiting", instead); // it was typed on in this one
    await outbox.drop("drafts", key);
    if (row.says.length) { // the server would refuse it whenever it came: it is said now, in the form, with all that was typed
      from.searchParams.set("typed", key);
      return Response.redirect(from, 303);
    }
    await self.registration.sync?.register("outbox").catch(() => {});
    if (row.stays && await (await pages()).match(from.href)) return Response.redirect(`${from.href}#${row.stays}`, 303); // told there
    return Response.redirect(`${KNOWS.device}#${key}`, 303);
  }
};

const fieldsOf = async (request) => {
  const fields = [...(await request.formData()).entries()];
  return { fields, typed: new Map(fields) };
};
const sentBefore = async (request) => {
  const { fields, typed } = await fieldsOf(request).catch(() => ({ fields: [], typed: new Map() })), sent = new URL(request.url);
  const from = new URL(typed.get("queued-from") ?? "/device/", location), key = typed.get("idempotency-key"), by = typed.get("queued-by");
  if (!typed.has("queued-from") || from.origin !== location.origin) return onDevice("sent-before");
  if (key && by) { // with what was typed in it
    await outbox.put("known", { key: `again ${key}`, who: by, url: sent.pathname + sent.search, fields, says: [] });
    from.searchParams.set("typed", key);
  }
  return Response.redirect(from, 303);
};

self.addEventListener("fetch", (event) => {
  const { request } = event, url = new URL(request.url);
  if (url.origin !== location.origin || KNOWS.outside.some((start) => url.pathname.startsWith(start))) return;
  if (request.mode === "navigate" && request.method === "POST") event.respondWith(form(event));
  else if (request.method !== "GET" || request.headers.has("Range")) return;
  else if (request.mode === "navigate") event.respondWith(page(event));
  else if (["style", "script", "image", "manifest"].includes(request.destination)) event.respondWith(part(event));
});
self.addEventListener("sync", (event) => { if (event.tag === "outbox") event.waitUntil(outbox.sendAll().then(tell)); });

// --- the whole of a job

const tell = async (told) => { for (const client of await self.clients.matchAll()) client.postMessage(told); };
const listed = new Map();
const keepJob = async (address, now) => {
  if (!now && Date.now() - (listed.get(address) ?? 0) < LIST_FRESH_MS) return;
  listed.set(address, Date.now());
  const since = leavings;
  try {
    const answer = await network(address, WAITS_MS, { cache: "no-store", redirect: "manual" });
    if (answer.type === "opaqueredirect") await belongsTo("nobody"); // signed out elsewhere
    if ([403, 404].includes(answer.status)) await forget(""); // a member no more
    if (!answer.ok || since !== leavings) return;
    const copy = answer.clone(), list = await answer.json();
    await belongsTo(list.who);
    const to = await pages();
    await to.put(address, await stamped(copy));
    await tell({ dead: list.sheets.filter(isOver) });
    const wanted = new Map(list.pages.map(({ url, version }) => [new URL(url, location.origin).href, version]));
    const files = new Set(list.files.map((url) => new URL(url, location.origin).href));
    for (const request of await to.keys()) { // what died since is fetched once more, so that it says so itself
      const kept = await to.match(request), dead = list.sheets.find((sheet) => isOver(sheet) && new URL(sheet.url, location.origin).href === request.url);
      if (dead && !wanted.has(request.url)) wanted.set(request.url, `dead by ${dead.dead_by}, ${dead.withdrawn}`);
      else if (/\/drawing\.pdf$/.test(request.url) ? !files.has(request.url) : !wanted.has(request.url) && (Date.now() - Number(kept.headers.get(AT) ?? Date.now())) / 1000 > OLDEST_S) await to.delete(request);
    }
    let n = 0;
    for (const [url, version] of wanted) {
      if (since !== leavings) return;
      const kept = await to.match(url);
      if (!kept || kept.headers.get(VERSION) !== version || ageOf(kept).age > FRESH_S) {
        const fresh = await network(url, 3 * WAITS_MS, { cache: "no-store", redirect: "manual" });
        if (isPage(fresh)) await keepPage(url, fresh, since, version);
      }
      n += 1;
      if (kept !== undefined && kept.headers.get(VERSION) === version) continue;
      await tell({ keeps: address, n, of: wanted.size + files.size });
    }
    for (const url of files) {
      if (since !== leavings) return;
      if (!(await to.match(url))) {
        const drawn = await network(url, 6 * WAITS_MS, { redirect: "manual" });
        if (drawn.ok && drawn.type === "basic") await to.put(url, await stamped(drawn));
      }
      n += 1;
    }
    if (n) await outbox.put("known", { key: `kept ${address}`, who: await who(), at: Date.now(), n });
    await tell({ kept: address, n });
  } catch (trouble) {
    listed.delete(address);
    await tell({ stopped: address, full: trouble.name === "QuotaExceededError" });
  }
};
self.addEventListener("message", (event) => {
  const { keep, now, page: opened } = event.data;
  if (keep) event.waitUntil(keepJob(keep, now));
  if (opened) { // it was open before this worker was there
    const since = leavings;
    event.waitUntil(network(opened, WAITS_MS, { cache: "no-store", redirect: "manual" }).then((answer) => isPage(answer) && keepPage(opened, answer, since)).catch(() => {}));
  }
});
