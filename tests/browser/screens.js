// Every page that links lead to, on a phone by day and on a laptop by night: nothing wider than the screen, no serious finding of axe-core.
// Further arguments: a folder for the screenshots, or `-` for none; then pages to look at beside those that are found.
"use strict";
const path = require("path");
const { walk, unlock, overflow, must, PHONE, LAPTOP } = require("./kit");
const axe = require("axe-core").source;

const MOST_OF_A_KIND = 2;
// Pictures and files; and the page that asks for the PIN, which was seen on the way.
const NO_PAGES = /\.(pdf|zip)$|\/file$|^\/print\/(page|tag)$|^\/unlock/i;
const GRAVE = ["serious", "critical"];

// Pages of one kind differ by a number, a code or a name only; of what is asked for behind `?`, one page is enough.
const kind = (at) => {
  const path = at.pathname.replace(/^\/(C|at|lists)\/(?!-).*?(\/[a-z]+)?$/, "/$1/#$3").replace(/^\/[0-9A-Z]{4}(?=\/|$)(\/[A-Z+]+)?/, "/#");
  return path.replace(/\/[^/]*\d[^/]*/g, "/#") + (at.search ? "?" : "");
};

walk(async ({ open, url, arguments: [folder = "-", ...more] }) => {
  const found = [], kinds = new Map(), queue = ["/", ...more];
  const phone = await open(PHONE), laptop = await open(LAPTOP, { colorScheme: "dark" });
  await unlock(phone);
  await unlock(laptop);
  const seen = new Set(queue);
  while (queue.length) {
    const at = queue.shift();
    for (const [name, page] of [["phone", phone], ["laptop", laptop]]) {
      const answer = await page.goto(url + at);
      must(answer.status() === 200, `${at}: ${answer.status()}`);
      const wider = await overflow(page);
      if (wider > 0) found.push(`${name} ${at}: ${wider} px wider than the screen`);
      // Not as a script of the page: its policy forbids one, and rightly.
      await page.evaluate(axe);
      const { violations } = await page.evaluate(() => axe.run({ resultTypes: ["violations"] }));
      for (const one of violations.filter((one) => GRAVE.includes(one.impact))) {
        found.push(`${name} ${at}: ${one.id}, ${one.help}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 140)).join(" | ")}`);
      }
      if (folder !== "-") {
        const file = `${name}${at.replace(/[^A-Za-z0-9]+/g, "-").slice(0, 60)}.png`;
        await page.screenshot({ path: path.join(folder, file), fullPage: (await page.evaluate(() => document.body.scrollHeight)) < 6000 });
      }
    }
    // Of links in drawings too, whose `href` is no text.
    const links = await laptop.$$eval("a[href]:not([download])", (all) => all.map((one) => new URL(one.getAttribute("href"), location).href));
    for (const link of links) {
      const to = new URL(link);
      if (to.origin !== url || NO_PAGES.test(to.pathname)) continue;
      const next = to.pathname + to.search;
      const count = kinds.get(kind(to)) || 0;
      if (seen.has(next) || count >= (to.search ? 1 : MOST_OF_A_KIND)) continue;
      kinds.set(kind(to), count + 1);
      seen.add(next);
      queue.push(next);
    }
  }
  console.log(`${seen.size} pages`);
  must(found.length === 0, found.join("\n"));
});
