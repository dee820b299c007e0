
// --- overview: what takes a while to work out comes behind the page ----------------------------------------------------------
document.querySelectorAll("[data-load]").forEach(async (part) => {
  const answer = await fetch(part.dataset.load).catch(() => null);
  if (answer && answer.ok) part.innerHTML = await answer.text();
});
