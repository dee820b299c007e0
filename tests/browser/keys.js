// The find box by keys alone: `/` leads into it, results come while typing, arrows walk them, Enter opens one.
// Further arguments: the words, a part of the record that they lead to.
"use strict";
const { walk, must, LAPTOP } = require("./kit");

walk(async ({ open, url, arguments: [words, part] }) => {
  const page = await open(LAPTOP);
  await page.goto(`${url}/`);
  const focused = () => page.evaluate(() => document.activeElement.className || document.activeElement.id);
  await page.keyboard.press("/");
  must(await focused() === "q", "`/` does not lead into the find box");
  await page.keyboard.type(words, { delay: 20 });
  const answers = page.locator(".found a.answer");
  await answers.first().waitFor();
  await page.keyboard.press("Escape");
  must(await page.locator(".found").isHidden(), "Escape leaves the results open");
  await page.keyboard.press("/");
  must(await page.inputValue("#q") === words, "what was typed is gone");
  await answers.first().waitFor();
  await page.keyboard.press("ArrowDown");
  must(await focused() === "answer", "the arrow does not reach the first result");
  await page.keyboard.press("ArrowUp");
  must(await focused() === "q", "the arrow does not lead back");
  await page.keyboard.press("ArrowDown");
  await page.keyboard.press("Enter");
  await page.waitForURL((at) => at.pathname !== "/");
  must((await page.textContent("#main")).includes(part), `${page.url()} says nothing of ${part}`);
  // The first thing that the tabulator reaches leads past the frame.
  await page.keyboard.press("Tab");
  must(await focused() === "skip", `the tabulator reaches ${await focused()} first`);
});
