// A figure opens down to the line it was typed on, an input tells what rests on it, and both are found by words.
import assert from "node:assert/strict";
import {basename} from "node:path";
import {assertQuiet, carried, demonstrationPage, json, launch, open, pageOf, run, study} from "./support.mjs";

const browser = await launch();
const worked = pageOf(study("worked_example"));
const demonstration = demonstrationPage();

await run({
    async "a click on a figure opens its derivation, down to its lines"() {
        const {page, noted, context} = await open(browser, worked, "#read?product=bath_3ply");
        await page.click(".card .small .figure");
        await page.waitForSelector(".derivation");
        assert.match(page.url(), /#trace\?.*of=results\.bath_3ply\./);
        for (let k = 0; k < 60 && await page.locator(".derivation .place:has-text('mill.yaml')").count() === 0; ++k) {
            const closed = page.locator(".derivation details:not([open]) > summary").first();
            await closed.click();
        }
        assert.match(await page.locator(".derivation .place:has-text('mill.yaml')").first().textContent(), /mill\.yaml:\d+:\d+$/);
        assertQuiet(noted);
        await context.close();
    },

    async "a term of a sum is unrounded, as its factors are"() {
        const {page, context} = await open(browser, demonstration, "#trace?of=results.bath_2ply.roll.climate");
        const terms = () => page.$$eval(".operands > li", list => list.filter(one => one.querySelector(":scope > .term"))
            .map(one => [one.querySelector(":scope > .term").textContent, ...[...one.querySelectorAll(":scope > :not(.term)")].map(step => step.querySelector(".value").textContent)]));
        for (let k = 0; k < 20 && (await terms()).length === 0; ++k) await page.locator(".derivation details:not([open]) > summary").first().click();
        const all = (await terms()).filter(one => one.length === 3);
        assert.ok(all.length > 0);
        for (const [text, one, other] of all) assert.equal(Number(text.split(" ").at(-1)), parseFloat(one) * parseFloat(other), text);
        await context.close();
    },

    async "values, places and sources are those of deckle trace"() {
        const address = "results.bath_3ply.roll.climate";
        const {nodes} = json("trace", study("worked_example"), address);
        const leaves = nodes.filter(node => node.operation === "input");
        const {page, context} = await open(browser, worked, `#trace?of=${address}`);
        assert.equal(Number((await page.textContent(".derivation .value")).split(" ")[0]), nodes[0].value);
        for (const leaf of leaves.filter((_, k) => k % 7 === 0)) {
            await page.goto(`${page.url().split("#")[0]}#trace?of=${encodeURIComponent(leaf.address)}`);
            await page.waitForSelector(".derivation .leaf");
            const text = await page.textContent(".derivation");
            for (const part of [String(leaf.value), leaf.typed, `${basename(leaf.at.file)}:${leaf.at.line}:${leaf.at.column}`, leaf.source ?? ""]) {
                assert.ok(text.includes(part), `${leaf.address}: ${part} in ${text}`);
            }
        }
        await context.close();
    },

    async "the derivation of a result says at its head what is not covered"() {
        const {page, context} = await open(browser, worked, "#trace");
        const said = {complete: "", at_least: "≥ At least", not_covered: "Not covered"};
        const seen = new Set();
        for (const address of ["results.bath_3ply.roll.climate_biogenic", "results.base_sheet.t.energy_renewable", "results.base_sheet.t.energy_renewable.market", "results.steam.GJ.climate"]) {
            const {nodes: [{coverage}]} = json("trace", study("worked_example"), address);
            await page.goto(`${page.url().split("#")[0]}#trace?of=${address}`);
            await page.waitForSelector(`.derivation h2:has-text('${address}')`);
            const found = await page.locator(".derivation > .coverage").allTextContents();
            assert.ok(said[coverage] === "" ? found.length === 0 : found.length === 1 && found[0].startsWith(said[coverage]), `${address}: ${coverage}, ${found}`);
            seen.add(coverage);
        }
        assert.equal(seen.size, 3);
        await page.goto(`${page.url().split("#")[0]}#trace?of=vellomere.figures.press_dryness`);
        await page.waitForSelector(".derivation .leaf");
        assert.equal(await page.locator(".derivation > .coverage").count(), 0);
        await context.close();
    },

    async "from an input, the results that rest on it"() {
        const address = "vellomere.figures.press_dryness";
        const {used_by: expected} = json("trace", study("worked_example"), address);
        const {page, context} = await open(browser, worked, `#trace?of=${address}`);
        assert.equal(await page.locator(".resting li").count(), 0, "made when opened");
        await page.$$eval(".resting details", all => all.forEach(one => { one.open = true; }));
        await page.waitForFunction(() => [...document.querySelectorAll(".resting ul")].every(one => one.children.length > 0));
        const found = await page.$$eval(".resting a[href*='of=']", links => [...new Set(links.map(link => new URLSearchParams(link.hash.split("?")[1]).get("of")))]);
        for (const one of found) assert.ok(expected.includes(one), one);
        const plain = expected.filter(one => !one.includes("_unrounded") && !/\.(market|location)$/.test(one));
        assert.ok(found.length > 20 && found.length <= plain.length);
        await context.close();
    },

    async "a part of a break-out opens the burdens that bring it, an index its two figures"() {
        const {page, noted, context} = await open(browser, worked, "#read?product=bath_3ply&by=process");
        const part = page.locator(".breakout tbody tr", {hasText: "tissue machine"}).first().locator("td").first();
        const shown = await part.textContent();
        await part.locator("a").click();
        await page.waitForSelector(".part-of .operands li");
        assert.ok((await page.textContent("#h-part")).includes(shown.slice(0, 3)), shown);
        const terms = await page.$$eval(".part-of > .operands > li > .term", list => list.map(one => one.textContent));
        assert.ok(terms.length > 3 && terms.every(one => one.includes("tissue_machine")), terms.join("; "));
        await page.goBack();
        await page.locator(".products tbody tr").last().locator("td").nth(1).locator("a").click();
        await page.waitForSelector("#h-beside");
        assert.equal(await page.locator(".derivation").count(), 2);
        assertQuiet(noted);
        await context.close();
    },

    async "equal results that share a number are each called by the address asked for"() {
        const {scenarios, indicators} = carried(worked).page;
        const [today] = scenarios;
        const title = id => { const one = today.subjects.find(subject => subject.id === id); return one.kind === "all" ? "Whole output" : one.title; };
        const byNode = new Map();
        for (const {of, per, rows} of today.results) for (const [indicator, node] of rows) byNode.set(node, [...byNode.get(node) ?? [], {of, per, indicator: indicators[indicator]}]);
        const [first, second] = [...byNode.values()].map(all => [all[0], all.find(one => title(one.of) !== title(all[0].of))]).find(([, other]) => other);
        const {page, context} = await open(browser, worked, "#trace");
        for (const one of [first, second]) {
            const address = `results.${one.of}.${one.per}.${one.indicator.id}`;
            await page.fill("#find", address);
            const hit = await page.locator(".hits li").filter({has: page.locator("a", {hasText: new RegExp(`^${address}$`)})}).textContent();
            assert.ok(hit.includes(title(one.of)) && hit.includes("Today"), hit);
            await page.goto(`${page.url().split("#")[0]}#trace?of=${address}`);
            await page.waitForFunction(wanted => document.querySelector("#h-trace")?.textContent === wanted, address);
            const text = await page.textContent(".derivation > .note");
            assert.ok(text.startsWith(`${title(one.of)}, `) && text.includes(`${one.indicator.unit} per `) && text.endsWith("Today"), text);
            assert.equal(await page.textContent(".derivation > details > summary .what, .derivation > .leaf .what"), address);
        }
        await context.close();
    },

    async "a result of a scenario that equals today's says its scenario"() {
        const {scenarios: [today, ...others], indicators} = carried(demonstration).page;
        const nodes = new Set(today.results.flatMap(({rows}) => rows.map(([, node]) => node)));
        const shared = others.flatMap(scenario => scenario.results.flatMap(({of, per, rows}) => rows.filter(([, node]) => nodes.has(node))
            .map(([indicator]) => ({scenario, address: `results@${scenario.id}.${of}.${per}.${indicators[indicator].id}`}))));
        assert.ok(shared.length > 0);
        const {scenario, address} = shared[shared.length >> 1];
        const {page, context} = await open(browser, demonstration, `#trace?of=${address}`);
        const text = await page.textContent(".derivation > .note");
        assert.ok(text.endsWith(`, ${scenario.title}`), text);
        await context.close();
    },

    async "the spread of a share is in points, that of an amount in % of it"() {
        const {graph} = carried(demonstration);
        const typed = pattern => graph.inputs.find(one => one.spread && pattern.test(one.typed));
        for (const input of [typed(/^[0-9.]+ % ± [0-9.]+ points$/), typed(/t ± [0-9.]+ % of value$/)]) {
            const {page, context} = await open(browser, demonstration, `#trace?of=${[input.address].flat()[0]}`);
            const text = await page.textContent(".derivation .facts");
            assert.ok(text.includes(`spread: normal ${/± (.*)$/.exec(input.typed)[1]}`), text);
            await context.close();
        }
    },

    async "numbers are found by titles"() {
        const {page, context} = await open(browser, worked, "#trace");
        const [{id, title}] = carried(worked).page.scenarios[0].subjects.filter(one => one.kind === "consumer_product");
        await page.fill("#find", `${title} climate`);
        assert.ok((await page.textContent(".hits")).includes(`results.${id}.`), title);
        await context.close();
    },

    async "numbers are found by words, and an unknown address is told"() {
        const {page, context} = await open(browser, worked, "#trace");
        await page.fill("#find", "press dryness");
        await page.click(".hits a:has-text('vellomere.figures.press_dryness')");
        await page.waitForSelector("#h-trace");
        assert.equal(await page.textContent("#h-trace"), "vellomere.figures.press_dryness");
        await page.goto(`${page.url().split("#")[0]}#trace?of=results.nothing`);
        await page.waitForSelector(".trace > .alarm");
        assert.match(await page.textContent(".trace > .alarm"), /Nothing here has the address results\.nothing/);
        await context.close();
    },
});
await browser.close();
