// What the tests of the page share: the command, pages of studies, a browser that notes every request and every error.
import assert from "node:assert/strict";
import {execFileSync, spawnSync} from "node:child_process";
import {cpSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync} from "node:fs";
import {createRequire} from "node:module";
import {tmpdir} from "node:os";
import {join} from "node:path";
import {pathToFileURL} from "node:url";
import {gunzipSync} from "node:zlib";

export const {DECKLE, DECKLE_SOURCE: SOURCE, DECKLE_PAGE: PAGE, DECKLE_BROWSER: BROWSER, DECKLE_PRINT_GRAPHS} = process.env;
export const load = createRequire(join(BROWSER, "package.json"));
export const CHROMIUM = process.env.DECKLE_CHROMIUM ?? "/usr/bin/chromium";

export const scratch = mkdtempSync(join(tmpdir(), "deckle-page-"));
process.on("exit", () => rmSync(scratch, {recursive: true, force: true}));

/** Ends the test as skipped where there is no Chromium. */
export function needChromium() {
    if (existsSync(CHROMIUM)) return;
    console.log(`SKIPPED: ${CHROMIUM} is not installed`);
    process.exit(77);
}

export function deckle(...words) {
    const done = spawnSync(DECKLE, words, {encoding: "utf8", maxBuffer: 1 << 28});
    return {status: done.status, out: done.stdout, err: done.stderr};
}

export function json(...words) {
    const {status, out, err} = deckle(...words, "--format", "json");
    assert.equal(status, 0, err);
    return JSON.parse(out);
}

/** What the page in a file carries: its graph, and what is shown beside it. */
export function carried(path) {
    return JSON.parse(gunzipSync(Buffer.from(/id="data">([^<]*)</.exec(readFileSync(path, "utf8"))[1], "base64")));
}

export const study = name => join(SOURCE, "inventories", name);

/** A copy of a shipped study beside a link to the factor tables, to be changed. */
export function copyOf(name) {
    const root = mkdtempSync(join(scratch, "study-"));
    cpSync(study(name), join(root, "inventories", name), {recursive: true});
    cpSync(join(SOURCE, "factors"), join(root, "factors"), {recursive: true});
    return join(root, "inventories", name);
}

export function edit(path, change) {
    const before = readFileSync(path, "utf8");
    const after = change(before);
    assert.notEqual(before, after, `the change of ${path} changes nothing`);
    writeFileSync(path, after);
}

/** Writes the page of a study and says where. */
export function pageOf(folder, ...words) {
    const path = join(mkdtempSync(join(scratch, "page-")), "page.html");
    const {status, err} = deckle("page", folder, "-o", path, ...words);
    assert.equal(status, 0, err);
    return path;
}

/** The demonstration's page, which no test changes: written once for all of them (CMakeLists.txt). */
export const demonstrationPage = () => process.env.DECKLE_DEMONSTRATION_PAGE ?? pageOf(study("demonstration"));

export async function launch() {
    needChromium();
    const {chromium} = load("playwright-core");
    return chromium.launch({executablePath: CHROMIUM, args: ["--headless", "--no-sandbox", "--disable-gpu", "--disable-quic",
        "--no-first-run", "--disable-background-networking", "--disable-component-update", "--disable-sync"]});
}

/** Opens a page by its file; `noted` gathers requests other than for the file itself, and errors. */
export async function open(browser, path, fragment = "", options = {}) {
    const context = await browser.newContext({viewport: {width: 1280, height: 900}, acceptDownloads: true, ...options});
    const page = await context.newPage();
    const noted = {requests: [], errors: []};
    const own = pathToFileURL(path).href;
    page.on("request", request => {
        const url = request.url();
        if (url.split("#")[0] !== own && !url.startsWith("data:") && !url.startsWith("blob:")) noted.requests.push(url);
    });
    page.on("console", message => { if (["error", "warning"].includes(message.type())) noted.errors.push(message.text()); });
    page.on("pageerror", error => noted.errors.push(error.message));
    await page.goto(own + fragment);
    await page.waitForSelector("#main .view");
    return {page, context, noted};
}

/** Until all that follows a move has followed: it does with the next frame. */
export async function followed(page) {
    await page.evaluate(() => new Promise(resolve => { requestAnimationFrame(() => requestAnimationFrame(resolve)); }));
}

export function assertQuiet(noted) {
    assert.deepEqual(noted.requests, [], "the page asks the network");
    assert.deepEqual(noted.errors, [], "the page reports errors");
}

/** The unrounded value that the trace of an address begins with. */
export async function traced(page, address) {
    const own = page.url().split("#")[0];
    // the address of the page follows the inputs a moment later
    await page.waitForFunction(() => (document.querySelectorAll(".changes li").length || Infinity) <= new URLSearchParams(location.hash.split("?")[1] ?? "").getAll("set").length
        || document.querySelectorAll(".changes li").length === 0);
    const changes = new URLSearchParams((page.url().split("?")[1] ?? "")).getAll("set");
    const query = new URLSearchParams([["of", address], ...changes.map(one => ["set", one])]);
    await page.goto(`${own}#trace?${query}`);
    await page.waitForSelector(".derivation .value");
    return Number((await page.textContent(".derivation .value")).split(" ")[0]);
}

export function near(found, expected, relative, what) {
    assert.ok(Math.abs(found - expected) <= relative * Math.max(Math.abs(expected), 1e-300), `${what}: ${found}, expected ${expected}`);
}

/** Runs tests one after another; the first that fails ends the program. */
export async function run(tests) {
    for (const [name, test] of Object.entries(tests)) {
        const begun = performance.now();
        await test();
        console.log(`ok: ${name}, ${((performance.now() - begun) / 1000).toFixed(1)} s`);
    }
}

export function shell(program, ...words) { return execFileSync(program, words, {encoding: "utf8", maxBuffer: 1 << 28}); }
