// The bench page in a real browser: node page.mjs PROGRAM FOLDER
//
// PROGRAM is the built nockwright. FOLDER takes what is downloaded (measured afterwards by other programs) and pictures.
// The angles the page shows are compared with what `nockwright check --json` says of the same design.

import assert from "node:assert/strict";
import { execFileSync, spawn } from "node:child_process";
import { mkdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { createInterface } from "node:readline";
import { pathToFileURL } from "node:url";
import { chromium } from "playwright-core";

const [program, folder] = process.argv.slice(2);
const sample = readFileSync(new URL("../../examples/ash-flatbow.toml", import.meta.url), "utf8");
const axeSource = readFileSync(createRequire(import.meta.url).resolve("axe-core/axe.min.js"), "utf8");
// A loaded machine and a build without optimisation take their time.
const PATIENCE = 90_000;

rmSync(folder, { recursive: true, force: true });
mkdirSync(folder, { recursive: true });
const design = folder + "/bow.toml";
writeFileSync(design, sample);

const server = spawn(program, ["page", design, "--port", "0", "--no-browser"], { stdio: ["ignore", "ignore", "pipe"] });
const lines = createInterface({ input: server.stderr });
const address = await new Promise((found, lost) => {
  lines.on("line", (line) => { const at = line.match(/http:\/\/\S+/); if (at) found(at[0]); });
  server.on("exit", () => lost(new Error("the program ended")));
});
const origin = new URL(address).origin;

const browser = await chromium.launch({
  executablePath: process.env.CHROMIUM || "/usr/bin/chromium",
  args: ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"],
});

const complaints = [];

async function open(options, at = address) {
  const context = await browser.newContext({ acceptDownloads: true, viewport: { width: 1500, height: 1000 }, ...options });
  const page = await context.newPage();
  page.setDefaultTimeout(PATIENCE);
  page.on("console", (message) => { if (["error", "warning"].includes(message.type())) complaints.push("console: " + message.text()); });
  page.on("pageerror", (error) => complaints.push("error: " + error.message));
  page.on("dialog", (dialog) => { complaints.push("dialog: " + dialog.message()); dialog.dismiss(); });
  page.on("request", (request) => {
    const url = request.url();
    if (!url.startsWith(origin + "/") && !/^(blob|data|file):/.test(url)) complaints.push("outside request: " + url);
  });
  await page.goto(at);
  await followed(page);
  return page;
}

// The loop has been followed for what is shown.
async function followed(page) {
  await page.waitForFunction(() => {
    const draw = document.getElementById("draw");
    const marks = ["is-coming", "is-stale"].some((mark) => draw.classList.contains(mark));
    return document.querySelector("#checks details") && !marks && !document.getElementById("findings").hasAttribute("aria-busy");
  });
}

async function axe(page, where) {
  await page.evaluate(axeSource);
  await page.evaluate(() => document.querySelectorAll("details").forEach((d) => { d.open = true; }));
  const found = await page.evaluate(() => globalThis.axe.run(document, { resultTypes: ["violations"] }));
  const words = found.violations.map((v) => v.id + ": " + v.help + " " + v.nodes.slice(0, 3).map((n) => n.html.slice(0, 120)).join(" | "));
  assert.deepEqual(words, [], where);
  assert.ok(found.passes.length > 15, where + ": axe looked at little");
}

// Contrast of two colours (WCAG 2.2, relative luminance).
function contrast(a, b) {
  const light = (colour) => {
    const [r, g, b] = colour.match(/[\d.]+/g).slice(0, 3).map((v) => Number(v) / 255).map((v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const [x, y] = [light(a), light(b)].sort((p, q) => q - p);
  return (x + 0.05) / (y + 0.05);
}

const text = (page, selector) => page.locator(selector).first().textContent();
const number = (page, id) => text(page, `[data-id="${id}"] b`);

// What the command line says of the text in the page.
function checked(words) {
  writeFileSync(folder + "/asked.toml", words);
  let out;
  try {
    out = execFileSync(program, ["check", "--json", folder + "/asked.toml"], { encoding: "utf8", stdio: ["ignore", "pipe", "ignore"] });
  } catch (error) {
    assert.equal(error.status, 1, "check refuses what the page shows");
    out = error.stdout;
  }
  return JSON.parse(out);
}

async function sameAngles(page) {
  const said = checked(await page.locator("#text").inputValue());
  for (const side of ["upper", "lower"]) {
    const angles = said.limbs[side].string_angle_deg;
    assert.equal(await number(page, side + ".angle_brace"), angles.brace.toFixed(1) + "°");
    assert.equal(await number(page, side + ".angle_full_draw"), angles.full_draw.toFixed(1) + "°");
    await page.locator("#at-full").click();
    assert.equal(await text(page, `.close.${side} dd`), angles.full_draw.toFixed(1) + "°");
  }
  return said;
}

async function changed(page, what) {
  const before = await page.locator("#text").inputValue();
  await what();
  await page.waitForFunction((before) => document.getElementById("text").value !== before, before);
}

let step = "";
const steps = {
  async "the page loads and shows what check says"(page) {
    assert.equal(await text(page, "h1"), "Ash flatbow");
    await sameAngles(page);
    assert.match(await text(page, "#verdict"), /\d+ checks hold/);
  },

  async "a measure is changed by keyboard alone"(page) {
    const before = await number(page, "upper.angle_brace");
    const input = page.getByLabel("Brace height", { exact: true });
    await input.focus();
    await page.keyboard.press("Control+A");
    await changed(page, async () => { await page.keyboard.type("6.5 in"); await page.keyboard.press("Enter"); });
    await followed(page);
    assert.notEqual(await number(page, "upper.angle_brace"), before);
    assert.equal(await page.locator("#text").inputValue(), sample.replace('= "6 1/4 in"', '= "6.5 in"'));
    await sameAngles(page);
  },

  async "a slider moves it by keys"(page) {
    const slider = page.getByRole("slider", { name: "Brace height, slider", exact: true });
    await slider.focus();
    for (let k = 1; k <= 3; k++) await changed(page, () => page.keyboard.press("ArrowRight"));
    await followed(page);
    assert.equal(await page.getByLabel("Brace height", { exact: true }).inputValue(), "6 11/16 in");
    await sameAngles(page);
    assert.equal(await slider.getAttribute("aria-valuetext"), "6 11/16 in");
  },

  async "undo and redo"(page) {
    // Quick moves of one slider are one step back; on a slow machine they may be several.
    for (let k = 0; k < 4 && (await page.locator("#text").inputValue()) !== sample; k++) {
      await changed(page, () => page.locator("#undo").click());
    }
    assert.equal(await page.locator("#text").inputValue(), sample);
    assert.ok(await page.locator("#undo").isDisabled());
    await changed(page, () => page.locator("#redo").click());
    assert.match(await page.locator("#text").inputValue(), /"6\.5 in"/);
    await changed(page, () => page.locator("#undo").click());
    await followed(page);
  },

  async "a click is provoked and cured"(page) {
    const clicks = () => page.locator('[data-id="click"]').getAttribute("class");
    assert.match(await clicks(), /holds/);
    await page.locator('[data-group="nock"] > summary').focus();
    await page.keyboard.press("Enter");
    const style = page.locator('[data-key="nock.style"] select');
    await changed(page, () => style.selectOption("straight groove"));
    await followed(page);
    assert.match(await clicks(), /fails/);
    assert.match(await text(page, "#verdict"), /[1-9]\d* fail/);
    const said = checked(await page.locator("#text").inputValue());
    const worst = said.checks.find((c) => c.id === "click" && c.verdict === "fails");
    assert.ok(worst.measured > 0.02);
    const marks = await page.locator(".below").nth(worst.limb === "upper" ? 0 : 1).locator("path.click").count();
    assert.ok(marks > 0, "the click is marked");
    await changed(page, () => style.selectOption("back overlay"));
    await followed(page);
    assert.match(await clicks(), /holds/);
  },

  async "bad input is shown beside its field and the last good figure stays"(page) {
    const input = page.locator("#m-bow-draw");
    const angle = await number(page, "upper.angle_full_draw");
    const wood = await page.locator("path.wood").getAttribute("d");
    await input.fill("28");
    await input.press("Enter");
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-stale"));
    assert.equal(await input.getAttribute("aria-invalid"), "true");
    const wrong = await text(page, '[data-key="bow.draw"] .wrong');
    assert.match(wrong, /unit/);
    assert.ok(await page.locator('[data-key="bow.draw"] .wrong').isVisible());
    assert.equal(await input.inputValue(), "28", "what was typed is kept");
    assert.equal(await number(page, "upper.angle_full_draw"), angle);
    assert.equal(await page.locator("path.wood").getAttribute("d"), wood);
    // The fault leads to its place in the text.
    await page.locator("#faults button").click();
    assert.equal(await page.evaluate(() => { const t = document.getElementById("text"); return t.value.slice(t.selectionStart, t.selectionEnd); }), "28");
    await input.fill("28 in");
    await input.press("Enter");
    await followed(page);
    assert.equal(await input.getAttribute("aria-invalid"), "false");
    assert.equal(await page.locator("#text").inputValue(), sample);
  },

  async "rows come and go by keyboard and by click, and undo brings them back"(page) {
    await page.locator('[data-group="limb"] > summary').focus();
    await page.keyboard.press("Enter");
    const rows = (list) => page.locator(`[data-list="${list}"] .row`).count();
    const focused = () => page.evaluate(() => document.activeElement.closest("[data-key]")?.dataset.key);
    const before = await rows("limb.stations");
    // By keyboard: between two stations, with the measures half way; the new row has the focus.
    await page.getByRole("button", { name: "Put one in after station 1", exact: true }).focus();
    await changed(page, () => page.keyboard.press("Enter"));
    await followed(page);
    assert.equal(await rows("limb.stations"), before + 1);
    assert.equal(await focused(), "limb.stations[1].at");
    assert.equal(await page.getByLabel("At of station 2", { exact: true }).inputValue(), "12 in");
    await sameAngles(page);
    await page.locator("#undo").focus();
    await changed(page, () => page.keyboard.press("Space"));
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), sample);
    assert.equal(await rows("limb.stations"), before);
    // By click; the last station stays the last, and two have to stay.
    await changed(page, () => page.getByRole("button", { name: "Take station 2 away", exact: true }).click());
    await followed(page);
    assert.equal(await rows("limb.stations"), before - 1);
    if (before === 3) assert.equal(await page.getByRole("button", { name: /^Take station/ }).count(), 0);
    await changed(page, () => page.locator("#undo").click());
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), sample);
    // A first row where there was no list: what only a maker knows is asked for beside its field.
    await page.getByRole("button", { name: "Put the first spot in", exact: true }).focus();
    await changed(page, () => page.keyboard.press("Enter"));
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-stale"));
    assert.equal(await focused(), "limb.stiffness[0].at");
    assert.match(await text(page, '[data-key="limb.stiffness[0].at"] .wrong'), /Wrong:/);
    await page.keyboard.type("20 in");
    await changed(page, () => page.keyboard.press("Enter"));
    await followed(page);
    assert.match(await page.locator("#text").inputValue(), /stiffness = \[\{ at = "20 in", factor = 1 \}\]/);
    await changed(page, () => page.getByRole("button", { name: "Take spot 1 away", exact: true }).click());
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), sample);
    for (const [group, first, key, typed] of [
      ["bow", "Put the first reading in", "bow.scale[0]", "30 lb at 20 in"],
      ["tiller", "Put the first distance in", "tiller.measured[0].at", "20 in"],
    ]) {
      if (!(await page.locator(`[data-group="${group}"]`).evaluate((d) => d.open))) await page.locator(`[data-group="${group}"] > summary`).click();
      await changed(page, () => page.getByRole("button", { name: first, exact: true }).click());
      const field = page.locator(`[data-key="${key}"]`);
      await field.locator("input[type=text]").waitFor();
      assert.match(await field.locator(".wrong").textContent(), /Wrong:/);
      await field.locator("input[type=text]").fill(typed);
      await changed(page, () => page.keyboard.press("Enter"));
      await page.waitForFunction((key) => !document.querySelector(`[data-key="${key}"] .wrong`).textContent, key);
      for (let k = 0; k < 3 && (await page.locator("#text").inputValue()) !== sample; k++) await changed(page, () => page.locator("#undo").click());
      assert.equal(await page.locator("#text").inputValue(), sample);
    }
    await followed(page);
  },

  async "what is wrong with a list stands beside it"(page) {
    const wrong = await page.evaluate(() => document.getElementById("text").value.replace(/stations\s*=\s*\[[^]*?\n\]/, "stations = []"));
    assert.notEqual(wrong, sample);
    await page.locator("#text").fill(wrong);
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-stale"));
    const beside = page.locator('[data-list="limb.stations"] > .wrong');
    assert.match(await beside.textContent(), /Wrong:/);
    assert.ok(await beside.isVisible());
    await page.locator("#text").fill(sample);
    await page.locator("#text").blur();
    await followed(page);
    assert.equal(await beside.textContent(), "");
  },

  async "markup in every field is text, and is kept as it was typed"(page) {
    const evil = "<script>alert(1)</script><img src=x onerror=alert(2)>";
    await page.evaluate(() => document.querySelectorAll("#form details").forEach((d) => { d.open = true; }));
    const count = () => page.evaluate(() => document.querySelectorAll("script, img, iframe, object").length);
    const before = await count();
    const keys = await page.evaluate(() => [...document.querySelectorAll(".measure")].filter((m) => m.querySelector("input[type=text]")).map((m) => m.dataset.key));
    assert.ok(keys.length > 50, "fields: " + keys.length);
    for (const key of keys) {
      const input = page.locator(`[data-key="${key}"] input[type=text]`);
      await input.fill(evil);
      await input.press("Enter");
      // The other end of a range that is not written is asked for first.
      await page.waitForFunction(() => /kept/.test(document.getElementById("state").textContent) || document.querySelector("#faults li"));
      await page.waitForFunction(([key, evil]) => {
        const m = document.querySelector(`[data-key="${key}"]`);
        return m.querySelector("input[type=text]").value === evil;
      }, [key, evil]);
      assert.equal(await count(), before, key);
    }
    await page.locator("#text").fill(sample);
    await page.locator("#text").blur();
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), sample);
  },

  async "a bow named in markup is shown as that"(page) {
    const name = '<script>alert("x")</script><b>&amp;';
    const input = page.getByLabel("Name", { exact: true });
    await changed(page, async () => { await input.fill(name); await input.press("Enter"); });
    await followed(page);
    assert.equal(await text(page, "h1"), name);
    assert.equal(await page.locator("h1 *").count(), 0);
    await changed(page, () => page.locator("#undo").click());
    await followed(page);
  },

  async "the draw runs by slider, by keys and by itself"(page) {
    await page.locator("#at-brace").click();
    const shown = () => text(page, "#draw-said");
    const atBrace = await shown();
    await page.locator("#draw-slider").focus();
    await page.keyboard.press("End");
    assert.match(await shown(), /^28 in/);
    assert.match(await page.locator("#draw-slider").getAttribute("aria-valuetext"), /string angle upper \d+\.\d°, lower/);
    await page.keyboard.press("Home");
    assert.equal(await shown(), atBrace);
    await page.locator("#play").click();
    await page.waitForFunction((was) => document.getElementById("draw-said").textContent !== was, atBrace);
    await page.waitForFunction(() => document.getElementById("play").getAttribute("aria-pressed") === "false");
    assert.equal(await shown(), atBrace);
  },

  async "inch and mm"(page) {
    await changed(page, () => page.getByLabel("mm", { exact: true }).check());
    await followed(page);
    assert.match(await number(page, "brace_height"), /^158\.\d mm$/);
    await changed(page, () => page.locator("#undo").click());
    await followed(page);
  },

  async "save writes the file, and a reload loses nothing"(page) {
    await changed(page, async () => {
      await page.getByLabel("Brace height", { exact: true }).fill("6 3/8 in");
      await page.keyboard.press("Enter");
    });
    await followed(page);
    const saved = sample.replace('= "6 1/4 in"', '= "6 3/8 in"');
    await page.locator("#save").click();
    await page.waitForFunction(() => /^Saved/.test(document.getElementById("state").textContent));
    assert.equal(readFileSync(design, "utf8"), saved);
    await changed(page, async () => {
      await page.locator("#m-bow-draw").fill("27 1/2 in");
      await page.keyboard.press("Enter");
    });
    await page.reload();
    await followed(page);
    assert.ok(await page.locator("#offer").isVisible());
    await changed(page, () => page.locator("#offer-take").click());
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), saved.replace('draw          = "28 in"', 'draw          = "27 1/2 in"'));
    await sameAngles(page);
  },

  async "PDF, SVG and report are downloaded"(page) {
    mkdirSync(folder + "/sheets");
    writeFileSync(folder + "/sheets/design.toml", await page.locator("#text").inputValue());
    await page.locator("#sheets-button").click();
    const take = async (what, to) => {
      const [download] = await Promise.all([page.waitForEvent("download"), what()]);
      const path = `${folder}/${to}/${download.suggestedFilename()}`;
      await download.saveAs(path);
      return path;
    };
    assert.match(await take(() => page.locator("#print").click(), "sheets"), /ash-flatbow-a4\.pdf$/);
    await page.locator("#format").selectOption("svg");
    await page.locator("#make").click();
    await page.waitForFunction(() => document.querySelectorAll("#made a").length > 1);
    for (const link of await page.locator("#made a").all()) {
      assert.match(await take(() => link.click(), "sheets"), /\.svg$/);
    }
    await page.locator("#format").selectOption("dxf");
    await page.locator("#make").click();
    await page.waitForFunction(() => /\.dxf$/.test(document.querySelector("#made a")?.textContent || ""));
    const report = await take(() => page.locator("#mail").click(), ".");
    writeFileSync(folder + "/report-name.txt", report);
    // A printed page says that it is not for printing.
    await page.emulateMedia({ media: "print" });
    assert.ok(await page.locator(".paper-only").isVisible());
    assert.ok(!(await page.locator("main").isVisible()));
    await page.emulateMedia({ media: "screen" });
  },

  async "a design comes back from a sheet"(page) {
    await page.locator("#files-button").click();
    await page.locator("#recover").setInputFiles(folder + "/sheets/ash-flatbow-a4.pdf");
    await page.locator("#recovered button").waitFor();
    await page.locator("#open").setInputFiles(new URL("../../examples/yew-longbow.toml", import.meta.url).pathname);
    // The text follows the heading a little later: what is compared with must be the yew bow's.
    await page.waitForFunction(() => /[Yy]ew/.test(document.querySelector("h1").textContent) && /[Yy]ew/.test(document.getElementById("text").value));
    await followed(page);
    await changed(page, () => page.locator("#recovered button").click());
    await followed(page);
    assert.equal(await page.locator("#text").inputValue(), readFileSync(folder + "/sheets/design.toml", "utf8"));
  },

  async "nothing is amiss for axe, light"(page) {
    await axe(page, "light");
  },
};

