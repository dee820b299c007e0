// Every page that links lead to, on a phone and on a laptop: nothing wider than the screen, no serious finding of axe-core.
// Further arguments: a folder for the screenshots, or `-` for none; then pages to look at beside those that are found.
"use strict";
const path = require("path");
const { walk, unlock, overflow, must, PHONE, LAPTOP } = require("./kit");
const axe = require.resolve("axe-core/axe.min.js");

const MOST_OF_A_KIND = 3;
const GRAVE = ["serious", "critical"];

// Pages of one kind differ by their numbers, codes and names only.
const kind = (at) => at.pathname.replace(/\/[^/]*\d[^/]*/g, "/#") + [...at.searchParams.keys()].sort().join("&");

walk(async ({ open, url, arguments: [folder = "-", ...more] }) => {
  const found = [], kinds = new Map(), queue = ["/", ...more];
  const phone = await open(PHONE), laptop = await open(LAPTOP);
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
      await page.addScriptTag({ path: axe }).catch(() => page.evaluate(require("fs").readFileSync(axe, "utf8")));
      const { violations } = await page.evaluate(() => axe.run({ resultTypes: ["violations"] }));
      for (const one of violations.filter((one) => GRAVE.includes(one.impact))) {
        found.push(`${name} ${at}: ${one.id}, ${one.help}: ${one.nodes.slice(0, 3).map((node) => node.html.slice(0, 140)).join(" | ")}`);
      }
      if (folder !== "-") {
        const file = `${name}${at.replace(/[^A-Za-z0-9]+/g, "-").slice(0, 60)}.png`;
        await page.screenshot({ path: path.join(folder, file), fullPage: (await page.evaluate(() => document.body.scrollHeight)) < 6000 });
      }
    }
    const links = await laptop.$$eval("a[href]", (all) => all.filter((one) => !one.download).map((one) => one.href));
    for (const link of links) {
      const to = new URL(link);
      if (to.origin !== url || /\.(pdf|csv|zip|png|svg|xlsx|ods)$/i.test(to.pathname) || to.pathname.startsWith("/unlock")) continue;
      const next = to.pathname + to.search;
      const count = kinds.get(kind(to)) || 0;
      if (seen.has(next) || count >= MOST_OF_A_KIND) continue;
      kinds.set(kind(to), count + 1);
      seen.add(next);
      queue.push(next);
    }
  }
  console.log(`${seen.size} pages`);
  must(found.length === 0, found.join("\n"));
});
