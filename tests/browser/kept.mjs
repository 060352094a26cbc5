// Work on the bench page is never lost and never in the wrong file: node kept.mjs PROGRAM FOLDER
//
// What is typed is in what is saved and made at once after it; pages of one file do not write over each other unasked; where the program has gone,
// what is typed is kept and offered to the next page.

import assert from "node:assert/strict";
import { spawn } from "node:child_process";
import { once } from "node:events";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createInterface } from "node:readline";
import { chromium } from "playwright-core";

const [program, folder] = process.argv.slice(2);
const sample = readFileSync(new URL("../../examples/ash-flatbow.toml", import.meta.url), "utf8");
const other = new URL("../../examples/hickory-flatbow.toml", import.meta.url).pathname;
const PATIENCE = 60_000;

rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });
const design = folder + "/bow.toml";
const inFile = () => readFileSync(design, "utf8");
const braced = (words) => sample.replace('= "6 1/4 in"', `= "${words}"`);

async function serve(port) {
  const server = spawn(program, ["page", design, "--port", String(port), "--no-browser"], { stdio: ["ignore", "ignore", "pipe"] });
  const lines = createInterface({ input: server.stderr });
  const address = await new Promise((found, lost) => {
    lines.on("line", (line) => { const at = line.match(/http:\/\/\S+/); if (at) found(at[0]); });
    server.on("exit", () => lost(new Error("the program ended")));
  });
  return { server, address };
}

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
});

async function open(context, address) {
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE);
  await page.goto(address);
  await page.waitForFunction(() => document.querySelector("#checks details"));
  return page;
}

const brace = "#m-bow-brace-height";
const said = (page, pattern) => page.waitForFunction((source) => new RegExp(source).test(document.getElementById("state").textContent), pattern);
const texts = (page, wanted) => page.waitForFunction((wanted) => document.getElementById("text").value === wanted, wanted);

