// What makes pages quicker. Every page works without it.
"use strict";

// --- the find box: results while typing, keys to reach and walk them ---------------------------------------------------------
(() => {
  const box = document.querySelector("input[data-find]");
  if (!box) return;
  const list = document.createElement("div");
  list.className = "found";
  list.hidden = true;
  list.setAttribute("aria-live", "polite");
  box.form.append(list);
  let asked = "", timer = 0, current = -1;

  const links = () => [...list.querySelectorAll("a.answer")];
  const close = () => { list.hidden = true; current = -1; };
  const ask = async () => {
    const typed = box.value.trim();
    if (typed === asked) { list.hidden = !typed; return; }
    asked = typed;
    if (!typed) { list.replaceChildren(); close(); return; }
    const answer = await fetch(`${box.dataset.find}?part=1&q=${encodeURIComponent(typed)}`).catch(() => null);
    if (!answer || !answer.ok || typed !== asked) return;
    list.innerHTML = await answer.text();
    list.hidden = false;
    current = -1;
  };
  box.addEventListener("input", () => { clearTimeout(timer); timer = setTimeout(ask, 80); });
  box.addEventListener("focus", () => { if (box.value.trim()) ask(); });
  box.addEventListener("keydown", (event) => {
    const all = links();
    // A browser would empty the box.
    if (event.key === "Escape") { event.preventDefault(); close(); box.blur(); return; }
    if (event.key !== "ArrowDown" && event.key !== "ArrowUp" || !all.length) return;
    event.preventDefault();
    current = (current + (event.key === "ArrowDown" ? 1 : all.length - 1 + (current < 0))) % all.length;
    all[current].focus();
  });
  list.addEventListener("keydown", (event) => {
    const all = links(), at = all.indexOf(document.activeElement);
    if (event.key === "Escape") { close(); box.focus(); }
    if (event.key === "ArrowDown") { event.preventDefault(); (all[at + 1] || box).focus(); }
    if (event.key === "ArrowUp") { event.preventDefault(); (all[at - 1] || box).focus(); }
  });
  document.addEventListener("click", (event) => { if (!box.form.contains(event.target)) close(); });
  document.addEventListener("keydown", (event) => {
    const isTyping = event.target.closest("input, textarea, select, [contenteditable]");
    if (event.key === "/" && !isTyping && !event.ctrlKey && !event.metaKey) { event.preventDefault(); box.focus(); box.select(); }
  });
})();

// --- moments: told in universal time, shown in the browser's own ---------------------------------------------------------------
(() => {
  const two = (number) => String(number).padStart(2, "0");
  const own = (time) => {
    const at = new Date(time.dateTime);
    if (isNaN(at) || time.title) return;
    time.title = time.textContent;
    time.textContent = `${at.getFullYear()}-${two(at.getMonth() + 1)}-${two(at.getDate())} ${two(at.getHours())}:${two(at.getMinutes())}`;
  };
  const all = (part) => part.querySelectorAll?.("time[datetime]").forEach(own);
  all(document);
  // Parts of a page that come later.
  new MutationObserver((changes) => changes.forEach((change) => change.addedNodes.forEach(all)))
    .observe(document.body, { childList: true, subtree: true });
})();

// --- forms that change a part of the page without leaving it -----------------------------------------------------------------
// `data-swap="#main"`: the answer's element of that name takes the place of ours. A question that fails goes the plain way; what
// was written is never sent twice.
// By target, what is asked: the last asked counts.
const asking = new Map();

// What a part shows answers something older: nothing of it can be used until the answer is in.
const outdated = (target) => {
  asking.get(target)?.abort();
  asking.delete(target);
  const part = document.querySelector(target);
  if (part) { part.inert = true; part.classList.add("busy"); }
};

// Nobody knows whether it was written: whoever sent it looks first.
const lost = (part) => {
  part.inert = false;
  part.classList.remove("busy");
  const told = document.createElement("div"), words = document.createElement("p"), again = document.createElement("button");
  told.setAttribute("role", "alert");
  words.className = "alarm";
  words.textContent = "No answer came: it is not known whether this was written. Load the page again and look before you send it once more.";
  again.type = "button";
  again.textContent = "Load the page again";
  again.addEventListener("click", () => location.reload());
  told.append(words, again);
  part.prepend(told);
  told.scrollIntoView({ block: "nearest" });
};

document.addEventListener("submit", async (event) => {
  const form = event.target, target = form.dataset.swap;
  if (!target || event.defaultPrevented) return;
  event.preventDefault();
  const sent = new FormData(form, event.submitter);
  const body = form.enctype === "multipart/form-data" ? sent : new URLSearchParams(sent);
  // A field may be named `action` and stand in the place of the property.
  const action = event.submitter?.getAttribute("formaction") || form.getAttribute("action") || location.pathname;
  const isGet = form.method === "get";
  const asked = new URLSearchParams([...sent].filter(([, value]) => value !== ""));
  const address = isGet ? `${action.split("?")[0]}?${asked}` : action;
  // What is being written is not broken off.
  if (asking.get(target)?.writes) return;
  const mine = new AbortController();
  mine.writes = !isGet;
  if (isGet && document.querySelector(target)?.contains(form)) asking.get(target)?.abort();
  else outdated(target);
  asking.set(target, mine);
  // Messages stand in #main: where another part is asked for, they wait for the next page.
  const headers = target === "#main" ? {} : { "x-part": "1" };
  try {
    const answer = await fetch(address, { headers, signal: mine.signal, ...(isGet ? {} : { method: "POST", body }) });
    const page = new DOMParser().parseFromString(await answer.text(), "text/html");
    if (mine.signal.aborted) return;
    const part = !isGet && !page.querySelector(target) ? "main" : target;
    const [ours, theirs] = [document.querySelector(part), page.querySelector(part)];
    if (!ours || !theirs) throw new Error("no such part");
    ours.replaceWith(document.adoptNode(theirs));
    if (answer.redirected || isGet) history.replaceState(null, "", answer.url);
  } catch {
    if (mine.signal.aborted) return;
    if (!isGet) { lost(document.querySelector(target) || document.body); return; }
    form.removeAttribute("data-swap");
    form.requestSubmit(event.submitter);
  } finally {
    if (asking.get(target) === mine) asking.delete(target);
  }
});
