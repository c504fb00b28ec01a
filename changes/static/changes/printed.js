// Paper has the drawings too, also where they were still to come: nothing that answers later is printed.
addEventListener("beforeprint", () => {
  for (const within of ["", "details "]) { // what comes has its forces drawn apart again
    for (const part of document.querySelectorAll(`${within}[data-apart]`)) {
      const asks = new XMLHttpRequest();
      asks.open("GET", part.getAttribute("hx-get"), false);
      try { asks.send(); } catch { continue; } // without a signal its addresses are printed
      if (asks.status === 200) part.outerHTML = asks.responseText;
    }
  }
  htmx.trigger(document.body, "htmx:afterSwap");
});
