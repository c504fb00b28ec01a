// A link that is shown once: copied, or given to what the device sends by. Without this it can be marked by hand.
(() => {
  "use strict";
  const whole = (button, from) => document.getElementById(button.dataset[from]);
  const says = document.getElementById("copied");
  const mark = (what) => {
    const all = document.createRange();
    all.selectNodeContents(what);
    getSelection().removeAllRanges();
    getSelection().addRange(all);
  };
  for (const button of document.querySelectorAll("[data-copies]")) {
    button.hidden = false;
    button.addEventListener("click", async () => {
      const what = whole(button, "copies");
      mark(what);
      let done = true;
      try { await navigator.clipboard.writeText(what.textContent); } // absent where a page has no TLS
      catch { done = document.execCommand("copy"); }
      says.textContent = done ? "Copied." : "This browser doesn’t copy: it is marked, copy it by hand.";
    });
  }
  for (const button of document.querySelectorAll("[data-shares]")) {
    button.hidden = typeof navigator.share !== "function";
    button.addEventListener("click", async () => {
      try { await navigator.share({ title: button.dataset.title, url: whole(button, "shares").textContent }); }
      catch (error) { if (error.name !== "AbortError") says.textContent = "Not sent: copy it instead."; }
    });
  }
})();
