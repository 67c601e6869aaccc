// Inputs are moved: what follows, how fast, where the break-even lies, and that the engine reads a saved scenario back to
// the same bits.
import assert from "node:assert/strict";
import {copyFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {assertQuiet, copyOf, deckle, demonstrationPage, edit, followed, json, launch, near, open, pageOf, run, study, traced} from "./support.mjs";

const browser = await launch();
const demonstration = demonstrationPage();
const worked = pageOf(study("worked_example"));

/** Puts a value into the number field of an input, found by its address. */
async function type(page, address, value) {
    await page.fill("#find-input", address);
    const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
    await field.fill(String(value));
    await field.press("Tab");
    await followed(page);
}

async function saved(page) {
    const [download] = await Promise.all([page.waitForEvent("download"), page.click("#save-scenario")]);
    return download.path();
}

/** A study that has the scenarios of a file beside its own. */
function withScenarios(name, file) {
    const folder = copyOf(name);
    copyFileSync(file, join(folder, "from_the_page.yaml"));
    edit(join(folder, "study.yaml"), text => /^scenarios:/m.test(text)
        ? text.replace(/^scenarios: *(\[?)([^\]\n]*)\]?$/m, (_, __, list) => `scenarios: [${list}, from_the_page.yaml]`)
        : `${text}\nscenarios: [from_the_page.yaml]\n`);
    return folder;
}

