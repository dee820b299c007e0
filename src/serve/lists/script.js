
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

document.addEventListener("change", async (event) => {
  const form = event.target.closest("form[data-reread]");
  if (!form) return;
  const id = event.target.id;
  const answer = await fetch(form.action, { method: "POST", body: new URLSearchParams(new FormData(form)) }).catch(() => null);
  const theirs = answer && answer.ok && new DOMParser().parseFromString(await answer.text(), "text/html").querySelector("#main");
  if (!theirs) { form.requestSubmit(); return; }
  document.querySelector("#main").replaceWith(document.adoptNode(theirs));
  const same = document.getElementById(id);
  if (same) same.focus();
});
