// Two at one connector, each with a browser, tick at the same time: nothing is lost. A further argument: the page of the connector.
"use strict";
const { walk, unlock, must, PHONE, LAPTOP } = require("./kit");

const MOST = 12;

walk(async ({ open, url, arguments: [connector] }) => {
  const two = [await open(PHONE), await open(LAPTOP)];
  for (const page of two) {
    await unlock(page);
    await page.goto(url + connector);
  }
  const steps = await two[0].locator('button[name="tick"][aria-pressed="false"]').evaluateAll((all) => all.map((one) => one.id));
  const ticked = steps.slice(0, MOST);
  must(ticked.length >= 4, `there are ${ticked.length} steps to tick at ${connector}`);
  await Promise.all(two.map(async (page, nth) => {
    for (const id of ticked.filter((_, at) => at % 2 === nth)) {
      await page.click(`[id="${id}"]`);
      await page.locator(`[id="${id}"][aria-pressed="true"]`).waitFor();
    }
  }));
  for (const page of two) {
    await page.reload();
    const pressed = await page.locator('button[name="tick"][aria-pressed="true"]').evaluateAll((all) => all.map((one) => one.id));
    const lost = ticked.filter((id) => !pressed.includes(id));
    must(lost.length === 0, `ticked and lost: ${lost}`);
  }
});
