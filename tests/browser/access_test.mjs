// Who does not use a mouse, does not see well, reads on a phone or on paper: axe-core (WCAG 2.2 AA and its advice), the
// keyboard, widths from 320 px (WCAG 1.4.10), print.
import assert from "node:assert/strict";
import {readFileSync, writeFileSync} from "node:fs";
import {join} from "node:path";
import {assertQuiet, demonstrationPage, launch, load, open, run, scratch, shell, study} from "./support.mjs";

const browser = await launch();
const demonstration = demonstrationPage();
const axe = readFileSync(load.resolve("axe-core/axe.min.js"), "utf8");
const fragments = ["#read", "#read?scenario=heat_pump&by=use", "#ask?against=%40heat_pump", "#ask?set=fennaby.figures.reel_dryness~94", "#trace?of=results.bath_2ply.t.climate", "#trace?of=results.bath_2ply.t.climate&part=energy&beside=results.bath_3ply.t.climate", "#trace?of=fennaby.figures.reel_dryness", "#recheck"];
const againstTowel = "#ask?product=kitchen_towel&against=%3Dkitchen_towel_tad&set=fennaby.figures.reel_dryness~90";
const shortest = ["#read", againstTowel, "#ask?set=fennaby.figures.reel_dryness~94", "#trace?of=fennaby.figures.reel_dryness"];

