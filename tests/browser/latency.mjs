// How long a change takes to be seen: node latency.mjs PROGRAM [CHANGES]
//
// The brace height's slider is driven through nine places over and over. A change counts from the slider's own event to the frame in which the
// figure it asked for has been laid out and painted: the page's code, the way to the program and back, the statics, the
// nocks, the drawing. The loop is measured apart, from the event to its own frame, after the slider has come to rest.
//
// A browser paints on the screen's beat, 60 times a second: what is laid out waits for the next. So the changes are driven a second time in a
// browser that paints as soon as it can, which tells what the drawing itself takes.

import { spawn } from "node:child_process";
import { createInterface } from "node:readline";
import { chromium } from "playwright-core";

const [program, count = "500"] = process.argv.slice(2);
const server = spawn(program, ["page", "--port", "0", "--no-browser"], { stdio: ["ignore", "ignore", "pipe"] });
const lines = createInterface({ input: server.stderr });
const address = await new Promise((found) => {
  lines.on("line", (line) => { const at = line.match(/http:\/\/\S+/); if (at) found(at[0]); });
});
const open = async (...more) => {
  const browser = await chromium.launch({
    executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
    args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run", ...more],
  });
  const page = await browser.newPage({ viewport: { width: 1280, height: 800 } });
  await page.goto(address);
  await page.waitForSelector("#checks details");
  return page;
};

const driven = (page) => page.evaluate(async (count) => {
  const slider = document.getElementById("m-bow-brace-height-slide");
  slider.focus();
  const drawn = () => document.querySelector("path.wood").getAttribute("d");
  // Six and a quarter inches and a little to either side, within the sample's range.
  const middle = Number(slider.value), swing = 4;
  // What the page itself spends on an answer is told apart by the browser's own clock.
  const seen = [], answered = [], program = [];
  // From a change's message on the page's lasting connection to the answer to it.
  const sent = new Map(), send = WebSocket.prototype.send, heard = new WeakSet();
  WebSocket.prototype.send = function (words) {
    if (!heard.has(this)) {
      heard.add(this);
      this.addEventListener("message", (event) => {
        const of = event.data.slice(0, event.data.indexOf(" "));
        if (sent.has(of)) program.push(event.timeStamp - sent.get(of));
        sent.delete(of);
      });
    }
    const [of, path] = words.slice(0, words.indexOf("\n")).split(" ");
    if (path === "/change") sent.set(of, performance.now());
    send.call(this, words);
  };
  let at = middle;
  for (let k = 0; k < count + 20; k++) {
    // Over and over the same way: the program keeps its last few answers, and none of these shall be one.
    at = at >= middle + swing ? middle - swing : at + 1;
    const before = drawn();
    const start = performance.now();
    slider.value = at;
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    await new Promise((done, lost) => {
      setTimeout(() => lost(new Error("change " + k + " to " + at + " was never seen")), 20000);
      const watch = new MutationObserver(() => {
        if (drawn() === before) return;
        watch.disconnect();
        // All of this answer is in the page once its task is over; then it is laid out.
        queueMicrotask(() => {
          document.body.getBoundingClientRect();
          const laid = performance.now();
          requestAnimationFrame(() => {
            const channel = new MessageChannel();
            channel.port1.onmessage = () => { if (k >= 20) { answered.push(laid - start); seen.push(performance.now() - start); } done(); };
            channel.port2.postMessage(0);
          });
        });
      });
      watch.observe(document.getElementById("draw"), { subtree: true, childList: true, attributes: true, attributeFilter: ["d"] });
    });
  }
  // Back to where it began, so that what follows stays within the sample's range.
  slider.value = middle;
  slider.dispatchEvent(new Event("input", { bubbles: true }));
  const server = program.slice(-count);
  if (server.length < count) throw new Error("the lasting connection was not used");
  return { answered, seen, server };
}, Number(count));

const offBeat = await open("--disable-frame-rate-limit", "--disable-gpu-vsync");
const free = await driven(offBeat);
await offBeat.context().browser().close();
const page = await open();
const times = await driven(page);
await page.waitForTimeout(1500);
const loops = [];
for (let k = 0; k < 10; k++) {
  await page.waitForFunction(() => !document.getElementById("draw").classList.contains("is-coming"));
  // The straight grooves that are followed after the loop are not what is measured here.
  await page.waitForFunction(() => document.querySelectorAll(".of.other").length === 2);
  loops.push(await page.evaluate(async (k) => {
    const slider = document.getElementById("m-bow-brace-height-slide");
    const start = performance.now();
    // Another place each time, for the same reason.
    slider.value = Number(slider.value) + (k === 0 ? -4 : k === 9 ? -8 : 1);
    slider.dispatchEvent(new Event("input", { bubbles: true }));
    await new Promise((done, lost) => {
      let began = false;
      setTimeout(() => lost(new Error("the loop was never shown: " + document.getElementById("state").textContent)), 20000);
      const look = () => {
        const coming = document.getElementById("draw").classList.contains("is-coming");
        began = began || coming;
        if (began && !coming) done(); else requestAnimationFrame(look);
      };
      requestAnimationFrame(look);
    });
    return performance.now() - start;
  }, k));
}

const sorted = (list) => [...list].sort((a, b) => a - b);
const part = (list, p) => sorted(list)[Math.min(list.length - 1, Math.floor(list.length * p))].toFixed(1);
for (const [name, list] of [
  ["program alone, message to answer", times.server],
  ["change to figure laid out", times.answered],
  ["change to frame painted, on the beat", times.seen],
  ["painted as soon as it can be", free.seen],
  ["change to loop followed and shown", loops],
]) {
  console.log(`${name.padEnd(36)} p50 ${part(list, 0.5).padStart(7)} ms   p99 ${part(list, 0.99).padStart(7)} ms   (${list.length})`);
}
await page.context().browser().close();
server.kill();
