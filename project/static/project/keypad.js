// Feet and inches under a thumb: a phone's own keyboard has ' and " two screens away. It comes where a length is tapped
// on a touch screen, and the phone's own keyboard is one tap from there.
(() => {
  "use strict";
  const KEYS = ["7", "8", "9", "'", "4", "5", "6", "\"", "1", "2", "3", "/", "-", "0", ".", " "];
  const SAYS = { "'": "feet", "\"": "inches", "/": "over", "-": "minus", ".": "point", " ": "space" };
  const SHOWN = { " ": "␣", "-": "−" };
  let field = null, was = "", pad = null;

  const key = (says, shown, act) => {
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = shown;
    button.setAttribute("aria-label", says);
    button.addEventListener("pointerdown", (event) => event.preventDefault()); // the field keeps the focus
    button.addEventListener("click", act);
    return button;
  };
  const typed = () => {
    field.dispatchEvent(new Event("input", { bubbles: true }));
    field.dispatchEvent(new KeyboardEvent("keyup", { bubbles: true }));
  };
  const put = (text) => { field.setRangeText(text, field.selectionStart, field.selectionEnd, "end"); typed(); };
  const back = () => {
    const { selectionStart: from, selectionEnd: to } = field;
    if (from === to && from > 0) field.setRangeText("", from - 1, from, "end");
    else field.setRangeText("", from, to, "end");
    typed();
  };
  const close = () => {
    if (!field) return;
    const closed = field;
    field = null;
    pad.hidden = true;
    document.body.classList.remove("keypad-open");
    document.documentElement.style.scrollPaddingBottom = "";
    closed.removeAttribute("inputmode");
    if (closed.value !== was) closed.dispatchEvent(new Event("change", { bubbles: true }));
  };
  const make = () => {
    pad = document.createElement("div");
    pad.id = "keypad";
    pad.setAttribute("role", "group");
    pad.setAttribute("aria-label", "Feet and inches");
    for (const one of KEYS) pad.append(key(SAYS[one] ?? one, SHOWN[one] ?? one, () => put(one)));
    pad.append(
      key("The phone’s own keyboard", "abc", () => { const own = field; close(); own.blur(); own.dataset.own = "1"; own.focus(); }),
      key("Delete the last", "⌫", back),
      key("Done", "Done", () => { const done = field; close(); done.blur(); }),
    );
    pad.hidden = true;
    document.body.append(pad);
  };
  const open = (wanted) => {
    if (!pad) make();
    field = wanted;
    was = field.value;
    field.setAttribute("inputmode", "none"); // closing another may have been closing this one
    pad.hidden = false;
    document.body.classList.add("keypad-open");
    field.select();
    document.documentElement.style.scrollPaddingBottom = `${pad.offsetHeight + 56}px`;
    field.scrollIntoView({ block: "nearest" });
  };
  // The phone's keyboard is told off before the field has the focus; the keypad comes once the tap is over, since what
  // moves under it would be tapped in its place.
  document.addEventListener("pointerdown", (event) => {
    const wanted = event.target.closest?.("input[data-length]");
    if (!wanted || wanted.dataset.own) return;
    if (event.pointerType === "touch") wanted.setAttribute("inputmode", "none");
    else if (wanted !== field) wanted.removeAttribute("inputmode");
  });
  document.addEventListener("click", (event) => {
    const wanted = event.target.closest?.("input[data-length][inputmode=none]");
    if (wanted && wanted !== field) { close(); open(wanted); }
  });
  document.addEventListener("focusout", (event) => {
    if (event.target === field && !pad.contains(event.relatedTarget)) close();
    delete event.target.dataset?.own;
  });
})();