/** The engine's value of a result in a study that has the saved scenarios beside its own. */
async function readBack(name, file, scenario, product, per, indicator) {
    const folder = withScenarios(name, file);
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
        await followed(page);
        assert.notEqual(await page.textContent(".now .figure"), before);
        assert.notEqual(await page.getAttribute(".watch .drawing", "aria-label"), drawing);
        assert.match(await page.textContent(".changes"), /vellomere\.figures\.press_dryness: 50\.00 %, was 42 %/);
        await page.click(".changes-part button:has-text('Reset all')");
        await followed(page);
        assert.equal(await page.textContent(".now .figure"), before);
        assert.equal(await slider.inputValue(), "42");
        assertQuiet(noted);
        await context.close();
    },

    async "the figure follows within the move itself, the rest once with the next frame"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        await page.fill("#find-input", "press dryness");
        const {before, moved, drawings, after} = await page.evaluate(async () => {
            const slider = document.querySelector(".input[data-address='vellomere.figures.press_dryness'] input[type=range]");
            const text = selector => document.querySelector(selector).textContent;
            const seen = () => [text(".now .figure"), text("[data-change]"), document.querySelectorAll(".changes li").length];
            const drawings = [];
            new MutationObserver(list => drawings.push(list.length)).observe(document.querySelector(".watch .drawing"), {attributeFilter: ["aria-label"]});
            const before = seen();
            let moved;
            for (const value of [50, 51, 52]) {
                slider.value = value;
                slider.dispatchEvent(new Event("input", {bubbles: true}));
                moved = seen();
            }
            await new Promise(resolve => { requestAnimationFrame(() => setTimeout(resolve)); });
            return {before, moved, drawings, after: seen()};
        });
        assert.notEqual(moved[0], before[0]);
        assert.match(moved[1], /, was /);
        assert.deepEqual([moved[2], after[2], drawings], [0, 1, [1]]);
        assert.deepEqual(after.slice(0, 2), moved.slice(0, 2));
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
        const shown = await page.evaluate(() => [...document.querySelectorAll(".input")].map(one => one.dataset.address));
        const addresses = shown.filter(one => !/\.(plies|rolls|packs)$/.test(one)); // counts are whole: no part of one is saved
        assert.ok(addresses.length >= 20);
        const tied = [];
        for (const address of addresses) {
            const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
            const now = Number(await field.inputValue());
            const put = async value => { await field.fill(String(value)); await field.press("Tab"); await followed(page); };
            await put(Number((now * 0.997).toPrecision(9)));
            if (await page.locator(".changed .alarm").count() === 0) continue;
            // a dryness beside its moisture, a part of a composition: refused alone, and not saved
            tied.push(address);
            await page.click("#save-scenario");
            assert.match(await page.textContent(".changes-part [role=status]"), /Not saved, the engine would refuse it: .* add up to [0-9.]+ %, not to 100 %/, address);
            await put(now);
            assert.equal(await page.locator(".changed .alarm").count(), 0, address);
        }
        assert.deepEqual(tied, addresses.filter(one => /composition|reel_dryness/.test(one)));
        const file = await saved(page);
        const here = await traced(page, "results.bath_3ply.t_unrounded.climate");
        assert.equal(here, await readBack("worked_example", file, "asked_on_the_page", "bath_3ply", "t_unrounded", "climate"));
        await context.close();
    },

    async "numbers that are tied are saved when they are moved together, and the engine takes them"() {
        const {page, context} = await open(browser, worked, "#ask?product=bath_3ply");
        const composition = "vellomere.tissue_machine.makes.base_sheet.composition";
        await type(page, "vellomere.figures.reel_dryness", 94);
        assert.match(await page.textContent(".changed"), /Moisture and dryness add up to 99 %, not to 100 %/);
        const alone = join(copyOf("worked_example"), "alone.yaml");
        writeFileSync(alone, "scenarios: {s: {title: s, changes: [{set: vellomere.figures.reel_dryness, to: 94 %, reason: r}]}}\n");
        const refused = deckle("footprint", withScenarios("worked_example", alone), "--scenario", "s");
        assert.equal(refused.status, 2);
        assert.match(refused.err, /moisture-against-dryness/);
        // what must be moved along is offered, though the figure does not rest on it
        for (const [part, value] of [["moisture", 6], ["fibre", 93.6]]) {
            const field = page.locator(`.input[data-address="${composition}.${part}"] input[type=number]`);
            await field.fill(String(value));
            await field.press("Tab");
            await followed(page);
        }
        assert.equal(await page.locator(".changed .alarm").count(), 0);
        const file = await saved(page);
        for (const indicator of ["climate", "climate_with_uptake"]) {
            const here = await traced(page, `results.bath_3ply.t.${indicator}`);
            assert.equal(here, await readBack("worked_example", file, "asked_on_the_page", "bath_3ply", "t", indicator), indicator);
        }
        await context.close();
    },

    async "an alarm says of which product it is, and one is not said twice"() {
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply&set=fennaby.figures.reel_dryness~94");
        const alarms = await page.$$eval(".changed .alarm", list => list.map(one => one.textContent));
        assert.equal(new Set(alarms).size, alarms.length);
        for (const sheet of ["bath sheet", "towel sheet"]) assert.equal(alarms.filter(text => text.includes(`${sheet} composition moisture`)).length, 1, alarms.join("\n"));
        assert.match(alarms.at(-1), /^The engine would refuse this/);
        await context.close();
    },

    async "warming potentials and scarcity factors, which are rules, are offered last"() {
        for (const indicator of ["climate", "water_scarcity"]) {
            const {page, context} = await open(browser, demonstration, `#ask?product=bath_2ply&indicator=${indicator}`);
            const shown = await page.$$eval(".input", list => list.map(one => one.dataset.address));
            assert.equal(shown.length, 24);
            assert.deepEqual(shown.filter(one => /^(ar\d_100|invented_scarcity)\./.test(one)), []);
            await page.fill("#find-input", indicator === "climate" ? "ar6_100 co2" : "invented_scarcity");
            assert.ok(await page.locator(".input").count() > 0, "they are still found");
            await context.close();
        }
    },

    async "what only a scenario has is saved on that scenario"() {
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply&scenario=hydrogen_hood");
        const address = await page.evaluate(async () => {
            const search = document.querySelector("#find-input");
            search.value = "hydrogen climate fossil";
            search.dispatchEvent(new Event("input"));
            return document.querySelector(".input").dataset.address;
        });
        assert.match(address, /hydrogen.*climate\.fossil$/);
        const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
        await field.fill("1.25");
        await field.press("Tab");
        await followed(page);
        const file = await saved(page);
        assert.match(await page.textContent(".changes-part [role=status]"), /It stands on “A fifth of the hoods' heat from hydrogen/);
        const here = await traced(page, "results@hydrogen_hood.bath_2ply.t.climate");
        assert.equal(here, await readBack("demonstration", file, "asked_on_the_page", "bath_2ply", "t", "climate"));
        await context.close();
    },

    async "a small change is seen in the digits beside it, and inputs have their titles"() {
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply");
        const address = "fennaby.bath_machine.uses.yankee";
        const field = page.locator(`.input[data-address="${address}"] input[type=number]`);
        await page.fill("#find-input", address);
        const now = Number(await field.inputValue());
        await field.fill(String(now * 1.001));
        await field.press("Tab");
        await followed(page);
        const [, here, was] = /([0-9.\u202f]+), was ([0-9.\u202f]+):/.exec(await page.textContent("[data-change]"));
        assert.notEqual(here, was);
        const label = page.locator(`.input[data-address="${address}"] label`);
        assert.match(await label.textContent(), /[Mm]achine.*: uses yankee/);
        assert.equal((await label.locator(".address").textContent()).replaceAll("\u200a", ""), address);
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
        await type(page, "products.bath_3ply.packed.pack.rolls", 6.5);
        assert.match(await page.textContent(".input[data-address='products.bath_3ply.packed.pack.rolls'] .turns"), /a whole number from 1 up to 1000000/);
        assert.equal(await page.locator(".input[data-address='products.bath_3ply.packed.pack.rolls'] input[type=number]").inputValue(), "8");
        await type(page, "products.bath_3ply.packed.pack.rolls", 6);
        assert.match(await page.textContent(".changes"), /packed\.pack\.rolls: 6, was 8/);
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
