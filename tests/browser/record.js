// A tag in the hand: its link opens the right record on a phone, where a step is ticked and taken back and the tag is printed again.
// Further arguments: the path of the link, its code, its place, the file that the new PDF is kept in.
"use strict";
const fs = require("fs");
const { walk, unlock, must, PHONE } = require("./kit");

walk(async ({ open, url, arguments: [path, code, place, file] }) => {
  const page = await open(PHONE);
  await page.goto(url + path);
  const head = await page.textContent("h1");
  must(head.includes(code), `the record is of ${head}, and not of ${code}`);
  must((await page.textContent("#main")).includes(place), `${place} is not on the page of ${path}`);
  must(await page.locator("button.tick").count() === 0, "a step can be ticked without the PIN");

  await unlock(page);
  await page.goto(url + path);
  const step = page.locator("button.tick").first();
  const name = (await step.textContent()).replace("☐", "").trim();
  await step.click();
  const done = page.locator("li.done", { hasText: name });
  await done.first().waitFor();
  await page.reload();
  await done.first().getByRole("button", { name: "Undo" }).click();
  await page.locator("button.tick", { hasText: name }).first().waitFor();
  await page.reload();
  must(await done.count() === 0, `${name} was taken back, and is done all the same`);
  must(await page.locator(".history").count() > 0, "what was done and taken back is told of nowhere");

  await page.getByRole("button", { name: "Print this tag again" }).first().click();
  await page.waitForURL(/\/print\/runs\/\d+$/);
  const pdf = await page.locator(".file a.button").first().getAttribute("href");
  const answer = await page.request.get(url + pdf);
  must(answer.headers()["content-type"] === "application/pdf", `${pdf} is ${answer.headers()["content-type"]}`);
  fs.writeFileSync(file, await answer.body());
});