try {
  const page = await open({});
  for (const [name, run] of Object.entries(steps)) {
    step = name;
    const began = Date.now();
    await run(page);
    console.log(`  ${name} (${((Date.now() - began) / 1000).toFixed(1)} s)`);
  }
  await page.context().close();

  for (const [name, options] of Object.entries({
    desk: { viewport: { width: 1500, height: 1000 } },
    tablet: { viewport: { width: 1024, height: 768 }, hasTouch: true },
    upright: { viewport: { width: 768, height: 1024 }, hasTouch: true },
    phone: { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true },
    dark: { viewport: { width: 1500, height: 1000 }, colorScheme: "dark", reducedMotion: "reduce" },
    "phone, dark": { viewport: { width: 390, height: 844 }, hasTouch: true, isMobile: true, colorScheme: "dark" },
    "forced colours": { viewport: { width: 1366, height: 768 }, forcedColors: "active" },
    "forced colours, dark": { viewport: { width: 1366, height: 768 }, forcedColors: "active", colorScheme: "dark" },
  })) {
    step = "at the size of: " + name;
    const page = await open(options);
    await page.screenshot({ path: `${folder}/${name.replace(", ", "-").replace(" ", "-")}.png`, fullPage: true });
    const wide = await page.evaluate(() => [document.documentElement.scrollWidth, innerWidth]);
    assert.ok(wide[0] <= wide[1], `${name}: wider than the screen: ${wide}`);
    for (const id of ["draw-slider", "play", "undo"]) assert.ok(await page.locator("#" + id).isVisible());
    const box = await page.locator("#draw-slider").boundingBox();
    assert.ok(box.width > 80 && box.y < options.viewport.height, `${name}: the draw's slider is out of sight`);
    const paper = await page.evaluate(() => getComputedStyle(document.documentElement).backgroundColor);
    const bright = paper.match(/\d+/g).slice(0, 3).reduce((sum, v) => sum + Number(v), 0) > 380;
    assert.equal(bright, options.colorScheme !== "dark", `${name}: paper is ${paper}`);
    // Every drawn line stands off the paper it is drawn on.
    const lines = await page.evaluate(() => [...document.querySelectorAll("svg .edge, svg .thread, svg .cord-edge, svg .wall, svg .own.curve")]
      .map((n) => [n.getAttribute("class"), getComputedStyle(n).stroke, getComputedStyle(n.closest("figure")).backgroundColor]));
    assert.ok(lines.length > 10);
    for (const [kind, stroke, ground] of lines) {
      assert.ok(contrast(stroke, ground) >= 3, `${name}: ${kind} is ${stroke} on ${ground}`);
    }
    // A tip stays in view while a measure far down the form is turned, and the slider's track as long as it was.
    const slid = page.locator("#m-nock-wall-radius-slide");
    await page.evaluate(() => document.querySelectorAll("#form > details").forEach((d) => { d.open = true; }));
    await slid.evaluate((slider) => slider.scrollIntoView({ block: "center" }));
    const view = await page.locator("#draw .views svg").nth(1).boundingBox();
    assert.ok(view.y >= 0 && view.y + view.height <= options.viewport.height, `${name}: no tip in view beside the form: ${JSON.stringify(view)}`);
    const long = [];
    await slid.focus();
    for (let k = 0; k < 6; k++) {
      await page.keyboard.press("ArrowRight");
      await page.waitForTimeout(120);
      long.push((await slid.boundingBox()).width);
    }
    assert.ok(long.every((width) => width === long[0]), `${name}: the slider's track is ${long} px long`);
    await page.evaluate(() => scrollTo(0, 0));
    await axe(page, name);
    // With faults shown, too.
    await page.locator("#m-bow-draw").fill("a yard");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-stale"));
    await axe(page, name + ", with a fault");
    await page.context().close();
    console.log("  " + step);
  }

  step = "with reduced motion the draw goes in few steps";
  {
    const page = await open({ reducedMotion: "reduce" });
    await page.locator("#at-brace").click();
    const seen = await page.evaluate(() => new Promise((done) => {
      const shown = new Set(), said = document.getElementById("draw-said"), play = document.getElementById("play");
      const look = () => { shown.add(said.textContent); if (play.getAttribute("aria-pressed") === "true") requestAnimationFrame(look); else done(shown.size); };
      play.click();
      requestAnimationFrame(look);
    }));
    assert.ok(seen >= 4 && seen <= 10, `${seen} pictures were shown`);
    await page.context().close();
    console.log("  " + step);
  }

  step = "where no lasting connection can be had, requests do";
  {
    const context = await browser.newContext();
    await context.addInitScript(() => { globalThis.WebSocket = class { constructor() { throw new Error("not here"); } }; });
    const page = await context.newPage();
    page.setDefaultTimeout(PATIENCE);
    await page.goto(address);
    await followed(page);
    const asked = [];
    page.on("request", (request) => asked.push(new URL(request.url()).pathname));
    await page.locator("#m-bow-draw").fill("27 in");
    await page.keyboard.press("Enter");
    await page.waitForFunction(() => document.getElementById("draw").classList.contains("is-coming"));
    await followed(page);
    assert.ok(asked.includes("/change") && asked.includes("/loop"), asked.join());
    await context.close();
    console.log("  " + step);
  }

  step = "the report opened from the disk, without a server";
  const report = await open({ offline: true }, pathToFileURL(readFileSync(folder + "/report-name.txt", "utf8")).href);
  await report.locator("#draw-slider").focus();
  await report.keyboard.press("End");
  assert.match(await text(report, "#draw-said"), /^27 1\/2 in/);
  await report.screenshot({ path: `${folder}/report.png`, fullPage: true });
  await axe(report, "report");
  assert.equal(await text(report, "pre.design"), readFileSync(folder + "/sheets/design.toml", "utf8"));
  console.log("  " + step);

  step = "console and network";
  assert.deepEqual(complaints, []);
  console.log("the page holds in a browser");
} catch (error) {
  console.log("FAILED: " + step);
  console.log(error);
  console.log(complaints.join("\n"));
  process.exitCode = 1;
} finally {
  await browser.close();
  server.kill();
}
