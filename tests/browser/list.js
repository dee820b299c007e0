// A list of somebody else, brought in on a laptop: its columns are put right by hand, what would change is seen, it is taken, and its
// tags are printed. Further arguments: the list, columns with what they are, words of what would change, its connector, a folder for PDFs.
"use strict";
const fs = require("fs");
const path = require("path");
const { walk, unlock, must, LAPTOP } = require("./kit");

walk(async ({ open, url, arguments: [list, columns, changes, connector, folder] }) => {
  const page = await open(LAPTOP);
  await unlock(page);
  await page.goto(`${url}/lists`);
  await page.setInputFiles('input[type="file"]', list);
  await page.getByRole("button", { name: "Look at it" }).click();
  await page.waitForURL(/\/lists\/-\//);
  for (const [column, ours] of columns.split(",").map((one) => one.split("="))) {
    const label = `what ${column} is read as`;
    must(await page.getByLabel(label).inputValue() === "", `${column} is understood without a hand: the walk needs another column`);
    await page.getByLabel(label).selectOption(ours);
    // The page is read anew by its script: what was chosen is then the server's word.
    await page.locator(`select[aria-label="${label}"] option[value="${ours}"][selected]`).waitFor({ state: "attached" });
  }
  await page.getByRole("link", { name: "See what would change" }).click();
  const told = await page.textContent("#main");
  must(told.includes(changes), `what would change does not tell of “${changes}”: ${told}`);
  await page.getByRole("button", { name: "Take it" }).click();
  await page.waitForURL(/taken=1/);

  await page.goto(`${url}/print`);
  await page.fill('input[name="connector"]', connector);
  const make = page.locator("#outcome form", { has: page.getByRole("button", { name: "Make the PDFs" }) });
  await make.locator(`input[name="connector"][value="${connector}"]`).waitFor({ state: "attached" });
  await make.getByRole("button").click();
  await page.waitForURL(/\/print\/runs\/\d+$/);
  const pdfs = await page.locator(".file a.button").evaluateAll((all) => all.map((one) => one.getAttribute("href")));
  must(pdfs.length > 0, "no PDF was made");
  for (const pdf of pdfs) fs.writeFileSync(path.join(folder, path.basename(pdf)), await (await page.request.get(url + pdf)).body());
});
