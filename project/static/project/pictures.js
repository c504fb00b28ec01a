// Photos are made smaller before they are sent: what the server keeps is no larger, and a weak signal carries it sooner.
// What this browser can't read goes as it is, and the server says what is wrong with it.
(() => {
  "use strict";
  const QUALITY = 0.85, making = new WeakMap();
  // An image element stands as the camera was held in every browser; Safari before 17 refuses to be told so of a bitmap.
  const read = async (file) => {
    const picture = new Image();
    picture.src = await new Promise((done, fail) => {
      const reader = Object.assign(new FileReader(), { onload: () => done(reader.result), onerror: fail });
      reader.readAsDataURL(file); // pages may show no blob: (their policy)
    });
    await picture.decode();
    return picture;
  };
  const smaller = async (file, longest) => {
    if (!file.type.startsWith("image/")) return file;
    try {
      const picture = await read(file), scale = longest / Math.max(picture.width, picture.height);
      if (scale >= 1 && file.type === "image/jpeg" && file.size < 300_000) return file;
      const canvas = document.createElement("canvas");
      [canvas.width, canvas.height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * Math.min(1, scale))));
      canvas.getContext("2d").drawImage(picture, 0, 0, canvas.width, canvas.height);
      const made = await new Promise((done) => canvas.toBlob(done, "image/jpeg", QUALITY));
      return made ? new File([made], `${file.name.replace(/\.\w+$/, "")}.jpg`, { type: "image/jpeg" }) : file;
    } catch {
      return file;
    }
  };
  const say = (field) => {
    let says = field.parentNode.querySelector(".photos-held");
    if (!says) {
      says = Object.assign(document.createElement("span"), { className: "photos-held soft small", role: "status" });
      field.after(says);
    }
    const kb = Math.ceil([...field.files].reduce((sum, file) => sum + file.size, 0) / 1000), n = field.files.length;
    says.textContent = n ? `${n} photo${n === 1 ? "" : "s"}, ${kb} KB to send.` : "";
  };
  for (const field of document.querySelectorAll("input[type=file][data-longest-px]")) {
    const longest = Number(field.dataset.longestPx);
    field.addEventListener("change", (event) => {
      if (event.detail === "smaller") return;
      const work = (async () => {
        const held = new DataTransfer();
        for (const file of [...field.files]) held.items.add(await smaller(file, longest));
        field.files = held.files;
        say(field);
        field.dispatchEvent(new CustomEvent("change", { bubbles: true, detail: "smaller" })); // the draft takes the small ones
      })().finally(() => making.delete(field.form));
      making.set(field.form, work);
    });
    field.addEventListener("held", () => say(field));
    field.form.addEventListener("submit", (event) => {
      const work = making.get(field.form);
      if (!work) return;
      event.preventDefault();
      event.stopImmediatePropagation();
      work.then(() => field.form.requestSubmit(event.submitter));
    }, { capture: true });
  }
})();