await run({
    async "axe-core finds nothing, in light and dark, wide and narrow"() {
        const colors = {runOnly: {type: "rule", values: ["color-contrast", "link-in-text-block"]}}; // all that the dark changes
        for (const [colorScheme, width, asked, rules] of [["light", 1280, fragments, {}], ["dark", 1280, fragments, colors], ["light", 390, shortest, {}], ["dark", 390, [againstTowel], colors]]) {
            const {page, context} = await open(browser, demonstration, "", {colorScheme, viewport: {width, height: 844}, bypassCSP: true});
            await page.addScriptTag({content: axe});
            for (const fragment of asked) {
                await page.evaluate(to => { location.hash = to; }, fragment);
                await page.waitForTimeout(150);
                await page.evaluate(() => [...document.querySelectorAll("details")].slice(0, 3).forEach(one => { one.open = true; }));
                const {violations} = await page.evaluate(only => globalThis.axe.run({resultTypes: ["violations"], ...only}), rules);
                assert.deepEqual(violations.map(one => [one.id, one.nodes.slice(0, 3).map(node => node.html)]), [], `${fragment}, ${colorScheme}, ${width} px`);
            }
            await context.close();
        }
    },

    async "nothing is wider than a phone"() {
        for (const [width, asked] of [[320, fragments], [390, shortest], [768, shortest]]) {
            const {page, context} = await open(browser, demonstration, "", {viewport: {width, height: 844}});
            for (const fragment of asked) {
                await page.evaluate(to => { location.hash = to; }, fragment);
                await page.waitForTimeout(100);
                await page.evaluate(() => document.querySelectorAll("details").forEach(one => { one.open = true; }));
                const wide = await page.evaluate(() => document.documentElement.scrollWidth);
                assert.ok(wide <= width, `${fragment} is ${wide} px wide at ${width}`);
                const broken = await page.$$eval("thead th", heads => heads.filter(one => { const probe = document.createRange(); probe.selectNodeContents(one); return one.textContent !== "" && !/ /.test(one.textContent) && probe.getClientRects().length > 1; }).map(one => one.textContent));
                assert.deepEqual(broken, [], `words broken in ${fragment} at ${width}`);
            }
            await context.close();
        }
    },

    async "on a phone every table of figures fits, and its names are whole words in few lines"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply", {viewport: {width: 390, height: 844}});
        await page.evaluate(() => document.querySelectorAll("details").forEach(one => { one.open = true; }));
        const tables = await page.$$eval(".scroll", all => all.map(one => ({name: one.getAttribute("aria-label"), inside: one.scrollWidth, room: one.clientWidth,
            lines: Math.max(...[...one.querySelectorAll("tbody th")].map(name => Math.round(name.getBoundingClientRect().height / parseFloat(getComputedStyle(name).lineHeight))))})));
        assert.ok(tables.length >= 5);
        for (const {name, inside, room, lines} of tables) assert.ok(inside <= room && lines <= 3, `${name}: ${inside} px in ${room}, a name of ${lines} lines`);
        await context.close();
    },

    async "on a phone no line begins with a comma, a sign stays with its number, and no number touches a name"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply", {viewport: {width: 390, height: 844}});
        await page.waitForSelector(".scenarios svg text", {state: "attached"});
        await page.waitForSelector(".products svg text", {state: "attached"});
        const lines = await page.$$eval(".drawing svg text, .drawing svg tspan", list => list.map(one => one.textContent.trim()));
        assert.deepEqual(lines.filter(one => /^[,;:]/.test(one)), []);
        const broken = await page.$$eval(".figures td", cells => cells.filter(one => { const probe = document.createRange(); probe.selectNodeContents(one); return new Set([...probe.getClientRects()].map(box => Math.round(box.bottom / 8))).size > 1 && /%$/.test(one.textContent); }).map(one => one.textContent));
        assert.deepEqual(broken, []);
        const gap = await page.$eval(".scenarios svg", svg => {
            const boxes = [...svg.querySelectorAll("text")].map(one => ({text: one.textContent, box: one.getBoundingClientRect()}));
            const numbers = boxes.filter(one => /^−[0-9.]+$/.test(one.text)), names = boxes.filter(one => /[a-z]{3}/.test(one.text) && !/^change,/.test(one.text));
            return Math.min(...numbers.flatMap(one => names.filter(name => name.box.top < one.box.bottom && name.box.bottom > one.box.top).map(name => one.box.left - name.box.right)));
        });
        assert.ok(gap >= 8, `${gap} px`);
        await context.close();
    },

    async "on a phone who moves a lower slider sees the figure and its change"() {
        const {page, noted, context} = await open(browser, demonstration, "#ask?product=bath_2ply", {viewport: {width: 390, height: 844}});
        assert.equal(await page.locator(".strip:visible").count(), 0, "the figure itself is about to be seen");
        const slider = page.locator(".input input[type=range]").nth(6);
        await slider.scrollIntoViewIfNeeded();
        const strip = page.locator(".strip");
        await strip.waitFor();
        const before = await strip.textContent();
        await slider.focus();
        for (let k = 0; k < 6; ++k) await page.keyboard.press("PageUp");
        const after = await strip.textContent();
        assert.notEqual(after, before);
        assert.match(after, /kg CO2e per tonne [+−][0-9.]+\s%$/);
        const box = await strip.boundingBox();
        assert.ok(box.y >= 0 && box.y < 5 && box.height < 60, JSON.stringify(box));
        await context.close();
        assertQuiet(noted);
    },

    async "the keyboard reaches figure, slider, derivation and back"() {
        const {page, noted, context} = await open(browser, demonstration, "#read");
        const reach = async (selector, most = 80) => {
            for (let k = 0; k < most; ++k) {
                await page.keyboard.press("Tab");
                if (await page.evaluate(wanted => document.activeElement?.matches(wanted), selector)) return;
            }
            assert.fail(`Tab does not reach ${selector}`);
        };
        await reach(".skip");
        await reach("nav a:nth-child(2)");
        await page.keyboard.press("Enter");
        await page.waitForSelector(".view.ask");
        await reach(".input input[type=range]");
        const before = await page.textContent(".now .figure");
        for (let k = 0; k < 6; ++k) await page.keyboard.press("ArrowRight");
        assert.notEqual(await page.textContent(".now .figure"), before);
        await page.evaluate(() => document.body.focus());
        await page.locator(".now .figure").focus();
        await page.keyboard.press("Enter");
        await page.waitForSelector(".derivation");
        await reach(".derivation details details > summary");
        await page.keyboard.press("Enter");
        await page.waitForSelector(".derivation details details[open] .formula");
        await page.goBack();
        await page.waitForSelector(".view.ask");
        assertQuiet(noted);
        await context.close();
    },

    async "a choice that draws the view anew keeps the focus"() {
        const {page, context} = await open(browser, demonstration, "#read");
        await page.locator(".choice", {has: page.locator("span", {hasText: /^Per$/})}).locator("select").focus();
        await page.keyboard.press("ArrowDown");
        await page.waitForTimeout(100);
        assert.equal(await page.evaluate(() => document.activeElement?.closest(".choice")?.firstElementChild?.textContent), "Per");
        await context.close();
    },

    async "printed, it has its figures, on light paper, even from a dark screen"() {
        const {page, context} = await open(browser, demonstration, "#read?product=bath_2ply", {colorScheme: "dark", viewport: {width: 1400, height: 900}});
        await page.waitForSelector(".uncertainty svg");
        const pdf = join(scratch, "page.pdf");
        writeFileSync(pdf, await page.pdf({format: "A4", printBackground: true}));
        const text = shell("pdftotext", "-layout", pdf, "-");
        for (const part of ["Quillmere", "Where it arises", "Products side by side", "Scenarios as steps", "How sure it is", "What is not covered", "not stated by 5 factors", "freight_eu.diesel_on_the_way",
            "Left out by the rules", "textured outside", "through-air dried"]) assert.ok(text.includes(part), part);
        assert.doesNotMatch(text, /Save as scenario|Picture/);
        const pages = Number(/Pages: +(\d+)/.exec(shell("pdfinfo", pdf))[1]);
        assert.ok(pages >= 2 && pages <= 9, `${pages} pages`);
        const sheets = text.split("\f").slice(0, -2);
        for (const [k, sheet] of sheets.entries()) assert.ok(sheet.trimEnd().split("\n").length >= 25, `sheet ${k + 1} is half empty:\n${sheet}`);
        assert.match(text, /freight_eu\.diesel_on_the_way: \d+ uses/);
        assert.doesNotMatch(text, /used by fennaby/);
        // a sheet is 688 px wide: no chart is cut there, and what was opened for paper closes again
        await page.setViewportSize({width: 688, height: 1000});
        await page.emulateMedia({media: "print"});
        await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
        await page.waitForTimeout(300);
        const right = await page.$$eval(".drawing svg text", texts => Math.max(...texts.map(one => one.getBoundingClientRect().right)));
        assert.ok(right <= 688, `${right} px`);
        assert.equal(await page.locator(".read details:not([open])").count(), 0);
        await page.evaluate(() => dispatchEvent(new Event("afterprint")));
        assert.equal(await page.locator(".read details[open]").count(), 0);
        await context.close();
    },

    async "printed, what was asked has its inputs in few sheets, without what can only be touched"() {
        const {page, context} = await open(browser, demonstration, "#ask?product=bath_2ply&set=fennaby.figures.reel_dryness~94");
        const pdf = join(scratch, "ask.pdf");
        writeFileSync(pdf, await page.pdf({format: "A4", printBackground: true}));
        const text = shell("pdftotext", "-layout", pdf, "-");
        assert.doesNotMatch(text, /Find an input|^ *press dryness *$/m);
        assert.match(text, /now 94\.00 %/);
        const pages = Number(/Pages: +(\d+)/.exec(shell("pdfinfo", pdf))[1]);
        assert.ok(pages <= 4, `${pages} sheets`);
        await context.close();
    },
});
await browser.close();
