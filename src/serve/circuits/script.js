
// --- circuits ---------------------------------------------------------------------------------------------------------------
// Ticks are counted, all rows of a page are ticked at once, and keys walk the rows. Everything is heard at the document: the table
// may be replaced while the page stays.
(() => {
  const table = () => document.querySelector("table.plan");
  const boxes = () => [...(table()?.querySelectorAll("input[name=end]") ?? [])];
  const rows = () => [...(table()?.querySelectorAll("tr.end") ?? [])];

  const tell = () => {
    const all = boxes(), ticked = all.filter((box) => box.checked).length;
    const told = document.querySelector("[data-ticked]"), every = document.querySelector("[data-all]");
    if (told) told.textContent = `(${ticked})`;
    if (every) {
      every.hidden = false;
      every.checked = ticked > 0 && ticked === all.length;
      every.indeterminate = ticked > 0 && ticked < all.length;
    }
  };
  document.addEventListener("change", (event) => {
    if (!table()) return;
    if (event.target.matches("[data-all]")) boxes().forEach((box) => { box.checked = event.target.checked; });
    if (event.target.matches("[data-all], table.plan input[name=end]")) {
      const ticked = document.querySelector("input[name=which][value=ticked]");
      if (ticked) ticked.checked = true;
      tell();
    }
    if (event.target.matches("select[data-moves]")) moves(event.target);
  });

  // Where to matters for a move alone.
  const moves = (select) => {
    const to = select.form.querySelector(".to");
    if (to) to.hidden = select.value !== "move";
  };
  // On a phone what is done with the rows leaves room to see them: it opens at a tap.
  const folded = new WeakSet();
  const fold = (part) => {
    if (folded.has(part) || part.closest("#kept")) return;
    folded.add(part);
    if (matchMedia("(max-width: 60rem)").matches) part.open = false;
  };
  const ready = () => {
    if (table()) tell();
    document.querySelectorAll(".with > details[open]").forEach(fold);
    document.querySelectorAll("select[data-moves]").forEach(moves);
  };
  new MutationObserver(ready).observe(document.body, { childList: true });
  ready();

  document.addEventListener("keydown", (event) => {
    if (!table() || event.ctrlKey || event.metaKey || event.altKey) return;
    if (event.target.closest("select, textarea, input:not([type=checkbox])")) return;
    const all = rows(), at = all.indexOf(document.activeElement?.closest("tr.end"));
    const go = (to) => {
      const row = all[Math.min(Math.max(to, 0), all.length - 1)];
      if (!row) return;
      row.tabIndex = -1;
      row.focus();
    };
    const row = all[at];
    const keys = {
      j: () => go(at + 1), ArrowDown: () => go(at + 1), k: () => go(at - 1), ArrowUp: () => go(at - 1),
      x: () => row?.querySelector("input[name=end]").click(),
      e: () => row?.querySelector(".go a")?.click(),
      Enter: () => (document.activeElement === row ? row?.querySelector("a.tag, a.ahead")?.click() : undefined),
      "?": () => { const keys = document.querySelector(".keys"); if (keys) { keys.open = true; keys.scrollIntoView(); } },
    };
    const isWalking = event.key.startsWith("Arrow") && at < 0;
    const acts = keys[event.key];
    if (!acts || isWalking || (event.key === "Enter" && document.activeElement !== row)) return;
    event.preventDefault();
    acts();
  });
})();
