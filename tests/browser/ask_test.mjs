// Inputs are moved: what follows, how fast, where the break-even lies, and that the engine reads a saved scenario back to
// the same bits.
import assert from "node:assert/strict";
import {copyFileSync} from "node:fs";
import {join} from "node:path";
import {assertQuiet, copyOf, edit, json, launch, near, open, pageOf, run, study, traced} from "./support.mjs";

const browser = await launch();
const demonstration = pageOf(study("demonstration"));
const worked = pageOf(study("worked_example"));

/** Puts a value into the number field of an input, found by its address. */
async function type(page, address, value) {
    await page.fill("#find-input", address);
    const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
    await field.fill(String(value));
    await field.press("Tab");
}

async function saved(page) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.click("#save-scenario")]);
    return download.path();
}

/** The engine's value of a result in a study that has the saved scenarios beside its own. */
async function readBack(name, file, scenario, product, per, indicator) {
    const folder = copyOf(name);
    copyFileSync(file, join(folder, "from_the_page.yaml"));
    edit(join(folder, "study.yaml"), text => /^scenarios:/m.test(text)
        ? text.replace(/^scenarios: *(\[?)([^\]\n]*)\]?$/m, (_, __, list) => `scenarios: [${list}, from_the_page.yaml]`)
        : `${text}\nscenarios: [from_the_page.yaml]\n`);
    const {results} = json("footprint", folder, "--scenario", scenario, "--product", product, "--per", per, "--indicator", indicator);
    return results[0].value;
}

await run({
    async "a slider moves the figure and its chart"() {
        const {page, noted, context} = await open(browser, worked, "#ask?product=bath_3ply");
        await page.fill("#find-input", "press dryness");
        const before = await page.textContent(".now .figure");
        const drawing = await page.getAttribute(".watch .drawing", "aria-label");
        const slider = page.locator(".input[data-address='vellomere.figures.press_dryness'] input[type=range]");
        await slider.fill("50");
        assert.notEqual(await page.textContent(".now .figure"), before);
        assert.notEqual(await page.getAttribute(".watch .drawing", "aria-label"), drawing);
        assert.match(await page.textContent(".changes"), /vellomere\.figures\.press_dryness: 50\.00 %, was 42 %/);
        await page.click(".changes-part button:has-text('Reset all')");
        assert.equal(await page.textContent(".now .figure"), before);
        assert.equal(await slider.inputValue(), "42");
        assertQuiet(noted);
        await context.close();
    },

    async "a saved scenario is the engine's, to the bit"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        await type(page, "vellomere.figures.press_dryness", 44.7);
        await type(page, "products.bath_3ply.grammage", 16.3);
        await type(page, "example.natural_gas.releases.co2_fossil", 55.123456789);
        await page.fill("#scenario-title", "=A \"drier\" sheet: 44 #1\u202e");
        await page.fill("#scenario-reason", "asked: 'why', {not}");
        const file = await saved(page);
        for (const [per, indicator] of [["roll", "climate"], ["t", "water_consumed"], ["t_unrounded", "climate"]]) {
            const here = await traced(page, `results.bath_3ply.${per}.${indicator}`);
            const engine = await readBack("worked_example", file, "a_drier_sheet_44_1", "bath_3ply", per, indicator);
            assert.equal(here, engine, `${per} ${indicator}`);
        }
        await context.close();
    },

    async "every input that a figure rests on comes back the same"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        const addresses = await page.evaluate(() => [...document.querySelectorAll(".input")].map(one => one.dataset.address));
        assert.ok(addresses.length >= 20);
        // parts of a composition add up to a whole, so the engine refuses one of them moved alone
        for (const address of addresses.filter(one => !/composition|dryness/.test(one))) {
            const now = Number(await page.inputValue(`.input[data-address="${address}"] input[type=number]`));
            const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
            await field.fill(String(Number((now * 0.997).toPrecision(9))));
            await field.press("Tab");
        }
        const file = await saved(page);
        const here = await traced(page, "results.bath_3ply.t_unrounded.climate");
        assert.equal(here, await readBack("worked_example", file, "asked_on_the_page", "bath_3ply", "t_unrounded", "climate"));
        await context.close();
    },

    async "changes seen under a scenario are saved as changes of today"() {
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply&scenario=heat_recovery");
        await type(page, "fennaby.bath_machine.uses.yankee", 43000);
        const file = await saved(page);
        assert.match(await page.textContent(".changes-part [role=status]"), /It changes today/);
        const here = await traced(page, "results.bath_2ply.t.climate");
        assert.equal(here, await readBack("demonstration", file, "asked_on_the_page", "bath_2ply", "t", "climate"));
        await context.close();
    },

    async "the break-even is that of the command"() {
        const address = "invented_energy.northern_grid.climate.fossil";
        const [expected] = json("breakeven", study("demonstration"), "results.bath_2ply.t.climate", "--equal-to",
            "results.bath_textured_3ply.t.climate", "--input", address).equalities;
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply&against=%3Dbath_textured_3ply");
        await page.fill("#find-input", address);
        const turns = page.locator(`.input[data-address="${address}"] .turns`);
        await turns.filter({hasText: "Break-even at"}).waitFor();
        near(Number(/at ([0-9.]+)/.exec(await turns.textContent())[1]), expected.at, 0.0005, "break-even");
        assert.equal(await page.locator(`.input[data-address="${address}"] .tick.even`).count(), 1);
        await page.locator(`.input[data-address="${address}"] input[type=number]`).fill(String(expected.at));
        await page.keyboard.press("Tab");
        const both = [await traced(page, "results.bath_2ply.t_unrounded.climate"), await traced(page, "results.bath_textured_3ply.t.climate")];
        near(both[0], both[1], 1e-9, "both sides there");
        await context.close();
    },

    async "a value outside what an input may be is refused, and an answerless one is told"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        await type(page, "vellomere.figures.press_dryness", -3);
        assert.equal(await page.locator(".input[data-address='vellomere.figures.press_dryness'] input[type=number]").inputValue(), "42");
        await type(page, "vellomere.steam_header.uses.engine_steam", 2);
        assert.match(await page.textContent(".changed"), /No answer: .*boiler_steam would be less than nothing/);
        assert.equal(await page.textContent(".now .figure"), "no answer");
        await context.close();
    },

    async "a link shows the same to another reader"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        await type(page, "vellomere.figures.press_dryness", 47);
        await page.waitForFunction(() => location.hash.includes("set="));
        const fragment = await page.evaluate(() => location.hash);
        const figure = await page.textContent(".now .figure");
        const other = await open(browser, worked, fragment);
        assert.equal(await other.page.textContent(".now .figure"), figure);
        await context.close();
        await other.context.close();
    },
});
await browser.close();
