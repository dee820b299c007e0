// Finds codes, places, connectors and words in the records above. It writes nothing and asks nobody.

const lower = (text) => text.toLowerCase();
const compact = (text) => lower(text).replace(/[\s\/.,;:_-]+/g, "");
const MOST = 50;

// How well all words fit an end: less is better, null where one does not fit.
function score(words, [codes, names], [, place, , said]) {
  let total = 0;
  const parts = said.split(/[\s()[\],;:"]+/);
  for (const word of words) {
    if (codes.some((code) => code === word.toUpperCase()) || compact(place) === compact(word)) continue;
    if (names.some((name) => lower(name) === word)) total += 1;
    else if (parts.includes(word)) total += 3;
    else if (word.length >= 3 && said.includes(word)) total += 5;
    else return null;
  }
  return total;
}

// The records that answer, the best first, each with the ends that are meant.
function find(typed) {
  const words = lower(typed).split(/[\s,;]+/).filter(Boolean);
  if (!words.length) return [];
  const whole = compact(typed);
  const [, code, letter] = typed.trim().toUpperCase().match(/^(.*?)(?:[\s\/.-]+([A-Z]{1,4}))?$/);
  const found = [];
  RECORDS.forEach((record, at) => {
    const [codes, names, , ends] = record;
    if (codes.includes(compact(typed).toUpperCase())) { found.push([0, at, ends.map((_, end) => end)]); return; }
    if (letter && codes.includes(compact(code).toUpperCase())) {
      const meant = ends.flatMap((end, nth) => (end[0] === letter ? [nth] : []));
      if (meant.length) { found.push([0, at, meant]); return; }
    }
    const here = ends.flatMap((end, nth) => (compact(end[1]) === whole ? [nth] : []));
    if (here.length) { found.push([1, at, here]); return; }
    if (names.some((name) => compact(name) === whole)) { found.push([2, at, ends.map((_, end) => end)]); return; }
    const scores = ends.map((end) => score(words, record, end));
    const fits = scores.filter((one) => one !== null);
    if (fits.length) found.push([10 + Math.min(...fits), at, scores.flatMap((one, nth) => (one === null ? [] : [nth]))]);
  });
  found.sort((one, other) => one[0] - other[0] || one[1] - other[1]);
  const best = found.length && found[0][0] < 10;
  return best ? found.filter(([rank]) => rank < 10) : found;
}

function show(list, told, typed) {
  list.replaceChildren();
  const words = lower(typed).split(/\s+/).filter(Boolean);
  const entry = (href, code, what, cautions) => {
    const item = document.createElement("li"), link = document.createElement("a");
    link.href = href;
    link.className = "answer";
    const tag = document.createElement("span");
    tag.className = "tag";
    tag.textContent = code;
    link.append(tag, " " + what);
    for (const caution of cautions) {
      const stop = document.createElement("strong");
      stop.className = "stop";
      stop.textContent = "⚠ " + caution;
      link.append(" ", stop);
    }
    item.append(link);
    list.append(item);
  };
  if (!words.length) { told.textContent = ""; return; }
  const plugs = CONNECTORS.filter(([id, name]) => compact(id) === compact(typed) || words.every((word) => word.length >= 3 && lower(name || "").includes(word)));
  for (const [id, name, file] of plugs.slice(0, 5)) entry(file.split("/").map(encodeURIComponent).join("/"), id, name || "connector", []);
  const found = find(typed);
  for (const [, at, ends] of found.slice(0, MOST)) {
    const [codes, names, does, all, cautions] = RECORDS[at], one = ends.length === 1 ? all[ends[0]] : null;
    const letter = one && one[0], places = ends.slice(0, 3).map((end) => all[end][1]).join(", ") + (ends.length > 3 ? " …" : "");
    const what = [places, names.join(", "), does, one && one[2]].filter(Boolean).join(" · ");
    entry(codes[0] + "/" + (letter ? letter + "/" : "") + "index.html", codes[0] + (letter ? " " + letter : ""), what, cautions);
  }
  const count = found.length + plugs.length;
  told.textContent = !count ? "Nothing here answers that." : found.length > MOST ? `${MOST} of ${found.length}: type more` : `${count} found`;
}

(() => {
  const place = typeof document === "undefined" ? null : document.getElementById("search");
  if (!place) return;
  const label = document.createElement("label"), box = document.createElement("input");
  const told = document.createElement("p"), list = document.createElement("ul");
  label.textContent = "code, place, colour or words ";
  Object.assign(box, { type: "search", id: "q", autocomplete: "off", spellcheck: false });
  box.setAttribute("autocapitalize", "off");
  told.setAttribute("role", "status");
  list.className = "answers";
  label.append(box);
  place.replaceChildren(label, told, list);
  box.addEventListener("input", () => show(list, told, box.value));
  box.addEventListener("keydown", (event) => {
    const first = list.querySelector("a");
    if (event.key === "Enter" && first) first.click();
    if (event.key === "ArrowDown" && first) { event.preventDefault(); first.focus(); }
  });
  box.focus();
})();
