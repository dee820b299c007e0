// What stays at hand on a laptop: what is done with ticked rows, the whole of the form that chooses tags, and an outcome that is true
// after "back".
"use strict";
const { walk, unlock, must, LAPTOP } = require("./kit");

walk(async ({ open, url }) => {
  const page = await open(LAPTOP);
  await unlock(page);

  await page.goto(`${url}/circuits`);
  const within = () => page.locator(".with").evaluate((part) => {
    const { top, bottom } = part.getBoundingClientRect();
    return top > 0 && bottom <= innerHeight + 1;
  });
  must(!await within(), "the table is too short to tell");
  await page.locator("table.plan input[name=end]").first().check();
  must(await within(), "what is done with ticked rows lies below them all");

  await page.goto(`${url}/print`);
  const hidden = await page.locator("#choose").evaluate((form) => form.scrollHeight - form.clientHeight);
  must(hidden < 2, `${hidden} px of the form are hidden in it`);

  // As a browser does that kept the page.
  const asked = page.waitForResponse((answer) => new URL(answer.url()).pathname === "/print");
  await page.evaluate(() => dispatchEvent(new PageTransitionEvent("pageshow", { persisted: true })));
  await asked;
});
