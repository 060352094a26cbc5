// A picture of the page as a desk shows it: node picture.mjs PROGRAM OUT.png

import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { chromium } from "playwright-core";

const [program, out] = process.argv.slice(2);
const server = spawn(program, ["page", "--port", "0", "--no-browser"], { stdio: ["ignore", "ignore", "pipe"] });
const lines = createInterface({ input: server.stderr });
const address = await new Promise((found) => {
  lines.on("line", (line) => { const at = line.match(/http:\/\/\S+/); if (at) found(at[0]); });
});
const browser = await chromium.launch({ executablePath: process.env.CHROMIUM || "/usr/bin/chromium", args: ["--no-sandbox"] });
const page = await browser.newPage({ viewport: { width: 1280, height: 960 } });
await page.goto(address);
await page.waitForSelector(".of.other");
await page.screenshot({ path: out });
await browser.close();
server.kill();
