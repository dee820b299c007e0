// A photograph of a tag, taken on a phone, leads to its record; so does the camera live. Further arguments: `photograph` or `live`,
// the picture or the film before the camera, the path of the record.
"use strict";
const { walk, must, PHONE } = require("./kit");

const [how, picture, record] = process.argv.slice(4);
const camera = ["--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", `--use-file-for-fake-video-capture=${picture}`];

walk(async ({ open, url }) => {
  const page = await open(PHONE);
  await page.goto(`${url}/scan`);
  if (how === "live") await page.getByRole("button", { name: "Start the camera" }).click();
  else await page.setInputFiles("#shot", picture);
  await page.waitForURL(url + record);
  must(await page.locator("article.record").count() === 1, "no record is shown");
}, how === "live" ? camera : []);
