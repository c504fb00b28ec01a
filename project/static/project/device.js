// The page of the device: what waits and what was typed in it, what came of it, and which pages are kept.
(() => {
  "use strict";
  const who = document.body.dataset.whose, root = document.documentElement;
  const { make } = outbox;
  const WHYS = {
    "not-kept": () => "No signal, and that page is not on this device. What is here opens below.",
    "not-current": () => "No signal, and that sheet can't be called current. Do not build from it until it was opened with a signal.",
    "not-sent": () => "No signal. What you just sent was not sent, and it can't wait here: go back and send it when there is a signal.",
    "sent-before": () => "Going back does not send anything again: what you sent there stands as it was answered. Open its page from below or from the menu.",
    "not-left": () => "No signal: the server doesn't know yet that you signed out. What was kept here is gone; sign out again when there is a signal.",
    "code-unknown": (code) => `No sheet that this device knows has the code ${code}. Do not build from that paper until you asked with a signal.`,
    "code-elsewhere": (code) => `The code ${code} was a current sheet's when this device last had a signal, but the sheet is not here.`,
    "code-dead": (code) => `The code ${code} is of a sheet that doesn't count any more. Do not build from that paper.`,
  };
  const { why, at } = root.dataset;
  if (why) document.getElementById("device-why").textContent = WHYS[why]?.(at) ?? "";

  const SILENT = new Set(["csrfmiddlewaretoken", "key", "idempotency-key", "queued-as", "queued-by", "queued-from", "queued-in", "queued-instead", "queued-lacks", "queued-stays", "queued-zone", "seen", "shown", "stood", "to", "send"]);
  const typed = (row) => {
    const list = make("dl", { className: "typed" });
    for (const [name, value] of row.fields) {
      if (SILENT.has(name) || row.labels?.[`out ${name}`] || value === "" || (value instanceof Blob && !value.size)) continue;
      const says = row.labels?.[name] || name.replace(/[-_]/g, " ");
      const held = value instanceof Blob ? `${value.name}, ${Math.ceil(value.size / 1000)} KB` : (row.labels?.[`${name}=${value}`] ?? value);
      if (list.lastChild?.dataset?.of === name) { // several that were ticked
        list.lastChild.append(", ", make("bdi", { textContent: row.labels?.[`${name}=${value}`] ?? String(value) }));
        continue;
      }
      list.append(make("dt", { textContent: says }), make("dd", {}, make("bdi", { textContent: held })));
      if (!(value instanceof Blob)) list.lastChild.dataset.of = name;
    }
    return list;
  };
  const button = (textContent, act, className = "button quiet") => make("button", { type: "button", className, textContent, onclick: act });
  const sendNow = async (row) => {
    await outbox.sendAll().catch(() => {});
    await fill();
    if ((await outbox.get("waiting", row.key))?.state !== "waits") return;
    const says = make("p", { className: "trouble", textContent: navigator.onLine === false ? "Still no signal: it stays here." : "It couldn’t be sent just now: it stays here." });
    says.setAttribute("role", "alert");
    document.getElementById(row.key)?.append(says);
  };
  const slip = (row) => {
    const word = { waits: "Waits for a signal", refused: "Not taken", arrived: "Arrived" }[row.state];
    const box = make("div", { className: "slip", id: row.key }, make("h3", { className: "breaking" }, make("bdi", { textContent: row.title })));
    const tone = { waits: "look", refused: "stop", arrived: "good" }[row.state];
    box.append(make("p", {}, make("span", { className: `tag ${tone}`, textContent: word.toLowerCase() }), " ", ...outbox.whence(row)));
    if (row.state === "refused") box.append(make("div", { className: "note stop" }, make("strong", { textContent: "It was not taken:" }), ...row.says.map((says) => make("span", { textContent: says }))));
    else if (row.says.length) box.append(make("p", { textContent: row.says.join(" ") }));
    if (row.state === "arrived") {
      box.append(make("div", { className: "inline" }, make("a", { className: "button quiet", href: row.to, textContent: "Open it" })));
      return box;
    }
    box.append(typed(row));
    const inline = make("div", { className: "inline" });
    if (row.state === "waits") inline.append(button("Send it now", () => sendNow(row), "button"));
    else inline.append(make("a", { className: "button", href: `${row.page}${row.page.includes("?") ? "&" : "?"}typed=${row.key}`, textContent: "Open the form with it" }));
    inline.append(button("Throw it away"));
    outbox.twice(inline.lastChild, async () => { await outbox.drop("waiting", row.key); fill(); });
    box.append(inline);
    return box;
  };
  const fill = async () => {
    const rows = await outbox.mine("waiting", who), held = document.getElementById("device-waits");
    const waits = rows.some((row) => row.state !== "arrived");
    document.getElementById("waits-head").textContent = waits || !rows.length ? "Waits to be sent" : "Arrived";
    held.replaceChildren(...(rows.length ? rows.map(slip) : [make("p", { className: "soft", textContent: "Nothing waits." })]));
    if (location.hash) document.getElementById(location.hash.slice(1))?.scrollIntoView();
  };
  const pages = async () => {
    if (!("caches" in self) || who === "nobody" || !(await caches.has(`pages ${who}`))) return;
    const cache = await caches.open(`pages ${who}`), list = document.getElementById("device-pages"), found = [];
    let oldest = { at: Infinity };
    for (const request of await cache.keys()) {
      const kept = await cache.match(request), at = Number(kept.headers.get("X-Kept-At"));
      if (!/^text\/html/.test(kept.headers.get("Content-Type")) || request.url.endsWith("/device/")) continue;
      const url = new URL(request.url), html = await kept.text(), title = /<title>([^<]*)<\/title>/.exec(html)?.[1] ?? url.pathname;
      const zone = outbox.zoneOf(html);
      if (at < oldest.at) oldest = { at, zone };
      const words = new DOMParser().parseFromString(title, "text/html").body.textContent.replace(/ · Chord Change$/, "");
      found.push({ href: url.pathname + url.search, words: [words, url.searchParams.get("level")].filter(Boolean).join(": "), at, zone });
    }
    // the job, its lists and its plan, then sheets, then marks, then what can be told of each
    const rank = ({ href }) => [/^\/jobs\/\d+\/$/, /\/sheets\//, /\/plan\//, /\/setting\//, /\/revisions\/\d+\/$/, /\/trusses\/\d+\/$/].findIndex((kind) => kind.test(href)) >>> 0;
    found.sort((a, b) => rank(a) - rank(b) || a.words.localeCompare(b.words, "en", { numeric: true }));
    list.replaceChildren(...found.map(({ href, words, at, zone }) => make("li", {}, make("a", { href, className: "stands-alone" }, make("bdi", { textContent: words })), " ", make("span", { className: "soft small", textContent: `as of ${outbox.moment(at, zone)}` }))));
    if (found.length) document.getElementById("device-kept").textContent = `${found.length} pages, the oldest as of ${outbox.moment(oldest.at, oldest.zone)}. They belong to your account and go when you sign out.`;
  };
  document.addEventListener("outbox", fill);
  document.addEventListener("worker", (event) => { if (event.detail?.kept) pages(); });
  fill();
  pages();
})();
