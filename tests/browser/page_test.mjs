// The page as it opens: what it finds again, what it shows, how large it is. Figures are held against the
// command, whose own tests hold them against published sources.
import assert from "node:assert/strict";
import {spawnSync} from "node:child_process";
import {readFileSync, statSync} from "node:fs";
import {join} from "node:path";
import {DECKLE, assertQuiet, carried, copyOf, deckle, demonstrationPage, json, launch, near, open, pageOf, run, scratch, study, traced} from "./support.mjs";

const browser = await launch();
const megabyte = 1e6;
const demonstration = demonstrationPage();

await run({
    async "shipped studies are found again, bit for bit, without a request"() {
        for (const name of ["demonstration", "worked_example"]) {
            const {page, noted, context} = await open(browser, name === "demonstration" ? demonstration : pageOf(study(name)), "#recheck");
            assert.match(await page.textContent("#verdict"), /^✓ .*equal the engine's, bit for bit$/);
            assertQuiet(noted);
            await context.close();
        }
    },

    async "products of one title are told apart by their mill, scenarios stand as in their file"() {
        const {page, context} = await open(browser, demonstration, "#read");
        const [products, scenarios] = await page.$$eval("form.choices select", all => all.slice(0, 2).map(one => [...one.options].map(option => option.textContent)));
        assert.equal(new Set(products).size, products.length);
        for (const mill of ["sundrel", "marrowen"]) assert.ok(products.includes(`steam, Steam header (${mill})`), mill);
        const typed = [...readFileSync(join(study("demonstration"), "scenarios.yaml"), "utf8").matchAll(/^ {4}title: "?([^"\n]*)"?$/gm)].map(match => match[1]);
        assert.deepEqual(scenarios, ["Today", ...typed]);
        await context.close();
    },

    async "a sealed study shows the digest of its seal"() {
        const {createHash} = await import("node:crypto");
        const {join} = await import("node:path");
        const {execFileSync} = await import("node:child_process");
        const seal = join(scratch, "page.seal");
        assert.equal(deckle("seal", study("worked_example"), "-o", seal).status, 0);
        const manifest = execFileSync("tar", ["-xOf", seal, "manifest.json"]); // the seal's digest is that of its manifest
        const {page, context} = await open(browser, pageOf(seal), "#recheck");
        assert.ok((await page.textContent("#main")).includes(createHash("sha256").update(manifest).digest("hex")));
        await context.close();
    },

    async "a value of the engine that is another one is told"() {
        const {readFileSync, writeFileSync} = await import("node:fs");
        const {gunzipSync, gzipSync} = await import("node:zlib");
        const path = pageOf(study("worked_example"));
        const text = readFileSync(path, "utf8");
        const packed = /id="data">([^<]*)</.exec(text)[1];
        const data = JSON.parse(gunzipSync(Buffer.from(packed, "base64")));
        const {values} = data.page.checked;
        const k = values.findIndex(value => value > 1);
        values[k] *= 1 + 1e-11;
        writeFileSync(path, text.replace(packed, gzipSync(JSON.stringify(data)).toString("base64")));
        const {page, context} = await open(browser, path, "#recheck");
        assert.match(await page.textContent("#verdict"), /^✗ 1 of/);
        await context.close();
    },

    async "headline figures and products are those of the command"() {
        const {results} = json("footprint", study("demonstration"), "--product", "bath_2ply");
        const {page, noted, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const figures = await page.$$eval(".cards .card", cards => cards.map(card => card.querySelector(".figure").textContent));
        for (const [k, indicator] of ["climate", "water_consumed"].entries()) {
            const value = results.find(one => one.per === "t" && one.indicator === indicator).value;
            near(Number(figures[k].replace(/[^0-9.]/g, "")), value, 0.005, indicator);
        }
        for (const per of ["t", "roll", "pack"]) {
            const value = results.find(one => one.per === per && one.indicator === "climate").value;
            assert.equal(await traced(page, `results.bath_2ply.${per}.climate`), value);
        }
        assertQuiet(noted);
        await context.close();
    },

    async "break-outs are those of the command"() {
        const {page, context} = await open(browser, demonstration);
        for (const by of ["stage", "process", "use", "factor", "gas", "scope"]) {
            const {results} = json("footprint", study("demonstration"), "--product", "bath_3ply", "--by", by, "--indicator", "climate", "--per", "t");
            const expected = results[0].by[by];
            await page.goto(`${page.url().split("#")[0]}#read?product=bath_3ply&by=${by}`);
            await page.waitForSelector(".breakout table");
            const [download] = await Promise.all([page.waitForEvent("download"), page.click(".breakout .chart:first-child .tools button:last-child")]);
            const rows = await lines(download);
            assert.deepEqual(rows[0], [by, "climate", "unit"]);
            assert.equal(rows.length - 1, expected.length, by);
            for (const {name, value} of expected) near(Number(rows.find(row => row[0] === name)[1]), value, 1e-9, `${by} ${name}`);
        }
        await context.close();
    },

    async "CO2e given as one number is told from the total, as the command tells it"() {
        const {out} = deckle("footprint", study("demonstration"), "--product", "bath_2ply", "--by", "gas", "--indicator", "climate", "--per", "t");
        assert.match(out, /CO2e given as one number/);
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply&by=gas");
        const names = await page.$$eval(".breakout .scroll:first-child tbody th", list => list.map(one => one.textContent));
        assert.equal(names.filter(name => name === "total").length, 1);
        assert.equal(names.at(-1), "total");
        assert.ok(names.includes("CO2e given as one number") && names.includes("CO2e, biogenic"), names.join("; "));
        await context.close();
    },

    async "gases and kinds of water are two lists, and parts have their titles"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply&by=gas");
        const tables = await page.$$eval(".breakout table", all => all.map(one => ({head: one.querySelector("thead th").textContent, names: [...one.querySelectorAll("tbody th")].map(name => name.textContent)})));
        assert.deepEqual(tables.map(one => one.head), ["gas", "kind of water"]);
        assert.ok(tables[0].names.includes("CO2 fossil") && tables[0].names.includes("N2O fossil"), tables[0].names.join("; "));
        assert.ok(tables[1].names.includes("river") && !tables[1].names.some(name => /CO2|N2O|CH4/.test(name)), tables[1].names.join("; "));
        assert.ok((await page.$$eval(".all tbody th", list => list.map(one => one.textContent))).some(name => name.startsWith("COD ")));
        await page.goto(`${page.url().split("#")[0]}#read?product=bath_2ply&by=factor`);
        await page.waitForFunction(() => /by factor/.test(document.querySelector(".breakout figcaption").textContent));
        assert.ok((await page.$$eval(".breakout tbody th", list => list.map(one => one.textContent))).includes(carried(demonstration).page.titles["invented_energy.pipeline_gas"]));
        await context.close();
    },

    async "what stands beside a median is the figure as typed, also when an input has moved"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const first = () => page.$eval(".uncertainty tbody tr", tr => [...tr.children].map(cell => cell.textContent));
        const typed = await first(), shown = await page.textContent(".card .large .figure");
        await page.evaluate(() => { location.hash = "#read?product=bath_2ply&set=fennaby.bath_machine.uses.yankee~60000"; });
        await page.waitForSelector(".changes, .changed:not([hidden])");
        assert.notEqual(await page.textContent(".card .large .figure"), shown);
        assert.deepEqual(await first(), typed);
        assert.match(await page.textContent(".headline .under"), /today, with 1 input moved on this page/);
        await context.close();
    },

    async "a link that asks for what is not here says so in a line"() {
        const {page, noted, context} = await open(browser, demonstration);
        for (const [fragment, pattern] of [
            ["#ask?set=zzz~1", /sets 1 input that is not on this page or not allowed: zzz~1$/],
            ["#ask?set=fennaby.figures.reel_dryness~abc&set=fennaby.figures.reel_dryness~94", /sets 1 input .*: fennaby\.figures\.reel_dryness~abc$/],
            ["#read?set=fennaby.figures.reel_dryness~-5&set=fennaby.figures.reel_dryness~1e400", /sets 2 inputs that are .*~-5, .*~1e400$/],
            ["#read?product=nope", /asks for what is not on this page: product nope$/],
            ["#ask?against=%40nope&per=furlong", /: per furlong, against @nope$/],
        ]) {
            await page.evaluate(to => { location.hash = to; }, fragment);
            await page.waitForSelector(".passed-over");
            assert.match((await page.textContent(".passed-over")).trim(), pattern, fragment);
            assert.equal(await page.locator(".passed-over").count(), 1, fragment);
            await page.click("nav a:first-child");
            await page.waitForFunction(() => document.querySelector(".passed-over") === null);
        }
        await context.close();
        assertQuiet(noted);
        for (const [fragment, count] of [["#ask?set=zzz~1", 1], ["#ask?product=bath_2ply&against=%3Dbath_3ply&set=fennaby.figures.reel_dryness~94", 0]]) {
            const {page, context} = await open(browser, demonstration, fragment);
            assert.equal(await page.locator(".passed-over").count(), count, fragment);
            await context.close();
        }
    },

    async "intervals are those of deckle uncertainty"() {
        const report = json("uncertainty", study("demonstration"), "--product", "bath_2ply", "--per", "t", "--draws", "10000");
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const row = await page.$eval(".uncertainty tbody tr", tr => [...tr.children].map(cell => cell.textContent.replace(/[\u202f ]/g, "")));
        const {low, high} = report.results.find(one => one.indicator === "climate").drawn;
        near(Number(row[4]), low, 0.0005, "low");
        near(Number(row[5]), high, 0.0005, "high");
        await context.close();
    },

    async "every unit of the headline has its interval, marked as its figure is"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const rows = await page.$$eval(".card.water_consumed p", list => list.map(one => [one.querySelector(".figure").textContent, one.querySelector(".unit").textContent, one.querySelector(".interval")?.textContent ?? ""]));
        assert.deepEqual(rows.map(row => row[1]), ["m3 per tonne", "m3 per roll", "m3 per pack"]);
        for (const [figure, unit, interval] of rows) {
            assert.match(figure, /^≥ /, unit);
            assert.match(interval, /^95\s%: ≥ .* to ≥ /, unit);
        }
        const {results} = json("uncertainty", study("demonstration"), "--product", "bath_2ply", "--per", "pack", "--draws", "10000");
        const {high} = results.find(one => one.indicator === "water_consumed").drawn;
        near(Number(/to ≥ ([0-9.]+)/.exec(rows[2][2])[1]), high, 0.005, "per pack");
        // JCGM 100, 7.2.6: ends in as many digits as the figure has, and it is said how little they rest on
        assert.deepEqual(rows.map(row => /: ≥ ([0-9.]+)/.exec(row[2])[1].replace(/^[0.]+|\./g, "").length), [3, 3, 3]);
        for (const [indicator, card] of [["climate", ".card.climate"], ["water_consumed", ".card.water_consumed"]]) {
            const text = deckle("sensitivity", study("demonstration"), `results.bath_2ply.t_unrounded.${indicator}`).out;
            const [, all, stated] = /rests on (\d+) inputs, (\d+) of them with a spread/.exec(text);
            assert.match(await page.textContent(`${card} .interval`), new RegExp(`, from ${stated} of ${all} inputs$`), indicator);
        }
        await context.close();
    },

    async "scenarios that differ are different numbers, and a title keeps its marks in a sentence"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const rows = await page.$$eval("[aria-label^='All scenarios'] tbody tr", list => list.map(one => [...one.children].map(cell => cell.textContent)));
        const {scenarios} = carried(demonstration).page;
        const {results} = json("footprint", study("demonstration"), "--product", "bath_2ply", "--per", "t", "--indicator", "climate", ...scenarios.flatMap(one => ["--scenario", one.id]));
        const value = title => results.find(one => one.scenario === scenarios.find(other => other.title === title).id).value;
        for (const one of rows) for (const other of rows) assert.equal(one[1] === other[1], value(one[0]) === value(other[0]), `${one.join(" ")} / ${other.join(" ")}`);
        assert.match(await page.textContent(".scenarios .ends"), /^Today [0-9.\u202f]+, “The electrode boiler/);
        await context.close();
    },

    async "the steps of scenarios are bars from zero, on an axis that is named"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply&target=heat_pump");
        await page.waitForSelector(".scenarios svg path[fill*=down]", {state: "attached"});
        const [download] = await Promise.all([page.waitForEvent("download"), page.click(".scenarios .tools button:last-child")]);
        const changes = (await lines(download)).slice(2).map(row => Number(row[1]));
        assert.equal(changes.length, 3);
        const widths = await page.$$eval(".scenarios svg path", paths => paths.filter(one => /--(up|down)/.test(one.getAttribute("fill"))).map(one => one.getBBox().width));
        assert.equal(widths.length, changes.length);
        for (const [k, change] of changes.entries()) near(widths[k] / Math.abs(change), widths[0] / Math.abs(changes[0]), 0.01, `bar ${k}`);
        assert.match(await page.textContent(".scenarios svg"), /change, kg CO2e per tonne/);
        await context.close();
    },

    async "scenarios under other rules stand apart, without a change"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply");
        const rows = await page.$$eval("[aria-label^='Scenarios under other rules'] tbody tr", list => list.map(one => one.textContent));
        assert.equal(rows.length, 3);
        assert.match(rows.join("\n"), /electricity: market/);
        assert.match(rows.join("\n"), /rules: customer_rules 2/);
        assert.match(rows.join("\n"), /allocation: energy in fennaby\.gas_turbine/);
        assert.doesNotMatch(rows.join("\n"), /%/);
        assert.doesNotMatch(await page.textContent("[aria-label^='All scenarios']"), /market-based|shared by energy/);
        for (const id of ["other_electricity", "other_allocation", "customer_rules"]) {
            const refused = deckle("compare", study("demonstration"), "--product", "bath_2ply", "--scenario", "today", "--scenario", id, "--equal", "t");
            assert.match(refused.err, /unlike-rules/, id);
            await page.goto(`${page.url().split("#")[0]}#ask?product=bath_2ply&against=%40${id}`);
            await page.waitForSelector(".view.ask");
            assert.equal(await page.locator(".against").count(), 0, id);
        }
        await context.close();
    },

    async "the reference of an index is 100, whichever it is"() {
        const {page, context} = await open(browser, demonstration);
        for (const {id} of carried(demonstration).page.scenarios[0].subjects.filter(one => one.kind === "consumer_product")) {
            await page.goto(`${page.url().split("#")[0]}#read?reference=${id}`);
            await page.waitForFunction(wanted => [...document.querySelectorAll(".products select")].some(one => one.value === wanted), id);
            const [download] = await Promise.all([page.waitForEvent("download"), page.click(".products .tools button:last-child")]);
            assert.equal((await lines(download)).find(row => row[0] === id)[2], "100", id);
        }
        await context.close();
    },

    async "names beside bars tell products apart, wide and narrow"() {
        for (const width of [1280, 390]) {
            const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply", {viewport: {width, height: 900}});
            await page.waitForSelector(".products svg text");
            const words = (await page.textContent(".products svg")).replace(/\s+/g, "");
            for (const {title} of carried(demonstration).page.scenarios[0].subjects.filter(one => one.kind === "consumer_product")) assert.ok(words.includes(title.replace(/\s+/g, "")), `${title} at ${width} px`);
            await context.close();
        }
    },

    "a page tells nothing of the folder it was made in, and is the same from any"() {
        const folder = copyOf("worked_example");
        const absolute = pageOf(folder, "--draws", "none");
        const relative = join(scratch, "relative.html");
        const done = spawnSync(DECKLE, ["page", "worked_example", "-o", relative, "--draws", "none"], {cwd: join(folder, ".."), encoding: "utf8"});
        assert.equal(done.status, 0, done.stderr);
        assert.equal(readFileSync(absolute, "utf8"), readFileSync(relative, "utf8"));
        const data = carried(absolute);
        assert.ok(!JSON.stringify(data).includes(folder));
        assert.ok(data.graph.files.some(one => one.path === "mill.yaml"), JSON.stringify(data.graph.files));
    },

    async "charts are saved as picture, and stand alone"() {
        const {page, noted, context} = await open(browser, demonstration);
        await page.evaluate(() => {
            globalThis.drawn = [];
            const {fillText} = CanvasRenderingContext2D.prototype;
            CanvasRenderingContext2D.prototype.fillText = function (text, ...at) { globalThis.drawn.push(text); fillText.call(this, text, ...at); };
        });
        const [download] = await Promise.all([page.waitForEvent("download"), page.click(".breakout .tools button:first-child")]);
        const {readFileSync} = await import("node:fs");
        const {scenarios: [{study: head, subjects}]} = carried(demonstration).page;
        const said = (await page.evaluate(() => globalThis.drawn)).join(" ");
        for (const part of ["Climate per tonne by stage", "in kg CO2e", subjects.find(one => one.kind === "consumer_product").title, "Today", "location-based", head.title, head.owner]) assert.ok(said.includes(part), `${part}: ${said}`);
        assert.match(head.title, /\(invented\)/);
        assert.match(await page.textContent(".breakout svg"), /kg CO2e per tonne/);
        const bytes = readFileSync(await download.path());
        assert.equal(bytes.subarray(1, 4).toString(), "PNG");
        assert.ok(bytes.length > 3000);
        assertQuiet(noted);
        await context.close();
    },

    "it is under 3 MB"() {
        assert.ok(statSync(demonstration).size < 3 * megabyte);
    },

    async "a study without draws says so"() {
        const {page, context} = await open(browser, pageOf(study("worked_example"), "--draws", "none"));
        assert.match(await page.textContent(".uncertainty"), /No intervals: no draws were asked for/);
        assert.equal(deckle("page", study("worked_example"), "--draws", "1").status, 2);
        await context.close();
    },

    async "without script the main figures stand there"() {
        const {context} = await open(browser, demonstration);
        await context.close();
        const silent = await browser.newContext({javaScriptEnabled: false});
        const page = await silent.newPage();
        await page.goto(`file://${demonstration}`);
        assert.match(await page.textContent("#still table"), /Bathroom tissue, 2 plies/);
        const names = await page.$$eval("#still tbody th", list => [...new Set(list.map(one => one.textContent))]);
        const bought = carried(demonstration).page.scenarios[0].subjects.filter(one => one.kind === "consumer_product").map(one => one.title);
        assert.deepEqual(names.slice(0, new Set(bought).size).sort(), [...new Set(bought)].sort());
        await silent.close();
    },
});
await browser.close();

async function lines(download) {
    const {readFileSync} = await import("node:fs");
    return readFileSync(await download.path(), "utf8").trim().split("\r\n").map(line => line.match(/("([^"]|"")*"|[^,]*)(,|$)/g).map(cell => cell.replace(/,$/, "").replace(/^"|"$/g, "")).slice(0, 3));
}
