#!/usr/bin/env node
// How long the live page of the demonstration takes in a browser: to its first figures, as the engine has them (aim
// 1 s), until all is recomputed and live, and to follow a slider (aim 16 ms, one frame of a screen). Prints the figures and the load of the machine; nothing is asserted.
//
// Usage: tests/bench/page_times.mjs BUILD_FOLDER      (a build with tests, preset dev)
import {statSync} from "node:fs";
import {loadavg} from "node:os";
import {dirname, join, resolve} from "node:path";
import {fileURLToPath} from "node:url";

const build = resolve(process.argv[2] ?? "build/dev");
process.env.DECKLE = join(build, "deckle");
process.env.DECKLE_SOURCE = resolve(dirname(fileURLToPath(import.meta.url)), "../..");
process.env.DECKLE_BROWSER = join(build, "tests/browser");
const {launch, open, pageOf, study} = await import("../browser/support.mjs");

const browser = await launch();
const demonstration = pageOf(study("demonstration"));
console.log(`load ${loadavg()[0].toFixed(1)}, page ${(statSync(demonstration).size / 1e6).toFixed(2)} MB`);

const painted = [], live = [];
for (let k = 0; k < 5; ++k) {
    const {page, context} = await open(browser, demonstration);
    painted.push(await page.evaluate(() => performance.getEntriesByName("first-contentful-paint")[0].startTime));
    live.push(await page.evaluate(() => performance.getEntriesByName("shown")[0].startTime));
    await context.close();
}
const listed = times => times.map(time => time.toFixed(0)).join(", ");
console.log(`first figures after ${listed(painted)} ms, all recomputed and live after ${listed(live)} ms`);

const {page} = await open(browser, demonstration, "#ask?product=bath_2ply");
await page.waitForTimeout(300);
const changes = await page.evaluate(() => {
    const slider = document.querySelector(".input input[type=range]");
    const low = Number(slider.min), high = Number(slider.max);
    return Array.from({length: 41}, (_, k) => {
        slider.value = String(low + (high - low) * (0.4 + 0.005 * k));
        const begin = performance.now();
        slider.dispatchEvent(new Event("input", {bubbles: true}));
        void document.body.offsetHeight; // with the layout that it causes
        return performance.now() - begin;
    });
});
const sorted = changes.slice(1).sort((a, b) => a - b);
console.log(`a change shows after ${sorted[20].toFixed(1)} ms (median), ${sorted[37].toFixed(1)} ms (95 %)`);
await browser.close();
