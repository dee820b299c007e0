// What the walks share: a real browser, phone and laptop, and what none of them may show.
"use strict";
const fs = require("fs");
const { chromium } = require("playwright-core");

const [, , url, pin, ...rest] = process.argv;
const PHONE = { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true };
const LAPTOP = { viewport: { width: 1280, height: 800 } };

function must(is, what) {
  if (!is) throw new Error(what);
}

// Runs a walk. It fails with whatever a page writes to the console as an error, and with whatever the script of a page throws.
async function walk(steps, switches = []) {
  const found = ["/usr/bin/chromium", "/usr/bin/chromium-browser", "/usr/bin/google-chrome"].find((path) => fs.existsSync(path));
  must(found, "no chromium: `sh tests/run` installs it");
  const browser = await chromium.launch({ executablePath: found, args: ["--no-sandbox", ...switches] });
  const amiss = [];
  const open = async (device, options = {}) => {
    const context = await browser.newContext({ ...device, ...options });
    context.setDefaultTimeout(20000);
    context.on("page", (page) => {
      page.on("pageerror", (error) => amiss.push(`${page.url()}: ${error.message}`));
      page.on("console", (message) => {
        // A page that is rightly not there is no fault of it.
        const isAnswer = message.text().startsWith("Failed to load resource: the server responded with a status of 4");
        if (message.type() === "error" && !isAnswer) amiss.push(`${page.url()}: ${message.text()}`);
      });
    });
    return context.newPage();
  };
  try {
    await steps({ browser, open, url, pin, arguments: rest });
    must(amiss.length === 0, amiss.join("\n"));
  } catch (error) {
    console.error(error.stack || error);
    process.exitCode = 1;
  } finally {
    await browser.close();
  }
}

async function unlock(page) {
  await page.goto(`${url}/unlock`);
  await page.fill("#pin", pin);
  await page.click("button[type=submit]");
  await page.waitForURL((at) => !at.pathname.endsWith("/unlock"));
}

// Whether something is wider than the screen: then a page has to be pushed about to be read.
const overflow = (page) => page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);

module.exports = { walk, unlock, overflow, must, PHONE, LAPTOP };