let step = "";
const steps = {
  async "what was typed last is in the file that is saved"({ context, address }) {
    const page = await open(context, address);
    await page.locator(brace).fill("6 3/8 in");
    await page.locator("#save").click();
    await said(page, "^Saved");
    assert.equal(inFile(), braced("6 3/8 in"));
    await page.locator("#file-details > summary").click();
    await page.locator("#text").fill(sample);
    await page.locator("#save").click();
    await page.waitForFunction(() => document.getElementById("m-bow-brace-height").value === "6 1/4 in");
    await said(page, "^Saved");
    assert.equal(inFile(), sample);
    await page.close();
  },

  async "two pages on one file do not write over each other unasked"({ context, address }) {
    const [one, two] = [await open(context, address), await open(context, address)];
    await one.locator(brace).fill("6 3/8 in");
    await one.locator("#save").click();
    await said(one, "^Saved");
    await two.locator(brace).fill("6 1/2 in");
    await two.locator("#save").click();
    await said(two, "changed by another page");
    assert.equal(inFile(), braced("6 3/8 in"));
    // What it has unsaved is its own: no other page that is open is offered it.
    const three = await open(context, address);
    assert.ok(!(await three.locator("#offer").isVisible()));
    await two.locator("#save").click();
    await said(two, "^Saved");
    assert.equal(inFile(), braced("6 1/2 in"));
    for (const page of [one, two, three]) await page.close();
    writeFileSync(design, sample);
  },

  async "an opened file is put in the place of another only when that is asked twice"({ context, address }) {
    const page = await open(context, address);
    await page.locator("#files-button").click();
    await page.locator("#open").setInputFiles(other);
    await page.waitForFunction(() => /ickory/.test(document.querySelector("h1").textContent));
    await page.locator("#save").click();
    await said(page, "Press Save again");
    assert.equal(inFile(), sample);
    // Undone, the first file's name is back with its text.
    await page.locator("#undo").click();
    await texts(page, sample);
    assert.match(await page.locator("#save").textContent(), /^Save to bow.toml/);
    await page.locator("#redo").click();
    await page.waitForFunction(() => /^Save over/.test(document.getElementById("save").textContent));
    await page.locator("#save").click();
    await said(page, "Press Save again");
    await page.locator("#save").click();
    await said(page, "^Saved");
    assert.equal(inFile(), readFileSync(other, "utf8"));
    await page.close();
    writeFileSync(design, sample);
  },

  async "steps back taken faster than they are answered lose none"({ context, address }) {
    const page = await open(context, address);
    for (const words of ["6 3/8 in", "6 1/2 in", "6 5/8 in"]) {
      await page.locator(brace).fill(words);
      await page.keyboard.press("Enter");
      await texts(page, braced(words));
    }
    const press = (id) => page.evaluate((id) => { const b = document.getElementById(id); b.click(); b.click(); }, id);
    await press("undo");
    await texts(page, braced("6 3/8 in"));
    await page.locator("#redo").click();
    await texts(page, braced("6 1/2 in"));
    await page.locator("#redo").click();
    await texts(page, braced("6 5/8 in"));
    await page.close();
  },

  async "a finger that scrolls the page moves no slider, one that goes along does"({ address }) {
    const context = await browser.newContext({ viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true });
    const page = await open(context, address);
    const touch = await context.newCDPSession(page);
    const before = await page.locator(brace).inputValue();
    const swipe = async (dx, dy) => {
      await page.locator(brace + "-slide").evaluate((slider) => slider.scrollIntoView({ block: "center" }));
      const box = await page.locator(brace + "-slide").boundingBox();
      const [x, y] = [box.x + box.width * 0.3, box.y + box.height / 2];
      const send = (type, k) => touch.send("Input.dispatchTouchEvent", { type, touchPoints: type === "touchEnd" ? [] : [{ x: x + dx * k, y: y + dy * k }] });
      const at = await page.evaluate(() => scrollY);
      await send("touchStart", 0);
      for (let k = 1; k <= 20; k++) { await send("touchMove", k); await page.waitForTimeout(10); }
      await send("touchEnd", 20);
      await page.waitForTimeout(1200);
      return (await page.evaluate(() => scrollY)) - at;
    };
    assert.ok(Math.abs(await swipe(0, -8)) > 50, "the page was not scrolled");
    assert.equal(await page.locator(brace).inputValue(), before);
    await swipe(3, 0);
    assert.notEqual(await page.locator(brace).inputValue(), before);
    await context.close();
  },

  async "what is typed while the program has gone is offered to the next page"({ context, address, server }) {
    const page = await open(context, address);
    server.kill();
    await once(server, "exit");
    await page.locator(brace).fill("6 1/2 in");
    await page.keyboard.press("Enter");
    await said(page, "does not answer");
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-stale"));
    await page.locator("#keep").click();
    await said(page, "stands in no file yet");
    // Pressed again it goes on without it, and what got no answer stays kept.
    const [download] = await Promise.all([page.waitForEvent("download"), page.locator("#keep").click()]);
    await download.saveAs(folder + "/without.toml");
    assert.equal(readFileSync(folder + "/without.toml", "utf8"), sample);
    await page.close();
    const next = await serve(new URL(address).port);
    try {
      const page = await open(context, next.address);
      await page.locator("#offer").waitFor();
      // A program that goes once more takes nothing with it.
      next.server.kill();
      await once(next.server, "exit");
      await page.locator("#offer-take").click();
      await said(page, "does not answer");
      await page.close();
      const last = await serve(new URL(address).port);
      const again = await open(context, last.address);
      await again.locator("#offer").waitFor();
      await again.locator("#offer-take").click();
      await texts(again, braced("6 1/2 in"));
      await again.close();
      last.server.kill();
    } finally {
      next.server.kill();
    }
  },
};

let failed = false, running = null;
try {
  for (const [name, run] of Object.entries(steps)) {
    step = name;
    writeFileSync(design, sample);
    running = await serve(0);
    const context = await browser.newContext({ acceptDownloads: true, viewport: { width: 1500, height: 1000 } });
    await run({ context, ...running });
    await context.close();
    running.server.kill();
    console.log("  " + name);
  }
  console.log("nothing that was typed is lost");
} catch (error) {
  console.error("FAILED: " + step + "\n" + error.message);
  failed = true;
}
await browser.close();
if (running) running.server.kill();
process.exit(failed ? 1 : 0);
