
// --- lists: files dropped on the page, and a list read anew as soon as something is chosen -----------------------------------
(() => {
  const form = document.querySelector("form[data-drop]");
  if (!form) return;
  const box = form.querySelector('input[type="file"]');
  const isFiles = (event) => [...(event.dataTransfer ? event.dataTransfer.types : [])].includes("Files");
  document.addEventListener("dragover", (event) => { if (isFiles(event)) { event.preventDefault(); form.classList.add("over"); } });
  document.addEventListener("dragleave", (event) => { if (!event.relatedTarget) form.classList.remove("over"); });
  document.addEventListener("drop", (event) => {
    if (!isFiles(event)) return;
    event.preventDefault();
    form.classList.remove("over");
    box.files = event.dataTransfer.files;
    if (box.files.length) form.requestSubmit();
  });
})();

(() => {
  // One reading after the other, so that the last choice is the last that is kept; what is being typed stays.
  let isReading = false, isLate = false;
  const said = (form) => new URLSearchParams(new FormData(form)).toString();
  const reread = async (form) => {
    if (isReading) { isLate = true; return; }
    [isReading, isLate] = [true, false];
    const sent = said(form);
    const headers = { "content-type": "application/x-www-form-urlencoded" };
    const answer = await fetch(form.action, { method: "POST", headers, body: sent }).catch(() => null);
    const text = answer && answer.ok && await answer.text().catch(() => null);
    isReading = false;
    if (!form.isConnected) return;
    if (isLate) { reread(form); return; }
    // The next change, or leaving the field, reads it anew.
    if (said(form) !== sent) { isLate = true; return; }
    const theirs = text && new DOMParser().parseFromString(text, "text/html").querySelector("#main");
    if (!theirs) { form.requestSubmit(); return; }
    const id = document.activeElement?.id;
    document.querySelector("#main").replaceWith(document.adoptNode(theirs));
    if (id) document.getElementById(id)?.focus();
  };
  document.addEventListener("change", (event) => {
    const form = event.target.closest("form[data-reread]");
    if (form) reread(form);
  });
  document.addEventListener("focusout", (event) => {
    const form = event.target.closest("form[data-reread]");
    if (form && isLate && !isReading) reread(form);
  });
})();
