// Names that would act if they were taken for anything but text: script, quotes, formulas, line ends, marks that turn
// the direction of writing. They come out inert in the page, in what it saves, and in the fragment.
import assert from "node:assert/strict";
import {readFileSync} from "node:fs";
import {join} from "node:path";
import {assertQuiet, copyOf, edit, launch, open, pageOf, run, study} from "./support.mjs";

const browser = await launch();
const nasty = "</script><script>window.acted = 1</script><img src=x onerror=\\\"window.acted = 1\\\">@DATA@ ' \\u202e=cmd|'/c calc'!A1\\n## x";

const folder = copyOf("worked_example");
edit(join(folder, "study.yaml"), text => text.replace(/^title: .*$/m, `title: "${nasty}"`).replace(/^owner: .*$/m, `owner: "${nasty}"`));
edit(join(folder, "products.yaml"), text => text.replace(/^( +title: ).*$/mg, (_, key) => `${key}"=${nasty}"`));
edit(join(folder, "mill.yaml"), text => text.replace(/^( +title: ).*$/mg, (_, key) => `${key}"${nasty}"`).replace(/note: "hood[^"]*"/, `note: "${nasty}"`));
edit(join(folder, "factors.yaml"), text => text.replace(/^( +title: ).*$/mg, (_, key) => `${key}"${nasty}"`));
const path = pageOf(folder);

await run({
    async "nothing acts in any view"() {
        for (const fragment of ["#read", "#ask", "#trace?of=results.bath_3ply.roll.climate", "#recheck"]) {
            const {page, noted, context} = await open(browser, path, fragment);
            await page.waitForTimeout(100);
            assert.equal(await page.evaluate(() => window.acted), undefined);
            assert.equal(await page.locator("#page script, #page img").count(), 0);
            const text = await page.evaluate(() => document.body.innerText);
            assert.ok(text.includes("</script><script>"), "the name is shown as it is");
            assert.ok(!/[\u202a-\u202e\u2066-\u2069]/.test(await page.evaluate(() => document.getElementById("page").textContent)), "no mark turns the writing");
            assertQuiet(noted);
            await context.close();
        }
    },

    async "the file has one script, and its policy lets no other run and nothing connect"() {
        const text = readFileSync(path, "utf8");
        assert.equal(text.match(/<script/g).length, 2, "the data and the script");
        assert.match(text, /default-src 'none'; script-src 'sha256-[A-Za-z0-9+/=]{44}'; style-src 'unsafe-inline'; img-src data: blob:; connect-src 'none'/);
        const {page, context} = await open(browser, path);
        const stopped = await page.evaluate(async () => {
            const script = document.createElement("script");
            script.textContent = "window.acted = 2";
            document.body.append(script);
            const reached = await fetch("https://example.invalid/").then(() => true, () => false);
            return [window.acted, reached];
        });
        assert.deepEqual(stopped, [undefined, false]);
        await context.close();
    },

    async "a formula in a name is text in the CSV"() {
        const {page, context} = await open(browser, path);
        const [download] = await Promise.all([page.waitForEvent("download"), page.click(".products .tools button:last-child, .breakout .tools button:last-child")]);
        for (const line of readFileSync(await download.path(), "utf8").trim().split("\r\n")) assert.doesNotMatch(line, /^"?[=+@]/);
        await context.close();
    },

    async "a hostile fragment is no more than a question"() {
        for (const fragment of ["#trace?of=%3Cimg%20src%3Dx%20onerror%3Dalert(1)%3E", "#read?product=__proto__&by=constructor&scenario=toString",
            "#ask?set=vellomere.figures.press_dryness~NaN&set=~1&against=%3D%3Cscript%3E", "#nothing?%", "#read?set=vellomere.figures.press_dryness~-5"]) {
            const {page, noted, context} = await open(browser, pageOf(study("worked_example")), fragment);
            assert.equal(await page.locator("#page img").count(), 0);
            assert.equal(await page.locator(".changed:not([hidden])").count(), 0);
            assertQuiet(noted);
            await context.close();
        }
    },
});
await browser.close();
