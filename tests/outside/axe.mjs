// Opens pages in headless Chromium at phone width and asks axe-core for barriers.
// Usage: node axe.mjs NODE_MODULES FILE…
import { createRequire } from "node:module";
import { execFileSync } from "node:child_process";
import { pathToFileURL } from "node:url";
import { mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, basename, dirname } from "node:path";

const [modules, ...files] = process.argv.slice(2);
const require = createRequire(join(dirname(modules), "package.json"));
const loaded = await import(pathToFileURL(require.resolve("puppeteer-core")).href);
const puppeteer = loaded.default ?? loaded;
const axe = require.resolve("axe-core/axe.min.js");
const chromium = execFileSync("sh", ["-c", "command -v chromium"]).toString().trim();
const profile = mkdtempSync(join(tmpdir(), "axe-"));
let bad = false;
const browser = await puppeteer.launch({
  executablePath: chromium,
  headless: true,
  userDataDir: profile,
  args: ["--no-sandbox", "--disable-gpu"],
});
try {
  for (const file of files) {
    const page = await browser.newPage();
    // The page forbids every script; the checker is let in.
    await page.setBypassCSP(true);
    const alerts = [];
    page.on("dialog", async (dialog) => { alerts.push(dialog.message()); await dialog.dismiss(); });
    await page.setViewport({ width: 360, height: 740, deviceScaleFactor: 2, isMobile: true });
    await page.goto(pathToFileURL(file).href);
    const width = await page.evaluate(() => Math.max(document.documentElement.scrollWidth, document.body.scrollWidth));
    await page.addScriptTag({ path: axe });
    const found = await page.evaluate(async () => {
      const result = await globalThis.axe.run(document);
      return result.violations.map((v) => `${v.id}: ${v.help}: ${v.nodes.slice(0, 3).map((n) => n.html.slice(0, 200)).join(" | ")}`);
    });
    for (const violation of found) console.log(`${basename(file)}: ${violation}`);
    if (width > 360) console.log(`${basename(file)}: ${width} pixels wide on a screen of 360`);
    if (alerts.length) console.log(`${basename(file)}: a script ran: ${alerts}`);
    if (found.length || width > 360 || alerts.length) bad = true;
    else console.log(`${basename(file)}: no violations, no sideways scrolling`);
    await page.close();
  }
} finally {
  await browser.close();
  rmSync(profile, { recursive: true, force: true });
}
process.exit(bad ? 1 : 0);
