#!/usr/bin/env node
// How long the live page of the demonstration takes in a browser: to its first figures, as the engine has them (aim
// 1 s), until all is recomputed and live, and to follow a slider (aim 16 ms, one frame of a screen): the figure at once,
// all else with the next frame. Prints the times and the load of the machine; nothing is asserted.
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
const changes = await page.evaluate(async () => {
    const slider = document.querySelector(".input input[type=range]");
    const low = Number(slider.min), high = Number(slider.max);
    const frame = () => new Promise(resolve => { requestAnimationFrame(() => resolve(performance.now())); });
    const laidOut = () => { void document.body.offsetHeight; return performance.now(); };
    const made = [];
    for (let k = 0; k < 41; ++k) {
        slider.value = String(low + (high - low) * (0.4 + 0.005 * k));
        const starts = frame(); // asked for before the page asks: the frame's work lies between this and what follows
        const begin = performance.now();
        slider.dispatchEvent(new Event("input", {bubbles: true}));
        const figure = laidOut() - begin;
        const ends = frame().then(laidOut);
        made.push([figure, figure + await ends - await starts]);
        await new Promise(resolve => { setTimeout(resolve, 20); });
    }
    return made.slice(1);
});
const spread = times => {
    const sorted = times.sort((a, b) => a - b);
    return `${sorted[20].toFixed(1)} ms (median), ${sorted[37].toFixed(1)} ms (95 %)`;
};
console.log(`a change shows in its figure after ${spread(changes.map(([figure]) => figure))}; all that follows takes ${spread(changes.map(([, all]) => all))}`);
await browser.close();
