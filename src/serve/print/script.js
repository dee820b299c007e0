// --- print ------------------------------------------------------------------------------------------------------------------
// A form with `data-live` is sent by itself a moment after it was changed.
(() => {
  let timer = 0;
  const later = (event) => {
    const form = event.target.closest("form[data-live]");
    if (!form) return;
    clearTimeout(timer);
    // Its button would print the older choice.
    outdated(form.dataset.swap || "#main");
    const wait = event.type === "input" && event.target.matches('[type="text"], [type="number"]') ? 600 : 150;
    timer = setTimeout(() => form.requestSubmit(), wait);
  };
  document.addEventListener("input", later);
  // A page that a browser kept and shows again, as after "back", may be older than what was printed meanwhile.
  window.addEventListener("pageshow", (event) => {
    if (event.persisted) document.querySelectorAll("form[data-live]").forEach((form) => form.requestSubmit());
  });
})();

// Where the form stands above what it asks for, whoever presses its button is shown that.
document.addEventListener("submit", (event) => {
  const press = event.submitter?.closest("form[data-live]")?.closest(".press");
  if (!press || getComputedStyle(press).gridTemplateColumns.includes(" ")) return;
  press.classList.add("narrowed");
  press.scrollIntoView();
});

// Fields that say nothing are left out of addresses.
document.addEventListener("formdata", (event) => {
  if (!event.target.matches("form[data-live]")) return;
  for (const name of new Set(event.formData.keys())) {
    const said = event.formData.getAll(name).filter((value) => value && !(name === "copies" && value === "1"));
    event.formData.delete(name);
    said.forEach((value) => event.formData.append(name, value));
  }
});

// The progress of a work, as the server tells it.
(() => {
  const box = document.querySelector("[data-progress]");
  if (!box || !window.EventSource) return;
  const [words, bar] = [box.querySelector("[role=status]"), box.querySelector("progress")];
  const told = new EventSource(box.dataset.progress);
  told.addEventListener("message", (event) => {
    const now = JSON.parse(event.data);
    words.textContent = now.words;
    if (now.of) { bar.max = now.of; bar.value = now.done; } else { bar.removeAttribute("value"); }
  });
  told.addEventListener("end", () => { told.close(); location.reload(); });
  told.addEventListener("error", () => { if (told.readyState === EventSource.CLOSED) setTimeout(() => location.reload(), 2000); });
})();
