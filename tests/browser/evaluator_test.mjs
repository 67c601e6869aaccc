// The page's evaluator in the browser against the engine, bit for bit: 200 random graphs with every operation. Shipped
// studies are held against the engine in page_test.mjs.
import assert from "node:assert/strict";
import {join} from "node:path";
import {DECKLE_PRINT_GRAPHS, PAGE, SOURCE, launch, load, run, shell} from "./support.mjs";

const graphs = 200;
const browser = await launch();

const bundled = await load("esbuild").build({
    stdin: {contents: "import {Calculation} from './calculation'; globalThis.Calculation = Calculation;", resolveDir: join(SOURCE, "reports/page"), loader: "ts"},
    bundle: true, write: false, format: "iife", alias: {"deckle-evaluator": join(PAGE, "evaluator.js")},
});

await run({
    async "random graphs have the same bits"() {
        const page = await browser.newPage();
        await page.addScriptTag({content: bundled.outputFiles[0].text});
        const lines = shell(DECKLE_PRINT_GRAPHS, String(graphs)).trim().split("\n");
        assert.equal(lines.length, graphs);
        const seen = new Set();
        let checked = 0;
        for (const line of lines) {
            const {nodes, wrong, operations} = await page.evaluate(text => {
                const {graph, values} = JSON.parse(text);
                const calculation = new globalThis.Calculation(graph);
                const solve = graph.operations.indexOf("solve");
                const wrong = [];
                graph.operation.forEach((operation, n) => {
                    if (operation !== solve && calculation.value[n] !== values[n]) wrong.push([n, graph.operations[operation], calculation.value[n], values[n]]);
                });
                return {nodes: graph.operation.length, wrong, operations: [...new Set(graph.operation)]};
            }, line);
            assert.deepEqual(wrong.slice(0, 5), []);
            operations.forEach(operation => seen.add(operation));
            checked += nodes;
        }
        assert.equal(seen.size, JSON.parse(lines[0]).graph.operations.length, "every operation occurs");
        console.log(`${checked} numbers`);
    },

    async "moving inputs one by one and back gives what a whole evaluation gives"() {
        const page = await browser.newPage();
        await page.addScriptTag({content: bundled.outputFiles[0].text});
        for (const line of shell(DECKLE_PRINT_GRAPHS, "12").trim().split("\n")) {
            const wrong = await page.evaluate(text => {
                const {graph, values} = JSON.parse(text);
                const moved = new globalThis.Calculation(graph);
                const some = graph.inputs.filter((_, k) => k % 3 === 0);
                for (const input of some) moved.set(input.n, input.value * 1.01);
                const edited = {...graph, inputs: graph.inputs.map((input, k) => k % 3 === 0 ? {...input, value: input.value * 1.01} : input)};
                const whole = new globalThis.Calculation(edited);
                const differ = [...whole.value.keys()].filter(n => !Object.is(whole.value[n], moved.value[n]));
                moved.reset();
                const back = values.map((value, n) => n).filter(n => moved.value[n] !== values[n] && graph.operations[graph.operation[n]] !== "solve");
                return [differ.length, back.length, moved.changed.size];
            }, line);
            assert.deepEqual(wrong, [0, 0, 0]);
        }
    },
});
await browser.close();
